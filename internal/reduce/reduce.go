package reduce

import (
	"fmt"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Reduce takes a trace through calibration, clipping and dropout check, zero, filter, events and measures, and holds
// it against the physics it cannot escape. It fails only when no force or no arrest can be found;
// everything doubtful is a warning, a finding or an audit verdict in the result. The trace is not
// altered.
func Reduce(t *drop.Trace, s Settings) (*Reduction, error) {
	w, err := run(t, s, false)
	if err != nil {
		return nil, err
	}
	return w.reduction(), nil
}

// ReduceInPlace is Reduce for a trace that nobody needs any more: the force channel's memory is worked in, and its values are
// gone afterwards. The result is the same to the bit. Where the peak is set by hand, the record is needed twice and is not
// worked in.
func ReduceInPlace(t *drop.Trace, s Settings) (*Reduction, error) {
	w, err := run(t, s, s.Hand == nil || s.Hand.Peak == nil)
	if err != nil {
		return nil, err
	}
	return w.reduction(), nil
}

// run is the row of steps. Each gives a value that holds what the steps before it gave, and what it found itself; none changes
// what it was given. With consume the memory of the force channel is worked in.
func run(t *drop.Trace, s Settings, consume bool) (*judged, error) {
	given, err := take(t, s)
	if err != nil {
		return nil, err
	}
	signal, err := given.toSignal(consume) // calibration, what each sample is, zero, filter
	if err != nil {
		return nil, err
	}
	timed, err := signal.time() // taut, the end of the arrest, later arrests
	if err != nil {
		return nil, err
	}
	sight := timed.look() // what of the arrest was not measured
	topped, err := sight.findPeak()
	if err != nil {
		return nil, err
	}
	moved := topped.move()   // the path of the mass, the tail, a top that was lost
	told := moved.tell()     // measures, outcome, uncertainty, bounds
	return told.judge(), nil // held against the physics
}

// given is what a reduction is of. Sample indices count from the start of the trace; times inside are seconds from sample 0.
type given struct {
	set   Settings
	trace *drop.Trace // the part that a person named
	dt    float64
	*notes
}

// signal is the force with what is known of each sample.
type signal struct {
	*given
	newtons
	zero
	filtered
}

// timed is a signal with the moments of the drop.
type timed struct {
	*signal
	ev events
}

// sight is what of the first arrest was measured.
type sight struct {
	*timed
	evidence  drop.Mask // the mask, with what the shape of the arrest shows
	unseen    []unseen  // of it, in the first arrest
	slewed    bool      // the flanks show the amplifier, not the force
	measuredN float64   // largest force that was measured
}

// topped is the arrest with its peak.
type topped struct {
	*sight
	peak peakResult
}

// moved is the arrest with the motion of the mass.
type moved struct {
	*topped
	wholeN []float64 // the force with a lost top as it was rebuilt
	motion motion
	tail   tail
	bound  peakBound
	fills  *[2]motion // with the force as low and as high as it may have been; nil where nothing bounds it, or all was measured
}

// told is what the record says.
type told struct {
	*moved
	measures    measured
	proposal    proposed
	alone       *RecordAlone
	uncertainty budgeted
}

// judged is what the record says, held against the physics that it cannot escape.
type judged struct {
	*told
	audited
}

// clippedKind is the kind under which readers report cut-off stretches.
const clippedKind = "clipped"

// take checks what is given and cuts the record to what a person named.
func take(t *drop.Trace, s Settings) (*given, error) {
	if err := s.Check(); err != nil {
		return nil, err
	}
	s = s.withDefaults()
	if !(t.Rate > 0) || t.Len() < 8 {
		return nil, fmt.Errorf("%s: %d samples at %s are too few to reduce; give a record with its sample rate", t.Name, t.Len(), t.Rate)
	}
	t, said, err := window(t, s.Hand)
	if err != nil {
		return nil, err
	}
	w := &given{set: s, trace: t, dt: 1 / t.Rate.SI(), notes: &said}
	if t.Resampled {
		w.warn("%s: the sample times were uneven and the values between were interpolated; see the findings", t.Name)
	}
	for _, f := range t.Findings {
		// Clipping is found, and said, in the steps below.
		if f.Grade == drop.Fault && f.Kind != clippedKind {
			w.warn("%s", f.String())
		}
	}
	return w, nil
}

func (w *given) clock(seconds float64) quantity.Duration {
	return quantity.Duration(w.trace.Start.SI() + seconds)
}

// toSignal makes force of the record.
func (w *given) toSignal(consume bool) (*signal, error) {
	n, err := w.toForce(consume)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", w.trace.Name, err)
	}
	z := w.findZero(n.forceN, n.extreme)
	return &signal{given: w, newtons: n, zero: z, filtered: w.lowPass(n.forceN)}, nil
}

