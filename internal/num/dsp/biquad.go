// Package dsp filters, integrates and interpolates evenly sampled signals without phase shift.
package dsp

import (
	"fmt"
	"math"
)

// Biquad is a second-order recursive filter
//
//	y[n] = A0 x[n] + A1 x[n-1] + A2 x[n-2] + B1 y[n-1] + B2 y[n-2]
//
// in the sign convention of ISO 6487 and SAE J211-1 (feedback terms are added).
type Biquad struct {
	A0, A1, A2, B1, B2 float64
}

// Factor is the number by which a channel frequency class is multiplied to get the corner frequency
// of each pass in hertz.
type Factor float64

// The two published factors. They differ by 0.3 % of the corner frequency.
const (
	SAE Factor = 2.0775      // SAE J211-1
	ISO Factor = 25.0 / 12.0 // ISO 6487
)

// passRatio is the corner frequency of each pass over the 3 dB frequency of both: a squared
// second-order Butterworth response 1/(1+(f/fc)^4) is 1/sqrt2 at f = fc (sqrt2-1)^(1/4).
var passRatio = math.Pow(math.Sqrt2-1, -0.25)

// ChannelClass returns one pass of the channel-class filter: a 2-pole Butterworth low-pass by the
// bilinear transform, to be run forward and backward (FiltFilt).
//
//	wd = 2 pi class factor, wa = tan(wd T/2), D = 1 + sqrt2 wa + wa^2
//	a0 = a2 = wa^2/D, a1 = 2 a0, b1 = -2(wa^2-1)/D, b2 = (-1 + sqrt2 wa - wa^2)/D
//
// class is 60, 180, 600, 1000 or any positive number; rateHz must be at least ten times the class,
// else an error names the lowest rate that would do. Source: ISO 6487, SAE J211-1 appendix C.
func ChannelClass(class, rateHz float64, factor Factor) (Biquad, error) {
	if !(class > 0) || !(rateHz > 0) || math.IsInf(class, 0) || math.IsInf(rateHz, 0) {
		return Biquad{}, fmt.Errorf("channel class %g at %g Hz: both must be positive", class, rateHz)
	}
	if rateHz < 10*class {
		return Biquad{}, fmt.Errorf("channel class %g needs at least %g samples a second, the record has %g; choose a lower class or no filter", class, 10*class, rateHz)
	}
	return lowPass(class*float64(factor), rateHz), nil
}

// LowPass3dB returns one pass of a filter whose forward and backward passes together are 3 dB down at
// cutoffHz. It fails when a pass's corner would not lie below the Nyquist frequency.
func LowPass3dB(cutoffHz, rateHz float64) (Biquad, error) {
	if !(cutoffHz > 0) || !(rateHz > 0) || math.IsInf(cutoffHz, 0) || math.IsInf(rateHz, 0) {
		return Biquad{}, fmt.Errorf("low-pass of %g Hz at %g Hz: both must be positive", cutoffHz, rateHz)
	}
	if cutoffHz*passRatio >= 0.45*rateHz {
		return Biquad{}, fmt.Errorf("a low-pass of %g Hz needs at least %.4g samples a second, the record has %g; choose a lower frequency or no filter", cutoffHz, cutoffHz*passRatio/0.45, rateHz)
	}
	// The bilinear transform bends the frequency axis: put the bent 3 dB point at cutoffHz.
	wa := math.Tan(math.Pi*cutoffHz/rateHz) * passRatio
	return fromWarped(wa), nil
}

func lowPass(cornerHz, rateHz float64) Biquad {
	return fromWarped(math.Tan(math.Pi * cornerHz / rateHz))
}

func fromWarped(wa float64) Biquad {
	d := 1 + math.Sqrt2*wa + wa*wa
	a0 := wa * wa / d
	return Biquad{A0: a0, A1: 2 * a0, A2: a0, B1: -2 * (wa*wa - 1) / d, B2: (-1 + math.Sqrt2*wa - wa*wa) / d}
}

