package reduce

import "math"

// rebuilt is the part of the arrest that was not measured, won back from what the mass must have done.
type rebuilt struct {
	of             unseen
	low, mid, high []float64 // force at the samples of the stretch
	lo, hi         float64   // N, of the peak
	from           string    // what it rests on
}

// shapeU is the standard uncertainty of a rebuilt top's shape, as a share of its height over what was seen, beside what two
// shapes through the same edges and impulse differ by. From bench/truth: see docs/methods.md.
const shapeU = 0.015

// bendU is the standard uncertainty of the impulse that the bend at both edges alone gives, relative. From bench/truth too.
const bendU = 0.15

// rebuild wins the top of a held arrest back. With the force in the stretch drawn as a straight line, the mass would leave the
// arrest too fast and too low; the impulse E that is missing there follows twice:
//
//	E = m (v_end + v_back)                    v_back = g t/2 + d/t from the flight time t to the next arrest
//	E = m (x_end - s)/(t_end - t_stretch)     the specimen goes slack nearly where it came taut
//
// with v_end downward and x_end by the straight line. Both are weighted by their uncertainties. The force over the stretch is
// the polynomial of fourth degree that has force and slope of the record at both ends and that impulse. It is nil where the
// arrest does not end in slack, or more than one stretch may hold the peak, or the record contradicts itself.
func (w *topped) rebuild(m motion) *rebuilt {
	hidden := w.hidden()
	if len(hidden) != 1 || w.ev.endKind != "slack" {
		return nil
	}
	u := hidden[0]
	if !u.left.known || !u.right.known || u.From <= w.ev.first || u.To >= w.ev.endAt {
		return nil
	}
	x := append([]float64(nil), w.forceN[:w.ev.endAt+1]...)
	span := float64(u.right.at-u.left.at) * w.dt
	chord := func(t float64) float64 { return u.left.force + (u.right.force-u.left.force)*t/span }
	for i := u.From; i < u.To; i++ {
		x[i] = chord(float64(i-u.left.at) * w.dt)
	}
	in := w.inputsNow()
	base := in.run(x, w.dt, w.ev.endAt, w.ev.end, w.ev.end)
	mass, g := in.mass, in.gravity
	middle := (float64(u.left.at) + float64(u.right.at)) / 2 * w.dt
	after := w.ev.end - middle
	gainU, _ := w.gainU()
	v0, length := base.impactV, w.ev.end-in.taut
	var v0U float64
	if v0 > 0 {
		v0U = g / v0 * math.Min(w.set.FallU.SI(), w.set.Fall.SI())
	}
	massU := w.set.MassU.SI() / mass
	type estimate struct{ e, u float64 }
	var list []estimate
	from := ""
	set, setU := w.setShare(m)
	solve := func(xMax float64) (e, eu float64) {
		list = list[:0]
		if len(w.ev.later) > 0 {
			flight := w.ev.later[0].flight.SI()
			back := g*flight/2 + set*xMax/flight
			backU := math.Hypot(setU*xMax/flight, g*w.dt)
			total := mass * (v0 + back + g*length)
			list = append(list, estimate{mass * (base.vEnd + back), math.Hypot(mass*math.Hypot(backU, v0U), math.Hypot(gainU, massU)*total)})
			from = "momentum, with the speed after it from the flight time, and the path"
		} else {
			from = "momentum and the path"
		}
		path := mass * (v0*length + g*length*length/2)
		pathU := math.Hypot(mass*math.Hypot(setU*xMax, v0U*length), math.Hypot(gainU, massU)*path)
		list = append(list, estimate{mass * (base.xEnd - set*xMax) / after, math.Hypot(pathU, mass*v0*w.ev.tautU) / after})
		// The record's own bend: a polynomial of third degree through both edges holds this impulse above the line.
		bend := (u.left.slope - u.right.slope) * span * span / 12
		list = append(list, estimate{bend, math.Hypot(bendU*bend, math.Hypot(u.left.slopeU, u.right.slopeU)*span*span/12)})
		var sum, weight, chi float64
		for _, l := range list {
			sum += l.e / (l.u * l.u)
			weight += 1 / (l.u * l.u)
		}
		e, eu = sum/weight, 1/math.Sqrt(weight)
		for _, l := range list {
			chi += (l.e - e) * (l.e - e) / (l.u * l.u)
		}
		return e, eu * math.Sqrt(math.Max(1, chi)) // two that disagree are trusted less (Birge's ratio)
	}
	xMax := base.xMax
	var e, eu float64
	fill := make([]float64, u.To-u.From)
	for range 4 {
		e, eu = solve(xMax)
		u.bend(w.dt, e, fill)
		copy(x[u.From:u.To], fill)
		xMax = in.run(x, w.dt, w.ev.endAt, w.ev.end, w.ev.end).xMax
	}
	if !(e > -2*eu) || math.IsNaN(e) {
		return nil
	}
	r := &rebuilt{of: u, from: from}
	const k = 2
	seen := w.measuredN
	r.mid = append([]float64(nil), fill...)
	top := u.bend(w.dt, e, fill)
	// The same impulse as a parabola over the straight line: what the slopes at the ends add.
	parabola := 0.0
	for i := 1; i < 200; i++ {
		s := float64(i) / 200
		parabola = math.Max(parabola, chord(s*span)+6*e/span*s*(1-s))
	}
	rise := math.Max(top-math.Max(u.left.force, u.right.force), 0)
	slopes := math.Hypot(u.left.slopeU, u.right.slopeU) * span / 16 // of a quartic's middle, for a slope at an end
	half := k * math.Sqrt(sq(1.875*eu/span)+sq(shapeU*rise)+sq(0.1*(top-parabola))+sq(slopes)+sq(gainU*top)+sq(w.zeroU))
	r.lo, r.hi = math.Max(top-half, seen-k*math.Hypot(gainU*seen, w.noiseN)), math.Max(top+half, seen)
	if cusp := w.cusp(u, x, top, k*bendU); cusp > 0 {
		r.hi = math.Max(r.hi, math.Min(top+cusp, u.ceiling))
	}
	if top+half < seen-4*w.noiseN {
		return nil
	}
	de := half * span / 1.875
	u.bend(w.dt, e-de, fill)
	r.low = append([]float64(nil), fill...)
	u.bend(w.dt, e+de, fill)
	r.high = append([]float64(nil), fill...)
	w.step("rebuild", map[string]any{"from_s": float64(w.clock(float64(u.From) * w.dt)), "to_s": float64(w.clock(float64(u.To-1) * w.dt)), "impulse_missing_Ns": e, "u_Ns": eu, "largest_seen_N": seen, "lo_N": r.lo, "hi_N": r.hi, "rests_on": from})
	return r
}

