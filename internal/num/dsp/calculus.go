package dsp

import "math"

// Peak is a maximum found between samples.
type Peak struct {
	Index     int     // largest sample
	Position  float64 // interpolated position in samples
	Value     float64 // interpolated value, never below the largest sample
	Curvature float64 // second derivative there, per sample squared (negative at a maximum)
}

// InterpolatePeak refines the largest sample of x by the parabola through it and its two neighbours
// (exact for a parabola; for a sine of w rad a sample the error falls as w^4). At an end of x, or on
// a flat top, the sample itself is returned with curvature 0. It panics on an empty slice.
func InterpolatePeak(x []float64) Peak {
	at := ArgMax(x)
	p := Peak{Index: at, Position: float64(at), Value: x[at]}
	if at == 0 || at == len(x)-1 {
		return p
	}
	l, c, r := x[at-1], x[at], x[at+1]
	curve := l - 2*c + r
	if !(curve < 0) {
		return p
	}
	shift := (l - r) / (2 * curve)
	p.Position += shift
	p.Value = c - (l-r)*shift/4
	p.Curvature = curve
	return p
}

// ArgMax is the index of the largest value; NaN is passed over. It panics on an empty slice.
func ArgMax(x []float64) int {
	if len(x) == 0 {
		panic("dsp: ArgMax of nothing")
	}
	at, best := 0, math.Inf(-1)
	for i, v := range x {
		if v > best {
			at, best = i, v
		}
	}
	return at
}

// Quadratic fits y = c0 + c1 u + c2 u^2 by least squares to x at u = -(n-1)/2 .. (n-1)/2 (sample
// steps from the middle). At least three samples; it panics on fewer.
//
// On the symmetric grid the odd moments vanish, so that c1 stands alone and (c0, c2) solve a 2 x 2
// system with S2 = sum u^2, S4 = sum u^4.
func Quadratic(x []float64) (c0, c1, c2 float64) {
	n := len(x)
	if n < 3 {
		panic("dsp: Quadratic needs three samples")
	}
	mid := float64(n-1) / 2
	var s2, s4, y0, y1, y2 float64
	for i, v := range x {
		u := float64(i) - mid
		uu := u * u
		s2 += uu
		s4 += uu * uu
		y0 += v
		y1 += u * v
		y2 += uu * v
	}
	det := float64(n)*s4 - s2*s2
	return (s4*y0 - s2*y2) / det, y1 / s2, (float64(n)*y2 - s2*y0) / det
}

// QuadraticLeft is the sum of squares that the parabola of Quadratic leaves over of x.
func QuadraticLeft(x []float64, c0, c1, c2 float64) (ss float64) {
	mid := float64(len(x)-1) / 2
	for i, v := range x {
		u := float64(i) - mid
		r := v - c0 - c1*u - c2*u*u
		ss += r * r
	}
	return ss
}

// HalfSineSamplingLoss is how far the largest sample of a half-sine of length durationS lies below
// its true peak, as a fraction: worst when two samples straddle the peak, 1 - cos(pi dt/(2T)); on
// average over a random phase a third of it (for dt << T).
func HalfSineSamplingLoss(dt, durationS float64) (worst, mean float64) {
	if !(durationS > 0) {
		return 1, 1
	}
	a := math.Pi * dt / (2 * durationS)
	if a >= math.Pi/2 {
		return 1, 1
	}
	s := math.Sin(a / 2)
	worst = 2 * s * s
	return worst, worst / 3
}

// HalfSineFilterRatio is the peak of a filtered half-sine of length durationS over its true peak,
// sampled at rateHz and run through both passes of q.
func HalfSineFilterRatio(q Biquad, durationS, rateHz float64) float64 {
	n := int(math.Ceil(durationS*rateHz)) + 1
	pad := min(q.Settle(), 50*n) + 2
	x := make([]float64, n+2*pad)
	// Centred so that a sample falls on the true peak.
	centre := float64(n/2 + pad)
	for i := range x {
		phase := math.Pi * (float64(i) - centre) / (durationS * rateHz)
		if math.Abs(phase) < math.Pi/2 {
			x[i] = math.Cos(phase)
		}
	}
	q.FiltFilt(x, x, 0)
	return InterpolatePeak(x).Value
}