// Gain is the magnitude of the forward and backward passes together at frequencyHz: |H|^2.
func (q Biquad) Gain(frequencyHz, rateHz float64) float64 {
	w := 2 * math.Pi * frequencyHz / rateHz
	c1, s1, c2, s2 := math.Cos(w), math.Sin(w), math.Cos(2*w), math.Sin(2*w)
	nr, ni := q.A0+q.A1*c1+q.A2*c2, -(q.A1*s1 + q.A2*s2)
	dr, di := 1-q.B1*c1-q.B2*c2, q.B1*s1+q.B2*s2
	return (nr*nr + ni*ni) / (dr*dr + di*di)
}

// NoiseGain is the standard deviation of filtered over unfiltered white noise: the square root of the
// sum of squares of the two-pass impulse response, summed over 4*settle+1 samples.
func (q Biquad) NoiseGain() float64 {
	n := 4*q.Settle() + 1
	x := make([]float64, n)
	x[n/2] = 1
	q.FiltFilt(x, x, 0)
	sum := 0.0
	for _, v := range x {
		sum += v * v
	}
	return math.Sqrt(sum)
}

// Settle is the number of samples after which the response of one pass has decayed below 1e-4 of its
// start, from the radius of its poles.
func (q Biquad) Settle() int {
	r := math.Sqrt(math.Max(-q.B2, 0)) // complex pole pair: product of the poles is -B2
	if r <= 0 {
		return 2
	}
	n := int(math.Ceil(math.Log(1e-4) / math.Log(r)))
	return max(n, 2)
}

// FiltFilt runs the filter forward and then backward over x, so that no phase shift remains, and
// writes into dst (which may be x). The ends are extended by pad samples of odd reflection
// (2 x[0] - x[i]) and each pass starts in the steady state of its first value, as general-purpose
// signal libraries do; pad is cut to len(x)-1. It panics when the lengths differ.
func (q Biquad) FiltFilt(dst, x []float64, pad int) {
	if len(dst) != len(x) {
		panic("dsp: FiltFilt needs slices of one length")
	}
	n := len(x)
	if n == 0 {
		return
	}
	pad = min(max(pad, 0), n-1)
	// Reflections are taken before dst overwrites x.
	tail := make([]float64, pad)
	last := x[n-1]
	for i := range tail {
		tail[i] = 2*last - x[n-2-i]
	}
	first := x[0]
	if pad > 0 {
		first = 2*x[0] - x[pad]
	}
	z1, z2 := q.steady(first)
	for i := pad; i > 0; i-- {
		_, z1, z2 = q.step(2*x[0]-x[i], z1, z2)
	}
	z1, z2 = q.run(dst, x, z1, z2)
	for i, v := range tail {
		tail[i], z1, z2 = q.step(v, z1, z2)
	}
	end := dst[n-1]
	if pad > 0 {
		end = tail[pad-1]
	}
	z1, z2 = q.steady(end)
	for i := pad - 1; i >= 0; i-- {
		_, z1, z2 = q.step(tail[i], z1, z2)
	}
	q.runBack(dst, z1, z2)
}

// steady returns the state (transposed direct form II) in which a constant input v gives v.
func (q Biquad) steady(v float64) (z1, z2 float64) {
	return (1 - q.A0) * v, (q.A2 + q.B2) * v
}

func (q Biquad) step(x, z1, z2 float64) (y, n1, n2 float64) {
	y = q.A0*x + z1
	return y, q.A1*x + q.B1*y + z2, q.A2*x + q.B2*y
}

func (q Biquad) run(dst, x []float64, z1, z2 float64) (float64, float64) {
	a0, a1, a2, b1, b2 := q.A0, q.A1, q.A2, q.B1, q.B2
	dst = dst[:len(x)]
	for i, v := range x {
		y := a0*v + z1
		z1 = (a1*v + z2) + b1*y
		z2 = a2*v + b2*y
		dst[i] = y
	}
	return z1, z2
}

func (q Biquad) runBack(x []float64, z1, z2 float64) {
	a0, a1, a2, b1, b2 := q.A0, q.A1, q.A2, q.B1, q.B2
	for i := len(x) - 1; i >= 0; i-- {
		v := x[i]
		y := a0*v + z1
		z1 = (a1*v + z2) + b1*y
		z2 = a2*v + b2*y
		x[i] = y
	}
}