// time finds the moments of the drop.
func (w *signal) time() (*timed, error) {
	ev, err := w.findEvents()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", w.trace.Name, err)
	}
	return &timed{signal: w, ev: ev}, nil
}

// look finds what was not measured in the first arrest, and whether its peak may lie there.
func (w *timed) look() *sight {
	mask, isSlewed := w.findSaturation()
	return &sight{timed: w, evidence: mask, unseen: w.findUnseen(mask), slewed: isSlewed, measuredN: w.largestMeasured(mask)}
}

// move follows the mass through the arrest, by the record or, where its top was lost, by the top that the motion tells.
func (w *topped) move() *moved {
	m := &moved{topped: w, wholeN: w.forceN, motion: w.motionOver(w.forceN, w.inputsNow())}
	m.tail = w.findTail(m.motion)
	top := w.rebuild(m.motion)
	if top != nil {
		m.wholeN = append([]float64(nil), w.forceN...)
		copy(m.wholeN[top.of.From:], top.mid)
		m.motion = w.motionOver(m.wholeN, w.inputsNow())
	}
	m.fills = w.filled(m.wholeN, top)
	m.bound = w.boundPeak(top)
	return m
}

// tell reads measures, outcome and uncertainty off the motion.
func (w *moved) tell() *told {
	out := &told{moved: w, measures: w.measure(), proposal: w.propose(), alone: w.tellAlone()}
	out.uncertainty = w.budget(out.alone)
	return out
}

// judge holds the record against the physics that it cannot escape.
func (w *told) judge() *judged { return &judged{w, w.audit()} }

// reduction writes down what was found.
func (w *judged) reduction() *Reduction {
	p, m := w.peak, w.motion
	r := &Reduction{
		Version: Version, Record: w.trace.Name, SHA256: w.trace.SHA256, Settings: w.set, Rate: w.trace.Rate, Findings: w.trace.Findings, Coverage: w.set.Coverage,

		Peak: quantity.Force(p.value), PeakRaw: quantity.Force(p.raw), PeakFiltered: quantity.Force(p.filtered), PeakMethod: p.method,
		PeakTime: w.clock(p.time), TimeToPeak: quantity.Duration(p.time - w.ev.taut), PulseLength: quantity.Duration(p.pulse), Alone: w.alone,
		PeakU: w.uncertainty.u, PeakExpanded: w.uncertainty.expanded, PeakK: w.uncertainty.k, PeakDoF: w.uncertainty.dof, PeakBudget: w.uncertainty.parts,
		Bias: w.uncertainty.bias, ScaleKnown: w.scaleKnown(),

		LowerBound: w.proposal.letGo || w.bound.hidden(), Clipped: w.bound.clipped, PeakHidden: w.bound.hidden(), PeakBound: w.bound.how,
		PeakInterval: w.bound.interval, PeakReason: w.bound.reason, Mask: w.evidence.Count(w.ev.first, w.ev.endAt+1),

		Taut: w.clock(w.ev.taut), ArrestEnd: w.ev.endKind, ArrestDuration: quantity.Duration(w.ev.end - w.ev.taut), LaterArrests: []LaterArrest{},
		ImpactSpeed: quantity.Speed(m.impactV), Impulse: quantity.Impulse(m.impulse), EnergyAbsorbed: quantity.Energy(m.absorbed), MaxElongation: quantity.Length(m.xMax),
		RiseRate: w.measures.riseRate, SecantStiffness: w.measures.secant, TangentStiff: w.measures.tangent, EnergyReturned: w.measures.returned,
		ReboundSpeed: w.measures.rebound, LossFactor: w.measures.loss, Measures: w.measures.list, Zero: quantity.Force(w.zeroN), NoiseSD: quantity.Force(w.noiseN),

		Outcome: w.proposal.outcome, Evidence: w.proposal.evidence, Audit: w.checks, AuditVerdict: w.verdict, Judgement: w.judgement,
		Warnings: append([]string{}, w.Warnings...), Steps: w.Steps,
	}
	for _, s := range w.evidence {
		from, to := w.place(s)
		r.Unmeasured = append(r.Unmeasured, UnmeasuredStretch{s, quantity.Duration(from), quantity.Duration(to)})
	}
	for _, a := range w.ev.later {
		r.LaterArrests = append(r.LaterArrests, LaterArrest{Taut: w.clock(a.taut), Peak: quantity.Force(a.peakN), Flight: a.flight})
	}
	if w.tail.rest {
		f := quantity.Force(w.tail.mean)
		r.Tail = &f
	}
	return r
}
