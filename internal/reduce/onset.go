package reduce

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/num/portable"
)

// onset is where a force leaves zero, in samples, with its standard uncertainty.
type onset struct {
	at, u float64
	ss    float64 // what the fit leaves over
	ok    bool
}

// How far up a flank the fit of an onset goes, as a share of the peak, and the fewest points that it takes.
const (
	onsetLevel  = 0.35
	onsetPoints = 10
	onsetMost   = 120 // points; more are averaged in blocks
)

// fitOnset fits a force that is zero before t0 and a t + b t^2 + c t^3 after it to x, which rises from within its noise. near is a
// first idea of t0 in samples, least the fewest samples the fit must reach beyond it, so that ringing evens out. t0 is the
// place with the least squares; its uncertainty holds the scatter, and what a fit of lower degree and one over half the flank
// make of it. A force that jumps (a viscous specimen) has the jump as a fourth term.
//
// Where a node is stated, the fit with its answer and the one without stand against each other: a record that does not ring was
// not shown by that node.
func fitOnset(x []float64, near float64, peak, noise float64, least int, n node) onset {
	with := fitOnsetOf(x, near, peak, noise, least, n)
	if n.omega == 0 {
		return with
	}
	without := fitOnsetOf(x, near, peak, noise, least, node{})
	best, other := with, without
	if !with.ok || without.ok && without.ss < with.ss {
		best, other = without, with
	}
	if other.ok && other.ss < 2*best.ss {
		best.u = math.Hypot(best.u, (best.at-other.at)/math.Sqrt(12))
	}
	return best
}

func fitOnsetOf(x []float64, near float64, peak, noise float64, least int, n node) onset {
	if !(near >= 0) || int(near) >= len(x) || !(peak > 0) {
		return onset{}
	}
	start := int(near)
	top := start
	for top < len(x) && x[top] < onsetLevel*peak {
		top++
	}
	top = max(top, min(start+least, len(x)))
	for top > start && x[top-1] > 0.7*peak {
		top--
	}
	span := top - start
	if span < onsetPoints || top >= len(x) {
		return onset{}
	}
	before := max(0, start-span/2)
	block := max(1, (top-before)/onsetMost)
	full := flank(x, before, top, block, n)
	half := flank(x, before, start+max(span/2, onsetPoints), block, n)
	lo, hi := near-0.5*float64(span)-2, near+0.3*float64(span)+1
	cubic, ss, bend := full.best(lo, hi, 3)
	square, _, _ := full.best(lo, hi, 2)
	short, _, _ := half.best(lo, hi, 3)
	if jump, sj, bj := full.damped(lo, hi).best(lo, hi, 4); sj < 0.25*ss && bj > 0 {
		// A jump is seen to a sample or two, but a steep beginning passes for one.
		return onset{at: jump, u: math.Max(0.6*float64(block), math.Hypot((jump-near)/4, (jump-cubic)/4)), ss: sj, ok: isNumber(jump)}
	}
	free := float64(len(full.y) - 4)
	if !(bend > 0) || free < 4 {
		return onset{}
	}
	// ss(t0) = ss + bend (t0 - at)^2: one standard error raises ss by ss/free; neighbours are alike, so that a third of the points count.
	u := math.Sqrt(3 * math.Max(ss/free, noise*noise/float64(block)) / bend)
	u = math.Hypot(u, math.Min(math.Abs(cubic-square), 2*math.Abs(cubic-short))/math.Sqrt(3))
	u = math.Hypot(u, math.Abs(cubic-short)/3)
	return onset{at: cubic, u: math.Max(u, 0.5), ss: ss, ok: isNumber(cubic) && isNumber(u)}
}

// sparseOnset is where a force of few samples leaves zero: where the line through the first two above low reaches zero, between the
// last sample below and the first above.
func sparseOnset(x []float64, near float64, peakAt int, low float64) (at float64, ok bool) {
	i := max(int(near)-2, 0)
	for i < peakAt && x[i] <= low {
		i++
	}
	if i < 1 || i+1 > peakAt || i+1 >= len(x) || x[i-1] > low || x[i+1] <= x[i] || peakAt-i > 40 {
		return 0, false
	}
	t := float64(i) - x[i]/(x[i+1]-x[i])
	return math.Min(math.Max(t, float64(i-1)), float64(i)), true
}

// node is the load cell's node as it answers a force: omega in radians a sample, 0 = at once.
type node struct{ omega, zeta float64 }

