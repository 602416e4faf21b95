package dsp

import "math"

// ResampleLinear writes the values of (t, x), t strictly increasing, at start, start+dt, ... into dst
// by linear interpolation; outside the range of t the nearest value is held. It panics when t and x
// differ in length or are empty.
func ResampleLinear(dst, t, x []float64, start, dt float64) {
	if len(t) != len(x) || len(t) == 0 {
		panic("dsp: ResampleLinear needs times and values of one length")
	}
	j := 0
	for i := range dst {
		at := start + float64(i)*dt
		for j < len(t)-2 && t[j+1] <= at {
			j++
		}
		switch {
		case len(t) == 1 || at <= t[0]:
			dst[i] = x[0]
		case at >= t[len(t)-1]:
			dst[i] = x[len(x)-1]
		default:
			w := (at - t[j]) / (t[j+1] - t[j])
			dst[i] = x[j] + w*(x[j+1]-x[j])
		}
	}
}

// Decimate keeps every factor-th sample after a two-pass low-pass at 0.4 of the new rate, so that
// nothing folds back. It panics when factor < 1.
func Decimate(x []float64, factor int) []float64 {
	if factor < 1 {
		panic("dsp: Decimate needs a factor of 1 or more")
	}
	y := append([]float64(nil), x...)
	if factor > 1 {
		q := fromWarped(math.Tan(math.Pi*0.4/float64(factor)) * passRatio)
		q.FiltFilt(y, x, q.Settle())
	}
	out := make([]float64, 0, len(x)/factor+1)
	for i := 0; i < len(y); i += factor {
		out = append(out, y[i])
	}
	return out
}
