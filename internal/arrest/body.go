package arrest

import (
	"github.com/hardcatch/hardcatch/internal/num/ode"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// levels are the multiples of standard gravity whose durations are kept.
var levels = [...]float64{2, 4, 6, 8, 10, 12, 15, 20, 25, 30}

// felt gathers what the torso of a body feels: (force of the chain - pull of the rest)/mass, in
// multiples of standard gravity. It is zero in free fall.
type felt struct {
	peak, peakAt float64
	since        [len(levels)]float64 // when each level was passed upwards, -1 = below it
	longest      [len(levels)]float64
}

// observeBody looks at the torso over the stretch of h.
func (m *solver) observeBody(h float64) {
	k := &m.track.body
	if m.t == 0 {
		for i := range k.since {
			k.since[i] = -1
		}
	}
	at := func(tau float64) float64 {
		if m.pointwise {
			m.load(tau)
			return (m.g - m.v[1]) / quantity.StandardGravity
		}
		return (m.g - ode.Slope(m.v[:], m.order, tau)) / quantity.StandardGravity
	}
	before, tauBefore := at(0), 0.0
	for j := 0; j <= parts; j++ {
		tau := h * float64(j) / parts
		now := at(tau)
		if now > k.peak {
			k.peak, k.peakAt = now, m.t+tau
		}
		for i, level := range levels {
			k.pass(i, level, m.t, tauBefore, tau, before, now, at)
		}
		before, tauBefore = now, tau
	}
}

// pass keeps the time of one level between two points.
func (k *felt) pass(i int, level, t, a, b, fa, fb float64, at func(float64) float64) {
	if fb > level && k.since[i] < 0 {
		k.since[i] = t + b
		if fa < level {
			k.since[i] = t + ode.Root(func(tau float64) float64 { return at(tau) - level }, a, b, fa-level, fb-level, 1e-9)
		}
	}
	if k.since[i] < 0 {
		return
	}
	end := t + b
	if fb < level && fa > level {
		end = t + ode.Root(func(tau float64) float64 { return at(tau) - level }, a, b, fa-level, fb-level, 1e-9)
	}
	if fb < level && fa <= level {
		end = t + a
	}
	k.longest[i] = max(k.longest[i], end-k.since[i])
	if fb < level {
		k.since[i] = -1
	}
}

// report is the part of the result that a body run has.
func (k *felt) report() *BodyResult {
	r := &BodyResult{PeakG: quantity.Ratio(k.peak), PeakTime: quantity.Duration(k.peakAt), Above: []GDuration{}}
	for i, level := range levels {
		if k.longest[i] > 0 {
			r.Above = append(r.Above, GDuration{quantity.Ratio(level), quantity.Duration(k.longest[i])})
		}
	}
	return r
}