// terms are the answers of the node, at rest before, to the forces s, s^2, s^3 and 1 that begin at 0, with s = t/scale. Each solves
//
//	y'' + 2 zeta omega y' + omega^2 y = omega^2 t^j, y(0) = y'(0) = 0
//
// and the load cell shows y + (2 zeta/omega) y', spring and damper of the node.
func (n node) terms(t, scale float64) [4]float64 {
	s := t / scale
	if n.omega == 0 {
		return [4]float64{s, s * s, s * s * s, 1}
	}
	w, z := n.omega, n.zeta
	wd := w * math.Sqrt(1-z*z)
	decay, sin, cos := portable.Exp(-z*w*t), math.Sin(wd*t), math.Cos(wd*t)
	// answer completes a particular solution p with slope d at t, p0 and d0 at 0.
	answer := func(p, d, p0, d0 float64) float64 {
		a := -p0
		b := (z*w*a - d0) / wd
		y := p + decay*(a*cos+b*sin)
		dy := d + decay*(-z*w*(a*cos+b*sin)+wd*(b*cos-a*sin))
		return y + 2*z/w*dy
	}
	a1 := -2 * z / w
	a2, b2 := -4*z/w, (8*z*z-2)/(w*w)
	a3, b3 := -6*z/w, (24*z*z-6)/(w*w)
	c3 := -(2*a3 + 2*z*w*b3) / (w * w)
	return [4]float64{
		answer(t+a1, 1, a1, 1) / scale,
		answer(t*t+a2*t+b2, 2*t+a2, b2, a2) / (scale * scale),
		answer(t*t*t+a3*t*t+b3*t+c3, 3*t*t+2*a3*t+b3, c3, b3) / (scale * scale * scale),
		answer(1, 0, 1, 0),
	}
}

// flankPoints are block means of a flank and their places in samples.
type flankPoints struct {
	t, y []float64
	node node
}

func flank(x []float64, from, to, block int, n node) flankPoints {
	f := flankPoints{node: n}
	for i := from; i+block <= to; i += block {
		s := 0.0
		for _, v := range x[i : i+block] {
			s += v
		}
		f.t, f.y = append(f.t, float64(i)+float64(block-1)/2), append(f.y, s/float64(block))
	}
	return f
}

// best looks for the place of the least squares of the polynomial with as many terms: by a grid, then by thirds. bend is half the second
// derivative of the sum of squares there.
func (f flankPoints) best(lo, hi float64, terms int) (at, ss, bend float64) {
	return f.search(lo, hi, terms, 26)
}

// search is best with so many thirds.
func (f flankPoints) search(lo, hi float64, terms, thirds int) (at, ss, bend float64) {
	const grid = 24
	at, ss = lo, math.Inf(1)
	step := (hi - lo) / grid
	for i := 0; i <= grid; i++ {
		t := lo + float64(i)*step
		if s := f.squares(t, terms); s < ss {
			at, ss = t, s
		}
	}
	a, b := at-step, at+step
	for range thirds {
		c, d := a+(b-a)/3, b-(b-a)/3
		if f.squares(c, terms) < f.squares(d, terms) {
			b = d
		} else {
			a = c
		}
	}
	at = (a + b) / 2
	ss = f.squares(at, terms)
	h := math.Max(step/4, 0.25)
	return at, ss, (f.squares(at-h, terms) - 2*ss + f.squares(at+h, terms)) / (2 * h * h)
}

// damperShares are what the dashpot of a specimen that jumps may add to the node's damping ratio: it is c/(2 m w) of the node, and pulls on the
// node as on the mass (bench/truth).
var damperShares = []float64{0, 0.02, 0.04, 0.07, 0.11, 0.17}

// damped are the points with the node's damping under which a force that jumps fits best.
func (f flankPoints) damped(lo, hi float64) flankPoints {
	if f.node.omega == 0 {
		return f
	}
	best, least := f, math.Inf(1)
	for _, more := range damperShares {
		g := f
		g.node.zeta = math.Min(f.node.zeta+more, 0.9)
		if _, s, _ := g.search(lo, hi, 4, 10); s < least {
			best, least = g, s
		}
	}
	return best
}

// squares is the least sum of squares for a force that begins at t0: terms t, t^2, t^3 and a jump.
func (f flankPoints) squares(t0 float64, terms int) float64 {
	var a [4][4]float64
	var r [4]float64
	scale := math.Max(f.t[len(f.t)-1]-t0, 1)
	total := 0.0
	for i, t := range f.t {
		y := f.y[i]
		total += y * y
		if t <= t0 {
			continue
		}
		p := f.node.terms(t-t0, scale)
		for j := range terms {
			r[j] += p[j] * y
			for k := range terms {
				a[j][k] += p[j] * p[k]
			}
		}
	}
	// Cholesky's way; what the points do not determine is left out.
	var l [4][4]float64
	var z [4]float64
	for j := range terms {
		d := a[j][j]
		for k := range j {
			d -= l[j][k] * l[j][k]
		}
		if !(d > 1e-12*a[j][j]) {
			continue
		}
		l[j][j] = math.Sqrt(d)
		for i := j + 1; i < terms; i++ {
			s := a[i][j]
			for k := range j {
				s -= l[i][k] * l[j][k]
			}
			l[i][j] = s / l[j][j]
		}
		s := r[j]
		for k := range j {
			s -= l[j][k] * z[k]
		}
		z[j] = s / l[j][j]
		total -= z[j] * z[j]
	}
	return math.Max(total, 0)
}
