package ensemble

import (
	"context"
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Envelope is how far drops with the ripple of an absorber bounded are from the same drops computed tear by tear.
//
// Tear by tear a drop takes some milliseconds. In an ensemble the ripple is left out and made up for: of two drops, with the mean force all
// the way and with the force of the crests all the way, the larger peak counts. Until the absorber is torn out the second is what
// the crests give; after that the first is the larger, because the mean force takes no more energy than the tearing does: there the
// force in the chain errs to the high side. The ringing of a node under the load cell, which the tearing excites, is not in it.
type Envelope struct {
	Drops     int            `json:"drops"` // compared
	ChainLow  quantity.Ratio `json:"chain_lowest"`
	ChainHigh quantity.Ratio `json:"chain_highest"` // of the share by which the force in the chain is off, positive = too high
	CellLow   quantity.Ratio `json:"cell_lowest"`
	CellHigh  quantity.Ratio `json:"cell_highest"` // the same of the load cell's unfiltered reading
}

// envelopeDrops is the number of drops that are compared.
const envelopeDrops = 32

// rippled is the place of an absorber with a ripple, -1 = none.
func rippled(c *arrest.Case) int {
	for i := range c.Chain {
		if a := c.Chain[i].Absorber; a != nil && a.Ripple > 0 {
			return i
		}
	}
	return -1
}

// bounded runs cases whose absorber has a ripple: with the mean force, and with that of the crests.
func (w *Worker) bounded(cases []arrest.Case, out []arrest.Summary) error {
	if w.crests == nil {
		w.crests = make([]arrest.Summary, PartSize)
	}
	ripples, forces := make([][]quantity.Ratio, len(cases)), make([][]quantity.Force, len(cases))
	each := func(do func(i, k int, a *arrest.Absorber)) {
		for i := range cases {
			k := 0
			for j := range cases[i].Chain {
				if a := cases[i].Chain[j].Absorber; a != nil {
					do(i, k, a)
					k++
				}
			}
		}
	}
	each(func(i, _ int, a *arrest.Absorber) {
		ripples[i], forces[i] = append(ripples[i], a.Ripple), append(forces[i], a.Force)
		a.Ripple = 0
	})
	defer each(func(i, k int, a *arrest.Absorber) { a.Ripple, a.Force = ripples[i][k], forces[i][k] })
	until, atLeast := w.plan.Case.Until, w.plan.Case.AtLeast
	for i := range cases {
		if t := torn(&cases[i]); until == 0 || t < until { // the later arrests are the smaller ones
			cases[i].Until, cases[i].AtLeast = t, true
		}
	}
	defer func() {
		for i := range cases {
			cases[i].Until, cases[i].AtLeast = until, atLeast
		}
	}()
	if err := w.engine.Batch(cases, out); err != nil {
		return err
	}
	each(func(i, k int, a *arrest.Absorber) { a.Force = forces[i][k] * quantity.Force(1+ripples[i][k]) })
	if err := w.engine.Batch(cases, w.crests); err != nil {
		return err
	}
	for i := range cases {
		m, c := &out[i], &w.crests[i]
		if c.PeakForce > m.PeakForce {
			m.PeakForce, m.PeakTime = c.PeakForce, c.PeakTime
		}
		m.PeakChain = max(m.PeakChain, c.PeakChain)
		if c.Broke >= 0 {
			m.Outcome, m.Broke, m.BrokeTime = c.Outcome, c.Broke, c.BrokeTime
		}
		if !c.Certainty.Passed() {
			m.Certainty = c.Certainty
		}
	}
	return nil
}

// torn is a time by which an absorber has stopped the mass in most cases, or is torn out; a run goes on where it has not.
func torn(c *arrest.Case) quantity.Duration {
	g := quantity.StandardGravity
	if c.Gravity > 0 {
		g = c.Gravity.SI()
	}
	v := max(c.Speed.SI(), math.Sqrt(2*g*c.Fall.SI()))
	force := math.Inf(1)
	for i := range c.Chain {
		if a := c.Chain[i].Absorber; a != nil {
			force = min(force, a.Force.SI())
		}
	}
	return quantity.Duration(0.1 + v/max(force/c.Mass.SI()-g, 0.2*g))
}

// CheckEnvelope compares some drops of the plan, with nothing parting; nil where no absorber has a ripple.
func CheckEnvelope(ctx context.Context, p *Plan) (*Envelope, error) {
	if rippled(&p.Case) < 0 {
		return nil, nil
	}
	q := *p
	q.Case.Unbroken = true
	w, err := NewWorker(&q)
	if err != nil {
		return nil, err
	}
	n := envelopeDrops
	if len(p.Spreads) == 0 {
		n = 1
	}
	out := make([]Outcome, n)
	if err := w.WithContext(ctx).Part(0, out); err != nil {
		return nil, err
	}
	e := &Envelope{Drops: n}
	for i, o := range out {
		var s arrest.Summary
		if err := w.engine.Drop(w.Drawn(i), &s); err != nil {
			return nil, err
		}
		chain, cell := quantity.Ratio(o.Chain/s.PeakChain.SI()-1), quantity.Ratio(o.Peak/s.PeakForce.SI()-1)
		if i == 0 {
			e.ChainLow, e.ChainHigh, e.CellLow, e.CellHigh = chain, chain, cell, cell
		}
		e.ChainLow, e.ChainHigh = min(e.ChainLow, chain), max(e.ChainHigh, chain)
		e.CellLow, e.CellHigh = min(e.CellLow, cell), max(e.CellHigh, cell)
	}
	return e, nil
}

// Say says how well the ripple is bounded.
func (e *Envelope) Say() message.Sentence {
	off := func(lo, hi quantity.Ratio) string {
		return fmt.Sprintf("%+.1f %% to %+.1f %%", 100*lo.SI(), 100*hi.SI())
	}
	return message.Say("the ripple of the absorber is bounded by its mean force and by that of its crests: against %d drops computed tear by tear, the force in the chain is %s off, the load cell's unfiltered reading %s (its node rings with the tearing, which the bound leaves out)", e.Drops, off(e.ChainLow, e.ChainHigh), off(e.CellLow, e.CellHigh))
}