func sq(v float64) float64 { return v * v }

// cusp is by how much dry friction may raise the peak above a smooth top. A specimen that rubs pulls by the same share less
// while it shortens, from the turn on; one that relaxes loses the more the shorter it is, and nothing at the turn. So the ratio of
// unloading to loading at one elongation, as a line drawn on from what was seen to the turn, tells which; loading is fitted by
// a x + b x^2 on the rise. x is the force with the top filled in.
func (w *timed) cusp(u unseen, x []float64, top, most float64) float64 {
	var s11, s12, s22, y1, y2, turn float64
	type point struct{ x, f float64 }
	var back []point
	w.walk(x, func(i int, at, _ float64) {
		next := x[i]
		turn = math.Max(turn, at)
		switch {
		case i < u.From && at > 0:
			a, b := at, at*at
			s11 += a * a
			s12 += a * b
			s22 += b * b
			y1 += a * next
			y2 += b * next
		case i >= u.To && next > 0.15*top:
			back = append(back, point{at, next})
		}
	})
	det := s11*s22 - s12*s12
	if !(det > 0) || len(back) < 8 {
		return 0
	}
	a, b := (s22*y1-s12*y2)/det, (s11*y2-s12*y1)/det
	load := func(x float64) float64 { return a*x + b*x*x }
	var n, sx, sr, sxx, sxr float64
	for _, p := range back {
		r := p.f / load(p.x)
		n++
		sx += p.x
		sr += r
		sxx += p.x * p.x
		sxr += p.x * r
	}
	d := n*sxx - sx*sx
	if !(d > 0) {
		return 0
	}
	slope := (n*sxr - sx*sr) / d
	ratio := sr/n + slope*(turn-sx/n)
	// With a share lost at the turn the loading curve goes on to it.
	if lost := math.Min(1-ratio, 0.5); lost > 0 {
		return math.Max(0, math.Min((1+most)*load(turn)-top, 1.5*lost*top))
	}
	return 0
}

// bend fills the samples of a stretch with the polynomial of fourth degree through its edges that holds the impulse e above
// the straight line, and returns its largest value:
//
//	G(s) = s(1-s)(a + b s + c s^2), s from 0 to 1, G'(0) = a, G'(1) = -(a+b+c), integral a/6 + b/12 + c/20
func (u unseen) bend(dt, e float64, fill []float64) (top float64) {
	span := float64(u.right.at-u.left.at) * dt
	steep := (u.right.force - u.left.force) / span
	a, end := (u.left.slope-steep)*span, (u.right.slope-steep)*span
	c := -30 * (e/span - a/12 + end/12)
	b := -end - a - c
	at := func(s float64) float64 {
		return u.left.force + steep*span*s + s*(1-s)*(a+b*s+c*s*s)
	}
	for i := range fill {
		fill[i] = at(float64(u.From+i-u.left.at) * dt / span)
	}
	top = math.Inf(-1)
	for i := range 201 {
		top = math.Max(top, at(float64(i)/200))
	}
	return top
}
