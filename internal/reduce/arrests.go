package reduce

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// window is the part of a record that a person says holds the drop, and what to say of it; the record itself where nobody said so.
func window(t *drop.Trace, h *EventsByHand) (_ *drop.Trace, n notes, _ error) {
	if h.None() || h.From == nil && h.To == nil {
		return t, n, nil
	}
	inside := func(at quantity.Duration) float64 { return at.SI() - t.Start.SI() }
	samples := t.Len()
	from, to := 0, samples
	if h.From != nil {
		from = int(math.Ceil(inside(*h.From)*t.Rate.SI() - 1e-6))
	}
	if h.To != nil {
		to = int(math.Floor(inside(*h.To)*t.Rate.SI()+1e-6)) + 1
	}
	end := t.Start.SI() + float64(samples-1)/t.Rate.SI()
	if from = max(from, 0); from+8 > min(to, samples) {
		return nil, n, fmt.Errorf("%s: no 8 samples lie in the part that was named; the record goes from %.4f s to %.4f s", t.Name, t.Start.SI(), end)
	}
	to = min(to, samples)
	cut := *t
	cut.Start = quantity.Duration(t.Start.SI() + float64(from)/t.Rate.SI())
	cut.Channels = make([]drop.Channel, len(t.Channels))
	for i, c := range t.Channels {
		if len(c.Values) > 0 {
			c.Values = c.Values[from:to]
		}
		c.Mask = c.Mask.Within(from, to)
		for k := range c.Mask {
			c.Mask[k].From -= from
			c.Mask[k].To -= from
		}
		cut.Channels[i] = c
	}
	n.warn("only the part of the record from %.4f s to %.4f s is reduced, as a person said; the whole goes from %.4f s to %.4f s", cut.Start.SI(), cut.Start.SI()+float64(to-from-1)/t.Rate.SI(), t.Start.SI(), end)
	n.step("window", map[string]any{"from_s": cut.Start.SI(), "samples": to - from})
	return &cut, n, nil
}

// A rebound has less energy than the fall before it: its arrest is no harder, and its flight no longer, than the first allows.
// The margins are for noise, ringing and heights that were entered wrong (common practice, no source).
const (
	harderThanFirst = 1.05 // of the first arrest's peak
	longerThanFirst = 1.25 // of the flight after a rebound without loss
	secondDrop      = 0.5  // of the first arrest's peak: what comes too late and is as hard is a drop of its own
)

// whichArrest refuses a record in which the drop cannot be told from what was before or after it: a pull before the drop,
// two drops in one record, a bump while hoisting. Of the later arrests it gives those that are rebounds.
func (w *signal) whichArrest(first *arrest, later []arrest) ([]arrest, error) {
	if first == nil {
		return later, nil
	}
	v0 := math.Sqrt(2 * w.set.Gravity.SI() * w.set.Fall.SI())
	at := func(a *arrest) float64 { return float64(w.clock(float64(a.from) * w.dt)) }
	refuse := func(why string, next *arrest) ([]arrest, error) {
		return nil, fmt.Errorf("the record does not tell which arrest is the drop's: %s (%s at %.4f s, %s at %.4f s). Look at the record, and say which part holds the drop: for example --from %.2fs --to %.2fs for the last of them (hardcatch reduce, or hardcatch event for a drop that was entered)",
			why, quantity.Force(first.peakN), at(first), quantity.Force(next.peakN), at(next), math.Max(at(next)-0.3, w.trace.Start.SI()), float64(w.clock(float64(next.to)*w.dt))+1)
	}
	whole := w.mask.Count(first.from, first.to).Whole() // else its top may be missing
	for k := range later {
		a := &later[k]
		if whole && a.peakN > harderThanFirst*first.peakN+8*w.noiseN {
			return refuse("a rebound cannot be harder than the first arrest, so that what comes first is a pull before the drop, or there are two drops in one record", a)
		}
	}
	if v0 == 0 {
		return later, nil
	}
	// The mass leaves an arrest no faster than it came, and each rebound is weaker than the one before.
	before, longest := first, longerThanFirst*2*v0/w.set.Gravity.SI()+0.05
	for k := range later {
		a := &later[k]
		flight := float64(a.from-before.to) * w.dt
		if late := flight > longest; late || k > 0 && w.mask.Count(before.from, before.to).Whole() && a.peakN > 1.2*before.peakN+8*w.noiseN {
			why := "the force rises again to more than in the rebound before"
			if late {
				why = fmt.Sprintf("the force is gone for %s, longer than any rebound from this height flies, and then comes back", quantity.Duration(flight).Text(3))
			}
			if a.peakN > secondDrop*first.peakN || !w.couldBe(first, v0) && w.couldBe(a, v0) {
				return refuse(fmt.Sprintf("%s: two drops in one record, or a pull before the drop", why), a)
			}
			w.warn("%s at %.4f s: that is no rebound, and what comes from there on was left out", why, at(a))
			later = later[:k]
			break
		}
		before = a
	}
	if len(later) > 0 {
		// A pull by hand or hoist gives many times the impulse of a drop.
		if next := &later[0]; !w.couldBe(first, v0) && w.couldBe(next, v0) && w.momenta(first, v0) > pullMomenta {
			return refuse(fmt.Sprintf("the first takes %.1f times the momentum that the mass has, as a pull does, and the next %.1f times, as a drop does", w.momenta(first, v0), w.momenta(next, v0)), next)
		}
	}
	return later, nil
}

// An arrest takes the momentum of the mass once, and at most once more where it throws it back. The margins are for heights and
// masses that were entered wrong; what a rebound may follow at once is a pull only beyond pullMomenta.
const leastMomenta, mostMomenta, pullMomenta = 0.6, 2.4, 4

// momenta is the impulse of an arrest beyond the weight, in momenta of the falling mass.
func (w *signal) momenta(a *arrest, v0 float64) (sum float64) {
	weight := w.set.Mass.SI() * w.set.Gravity.SI()
	for _, f := range w.seenN[a.from:a.to] {
		sum += (f - weight) * w.dt
	}
	return sum / (w.set.Mass.SI() * v0)
}

// couldBe tells that an arrest takes as much momentum as the drop's.
func (w *signal) couldBe(a *arrest, v0 float64) bool {
	k := w.momenta(a, v0)
	return k > leastMomenta && k < mostMomenta
}
