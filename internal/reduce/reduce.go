package reduce

import (
	"fmt"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/dsp"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// work is a reduction under way. Sample indices count from the start of the record; times inside are
// seconds from sample 0.
type work struct {
	set   Settings
	trace *drop.Trace
	// consume lets the force channel's own memory become forceN.
	consume bool
	cal     *Calibration
	out     *Reduction

	dt     float64
	forceN []float64 // calibrated, zeroed, polarity corrected
	lowN   []float64 // through the chosen filter (shares forceN when there is none)
	seenN  []float64 // through the detection filter of class 60, or the chosen one if that is lower
	q      dsp.Biquad
	filter bool

	quiet         dsp.Level
	hasQuiet      bool
	quietN        int     // samples of the quiet stretch
	noiseN        float64 // sd of single samples
	whiteN, slowN float64 // its parts: from sample to sample, and slower, as hum
	zeroU         float64
	zeroDoF       float64
	stepN         float64   // smallest step of the force
	mask          drop.Mask // what was not measured
	unseen        []unseen  // of it, in the first arrest
	rebuilt       *rebuilt
	slewed        bool       // the flanks show the amplifier, not the force
	coarse        string     // why the sample rate cannot show the peak
	fills         *[2]motion // with the force as low and as high as it may have been; nil where nothing bounds it
	clip          []dsp.Flat
	glitch        []dsp.Glitch
	extreme       dsp.Extremes // of the force before its zero is taken off

	ev     events
	motion motion
	peak   peakResult
	tail   *tail
}

// Reduce takes a trace through calibration, clipping and dropout check, zero, filter, events and measures, and holds
// it against the physics it cannot escape. It fails only when no force or no arrest can be found;
// everything doubtful is a warning, a finding or an audit verdict in the result. The trace is not
// altered.
func Reduce(t *drop.Trace, s Settings) (*Reduction, error) {
	w, err := run(t, s)
	if err != nil {
		return nil, err
	}
	return w.out, nil
}

// ReduceInPlace is Reduce for a trace that nobody needs any more: the force channel's memory is worked in, and its values are
// gone afterwards. The result is the same to the bit. Where the peak is set by hand, the record is needed twice and is not
// worked in.
func ReduceInPlace(t *drop.Trace, s Settings) (*Reduction, error) {
	w, err := work{consume: s.Hand == nil || s.Hand.Peak == nil}.run(t, s)
	if err != nil {
		return nil, err
	}
	return w.out, nil
}

func run(t *drop.Trace, s Settings) (*work, error) { return work{}.run(t, s) }

func (w work) run(t *drop.Trace, s Settings) (*work, error) {
	if err := s.Check(); err != nil {
		return nil, err
	}
	s = s.withDefaults()
	w.set, w.trace, w.out = s, t, &Reduction{
		Version: Version, Record: t.Name, SHA256: t.SHA256, Settings: s, Rate: t.Rate, Findings: t.Findings,
		Coverage: s.Coverage, Warnings: []string{}, LaterArrests: []LaterArrest{},
	}
	if !(t.Rate > 0) || t.Len() < 8 {
		return nil, fmt.Errorf("%s: %d samples at %s are too few to reduce; give a record with its sample rate", t.Name, t.Len(), t.Rate)
	}
	w.dt = 1 / t.Rate.SI()
	if err := w.window(); err != nil {
		return nil, err
	}
	t = w.trace
	if t.Resampled {
		w.out.warn("%s: the sample times were uneven and the values between were interpolated; see the findings", t.Name)
	}
	for _, f := range t.Findings {
		// Clipping is found, and said, in the steps below.
		if f.Grade == drop.Fault && f.Kind != clippedKind {
			w.out.warn("%s", f.String())
		}
	}
	if err := w.toForce(); err != nil {
		return nil, fmt.Errorf("%s: %w", t.Name, err)
	}
	w.findZero()
	w.lowPass()
	if err := w.findEvents(); err != nil {
		return nil, fmt.Errorf("%s: %w", t.Name, err)
	}
	w.findSaturation()
	w.findUnseen()
	w.findPeak()
	if !(w.peak.value > 0) {
		return nil, fmt.Errorf("%s: no arrest is found: what rises at %.4f s has no peak above zero (%s); check the channel and that the record begins before the drop", t.Name, float64(w.clock(w.ev.taut)), quantity.Force(w.peak.value))
	}
	w.motion = w.runMotion(w.inputsNow())
	w.findTail()
	if w.rebuilt = w.rebuild(); w.rebuilt != nil {
		copy(w.forceN[w.rebuilt.of.From:], w.rebuilt.mid)
		w.motion = w.runMotion(w.inputsNow())
	}
	w.fills = w.filled()
	w.tellPeakBound()
	w.measure()
	w.propose()
	w.tellAlone()
	w.budget()
	w.audit()
	return &w, nil
}

// clippedKind is the kind under which readers report cut-off stretches.
const clippedKind = "clipped"

func (w *work) clock(seconds float64) quantity.Duration {
	return quantity.Duration(w.trace.Start.SI() + seconds)
}

func (w *work) lowPass() {
	n := len(w.forceN)
	w.lowN = w.forceN
	if !w.set.Filter.None() {
		q, err := w.set.Filter.biquad(w.trace.Rate)
		if err != nil {
			// A lower class is not chosen behind the user's back.
			w.out.warn("the filter %s was not applied: %v", w.set.Filter, err)
			w.out.step("filter", map[string]any{"applied": "none", "asked": w.set.Filter.String(), "why": err.Error()})
		} else {
			w.q, w.filter = q, true
			switch c := w.set.Filter.Class; c {
			case 0, 60, 180, 600, 1000:
			default:
				w.out.warn("channel class %g is none of the standard's 60, 180, 600 and 1000", c)
			}
			w.lowN = make([]float64, n)
			pad := min(q.Settle(), n-1)
			q.FiltFilt(w.lowN, w.forceN, pad)
			w.out.step("filter", map[string]any{"filter": w.set.Filter.String(), "a0": q.A0, "b1": q.B1, "b2": q.B2, "passes": "forward, backward", "padding": pad})
		}
	} else {
		w.out.step("filter", map[string]any{"applied": "none"})
	}
	w.seenN = w.lowN
	if cut := w.set.Filter.Cut3dB().SI(); !w.filter || cut > 110 {
		if q, err := dsp.ChannelClass(60, w.trace.Rate.SI(), dsp.SAE); err == nil {
			w.seenN = make([]float64, n)
			q.FiltFilt(w.seenN, w.forceN, min(q.Settle(), n-1))
		}
	}
}
