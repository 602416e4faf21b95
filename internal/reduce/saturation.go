package reduce

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/dsp"
)

// Limits of the test for an amplifier that could not follow; from good and spoilt records of bench/truth, see docs/methods.md.
const (
	flatRatio  = 0.8  // bend of the top over the bend of the whole pulse: a free top bends at least as much
	flatSigmas = 4.0  // by so many standard errors
	slewShare  = 0.62 // of the height of a flank at the largest slope: a free flank has a fifth
)

// slewed is why samples of flanks that are too straight are masked.
const slewed = "a flank as straight as a ruler: the amplifier could not follow"

// shape is how a pulse bends near its top and as a whole, as curvatures of parabolas, N a sample squared.
type shape struct {
	top, topU   float64
	whole       float64
	from, to    int // samples of the top that was looked at
	left, right int // samples of the whole
}

// topShape fits parabolas to what lies above a share near the top and above a lower one.
func topShape(x []float64, from, to, at int, peak, near, far float64) (s shape, ok bool) {
	reach := func(level float64) (l, r int) {
		l, r = at, at
		for l > from && x[l-1] >= level {
			l--
		}
		for r+1 < to && x[r+1] >= level {
			r++
		}
		return l, r
	}
	s.from, s.to = reach(near * peak)
	s.left, s.right = reach(far * peak)
	if s.to-s.from < 5 || s.right-s.left < 12 {
		return s, false
	}
	y := x[s.from : s.to+1]
	c0, c1, c2 := dsp.Quadratic(y)
	s.top = -c2
	n := float64(len(y))
	// The variance of a fitted bend is 180 s^2/n^5; what is left over may swing, so that a sixth of the samples are free of each other.
	s.topU = math.Sqrt(dsp.QuadraticLeft(y, c0, c1, c2)/(n-3)) * math.Sqrt(6*180/math.Pow(n, 5))
	_, _, whole := dsp.Quadratic(x[s.left : s.right+1])
	s.whole = -whole
	return s, s.whole > 0
}

// findSaturation looks for the marks of an amplifier or a logger that could not follow in the first arrest, beside equal
// samples: a top that is flat against the bend of the pulse, and flanks as straight as a ruler. It gives the mask with them.
func (w *timed) findSaturation() (mask drop.Mask, isSlewed bool) {
	x, mask := w.forceN, w.mask
	from, to := w.ev.first, w.ev.endAt+1
	if to-from < 16 || w.peakSet() {
		return mask, false
	}
	if s, ok := w.flatTop(x, from, to, w.ev.topN); ok {
		mask = mask.With(drop.Stretch{From: s.from, To: s.to + 1, Is: drop.Saturated, Why: "a flat top"})
	}
	if s, stiff, ok := w.softened(); ok {
		if mask.Count(from, to).Whole() {
			w.saySoftened(s, stiff)
		}
		mask = mask.With(s)
	}
	if !mask.Count(from, to).Whole() {
		return mask, false // below a top that is cut off the flanks are straight by themselves
	}
	if w.limitedBothWays() {
		return mask.With(drop.Stretch{From: from, To: to, Is: drop.Saturated, Why: limited}), true
	}
	if w.ev.endKind == "slack" && math.Max(w.straightShare(from, w.ev.peakAt, 1), w.straightShare(w.ev.peakAt, to, -1)) > slewShare {
		// What stands there is too low on the way up and too high on the way down.
		return mask.With(drop.Stretch{From: from, To: to, Is: drop.Saturated, Why: slewed}), true
	}
	return mask, false
}

func (w *given) peakSet() bool { return !w.set.Hand.None() && w.set.Hand.Peak != nil }

// flatTop tells that the top is flat, at any of several levels, and gives the widest stretch that is.
func (w *timed) flatTop(x []float64, from, to int, peak float64) (shape, bool) {
	best, found := shape{}, false
	for _, near := range []float64{0.99, 0.98, 0.96, 0.93} {
		s, ok := topShape(x, from, to, w.ev.peakAt, peak, near, 0.7)
		if !ok {
			continue
		}
		half := float64(s.to-s.from) / 2
		// Hum turns a top up or down by twice its amplitude at most.
		u := math.Hypot(s.topU, 2*math.Sqrt2*w.slowN/(half*half))
		var flat bool
		if w.ev.endKind == "break" {
			// A force that rises until it breaks off has no bend, but it rises; one that is past its top bends.
			_, c1, c2 := dsp.Quadratic(x[s.from : s.to+1])
			depth := (1 - near) * peak
			flat = s.to-s.from >= 8 && math.Abs(2*c1*half) < 0.2*depth && math.Abs(c2)*half*half < 0.2*depth && depth > 12*w.noiseN
		} else {
			limit := flatRatio * s.whole
			flat = s.top < limit && limit-s.top > flatSigmas*u
		}
		if flat {
			best, found = s, true
		}
	}
	return best, found
}

// straightMost is how many points of a flank are looked at: more are averaged in blocks.
const straightMost = 600

// straightShare is the share of the height of a flank over which the force changes at its largest rate, within 4 %.
func (w *timed) straightShare(from, to int, sign float64) float64 {
	share, _ := w.straight(from, to, sign)
	return share
}

// straight is straightShare, with the largest rate in N a sample.
func (w *timed) straight(from, to int, sign float64) (share, rate float64) {
	block := max(1, (to-from)/straightMost)
	x := flank(w.forceN, from, to, block, node{}).y
	n := len(x)
	if n < 16 {
		return 0, 0
	}
	// A line through 2 h + 1 points has the slope's standard error s sqrt(3/(2 h^3)): a hundredth of the mean slope at most.
	half, noise := max(n/24, 1), w.noiseN/math.Sqrt(float64(block))
	for half < n/9 && noise*math.Sqrt(1.5/math.Pow(float64(half), 3)) > 0.01*w.ev.topN/float64(n) {
		half++
	}
	slope := func(i int) float64 {
		s, d := 0.0, 0.0
		for k := -half; k <= half; k++ {
			s += float64(k) * x[i+k]
			d += float64(k * k)
		}
		return sign * s / d
	}
	most := 0.0
	for i := half; i < n-half; i++ {
		most = math.Max(most, slope(i))
	}
	height := 0.0
	for i := half; i < n-half; i++ {
		if s := slope(i); s >= 0.96*most {
			height += s
		}
	}
	return height / w.ev.topN, most / float64(block)
}
