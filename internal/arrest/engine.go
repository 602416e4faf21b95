package arrest

import (
	"context"
	"fmt"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Summary is what an ensemble keeps of a drop.
type Summary struct {
	PeakForce quantity.Force // largest force that the load cell feels
	PeakTime  quantity.Duration
	PeakChain quantity.Force
	Certainty Certainty
	Outcome   drop.Outcome
	Broke     int // place in the chain of what parted, -1 = nothing
	BrokeTime quantity.Duration
	Lowest    quantity.Length
	End       MassState
	Arrests   int
	Steps     int
	Method    Method // Auto on the short way
	Second    Peak   // of the second arrest, if there was one
}

// alike is the relative difference below which a later peak does not count as larger than an earlier
// one: without losses all arrests are the same.
const alike = 1e-6

// Engine runs many drops, one after another, without allocating. It is not safe for use by several
// goroutines at once; give each its own.
type Engine struct {
	// Tolerance is the local error allowed per step, relative to the force scale; 0 = 1e-8, and
	// 1e-7 where Run takes Taylor series: good for a relative error of the peak below 1e-6.
	Tolerance float64
	// Context ends drops under way; nil = they run to their end.
	Context context.Context //nolint:containedctx // one for many drops, none of which takes long

	limit      float64 // share that the ledger may be open by; 0 = balanceLimit
	m          solver
	fast       fast
	lanes      lanes
	drops      [laneCount]fast
	shortWay   []int // cases of the short way
	generalWay []int // cases of the general way
	octet      *octet
	first      [1]int // the place of a case in a batch of its own
}

// fastTolerance is the error per step of the short way, relative to the weight: its steps are few.
func (e *Engine) fastTolerance() float64 { return orDefault(e.Tolerance, 1e-8) * 500 }

// Drop runs the first drop of a case. Cases of one textile without friction and set on a rigid or massless undamped rig
// take a short way to the same result; every other case goes through a lane where the processor has them, as in a Batch,
// and there or alone takes the way of Run, looking only at what a Summary holds and checking the energy ledger once, at the
// end. Where that does not get to its end, or the ledger does not close then, Run takes the drop again: either it does, or
// it says where it failed.
func (e *Engine) Drop(c *Case, out *Summary) error {
	if e.fast.fits(c) && clearlyValid(c) {
		return e.short(c, out)
	}
	if err := c.Validate(); err != nil {
		return err
	}
	if e.fast.fits(c) {
		return e.short(c, out)
	}
	if !lockstepWorks {
		return e.general(c, out)
	}
	return e.inLanes(octetRun{e: e, single: c, to: out, indices: e.first[:]})
}

// inLanes carries the work of a batch or a drop through the lanes.
func (e *Engine) inLanes(w octetRun) error {
	if e.octet == nil {
		e.octet = &octet{rows: new(octetRows)}
	}
	return e.octet.run(&w)
}

// short takes the short way; a drop that has not turned by the end of a run that may go on takes the general way.
func (e *Engine) short(c *Case, out *Summary) error {
	e.fast.eps = e.fastTolerance()
	e.fast.drop(c, out)
	if out.unfinished(c) {
		return e.general(c, out)
	}
	return nil
}

// unfinished tells that a run ended too soon that may go on.
func (s *Summary) unfinished(c *Case) bool {
	return s.Certainty == RunTooShort && (c.Until == 0 || c.AtLeast)
}

// clearlyValid tells that a case of the short way is clearly in order; where it is not sure, Validate decides.
func clearlyValid(c *Case) bool {
	n := len(c.Chain)
	t := c.Chain[n-1].Textile
	ok := c.Mass > 0 && c.Mass < 1e5 && c.Fall >= 0 && c.Fall < 1000 && c.Speed >= 0 && c.Speed < 1e3 && c.Gravity >= 0 && c.Gravity < 1e3 &&
		c.Until >= 0 && c.Until < 3600 && c.Rest == 0 && c.Drops >= 0 && c.Drops < 10000 && c.Chain[n-1].Kind == KindTextile &&
		t.Length > 0 && t.Length < 1e4 && t.E1 < 1e12 && t.E3 >= 0 && t.E3 < 1e12 && t.Strength >= 0 && t.Strength < 1e12 &&
		t.Degradation >= 0 && t.Degradation <= 1 && t.BreakRamp == 0
	if len(t.Maxwell) == 1 {
		b := t.Maxwell[0]
		ok = ok && b.E >= 0 && b.E < 1e12 && b.Tau > 0 && b.Tau < 1e12
	}
	if n == 2 {
		r := c.Chain[0].Rig
		ok = ok && c.Chain[0].Kind == KindRig && r.Stiffness > 0 && r.Stiffness < 1e12 && r.DampingRatio == 0
	}
	return ok
}

// generalTolerance is the error per step of the general way, relative to the largest force.
func (e *Engine) generalTolerance() float64 { return orDefault(e.Tolerance, 1e-7) }

// Batch runs the first drop of every case into the summary of the same place. It is quicker than
// Drop for many cases: on processors that allow it eight of them go together. What comes of a case does
// not depend on the others.
func (e *Engine) Batch(cases []Case, out []Summary) error {
	if len(out) < len(cases) {
		panic("arrest: Batch needs a summary for every case")
	}
	e.shortWay, e.generalWay = e.shortWay[:0], e.generalWay[:0]
	for i := range cases {
		c := &cases[i]
		switch {
		case !lockstepWorks:
			if err := e.Drop(c, &out[i]); err != nil {
				return fmt.Errorf("case %d: %w", i+1, err)
			}
		case !e.fast.fits(c):
			e.generalWay = append(e.generalWay, i)
		default:
			if !clearlyValid(c) {
				if err := c.Validate(); err != nil {
					return fmt.Errorf("case %d: %w", i+1, err)
				}
			}
			e.shortWay = append(e.shortWay, i)
		}
	}
	if len(e.shortWay) > 0 {
		e.lanes.lockstep(&e.drops, e.fastTolerance(), cases, e.shortWay, out)
		for _, i := range e.shortWay {
			if out[i].unfinished(&cases[i]) {
				e.generalWay = append(e.generalWay, i)
			}
		}
	}
	if len(e.generalWay) == 0 {
		return nil
	}
	return e.inLanes(octetRun{e: e, cases: cases, indices: e.generalWay, out: out})
}

// setUpForSummary sets a solver up for a drop of which only a Summary is wanted.
func (e *Engine) setUpForSummary(m *solver, c *Case) {
	m.compile(c, Options{Tolerance: orDefault(e.Tolerance, 1e-8)})
	m.order = octetOrder
	if !m.pointwise {
		// Newton's iteration doubles the figures: one more correction would be below the last bit.
		m.summaryOnly, m.enough = true, 1e-7
		m.eps = e.generalTolerance()
	}
	m.limit = orDefault(e.limit, balanceLimit)
	m.reset()
	m.probe = sampler{}
}

func (e *Engine) general(c *Case, out *Summary) error {
	m := &e.m
	if c.edgeAt() >= 0 {
		return e.runInFull(c, out)
	}
	e.setUpForSummary(m, c)
	err := m.run(e.context())
	if err != nil && m.summaryOnly && e.context().Err() == nil {
		return e.runInFull(c, out)
	}
	if err != nil {
		return fmt.Errorf("ensemble: %w", err)
	}
	m.summary(out)
	return nil
}

func (e *Engine) context() context.Context {
	if e.Context == nil {
		return context.Background()
	}
	return e.Context
}

// Work is the size of a drop in steps of a Taylor series.
func (s *Summary) Work() int {
	if s.Method == Radau || s.Method == Dopri {
		return s.Steps * 10 * stepwiseCost // with what looks for events in it
	}
	return s.Steps
}

// summary reports the drop that has just been run.
func (m *solver) summary(out *Summary) {
	k := &m.track
	*out = Summary{
		PeakChain: quantity.Force(k.chainPeak), Certainty: m.certainty(), Outcome: drop.Held, Broke: -1, Lowest: quantity.Length(k.lowest),
		End: MassState{quantity.Duration(m.t), quantity.Length(m.x[0]), quantity.Speed(m.v[0])}, Arrests: len(k.peaks), Steps: m.steps, Method: m.method,
	}
	out.largest(k.peaks)
	switch {
	case k.broke:
		out.Outcome, out.Broke, out.BrokeTime = drop.Broke, m.weakest, quantity.Duration(k.brokeAt)
	case k.floor:
		out.Outcome = drop.Void
	}
}

// largest notes the peaks of the arrests.
func (s *Summary) largest(peaks []Peak) {
	for i, p := range peaks {
		if p.Force > s.PeakForce*(1+alike) {
			s.PeakForce, s.PeakTime = p.Force, p.T
		}
		if i == 1 {
			s.Second = p
		}
	}
}

// runInFull takes a drop that failed, or whose ledger did not close, by the way of Run, which checks every step.
func (e *Engine) runInFull(c *Case, out *Summary) error {
	one := *c
	one.Drops = 1
	r, err := runClosed(e.context(), &one, Options{}, orDefault(e.limit, balanceLimit))
	if err != nil {
		return fmt.Errorf("ensemble: %w", err)
	}
	*out = Summary{PeakChain: r.PeakChain, Certainty: r.Certainty, Outcome: r.Outcome, Broke: -1, Lowest: r.Lowest, End: r.End, Arrests: len(r.Peaks), Steps: r.Steps, Method: r.Method}
	out.largest(r.Peaks)
	if r.Broke != nil {
		out.Broke, out.BrokeTime = r.Broke.place, r.Broke.T
	}
	return nil
}
