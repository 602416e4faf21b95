package selfcal

import (
	"math"
	"math/rand/v2"
	"slices"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/num/uncert"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

// Runs is how many arrests are computed when nobody says how many.
const Runs = 200

// Result is how often the intervals held the truth. The JSON names are stable: names are added, never changed.
type Result struct {
	Runs     int     `json:"runs"`
	Refused  int     `json:"refused"`  // of them: no reduction came out
	Coverage float64 `json:"coverage"` // that the intervals state
	Model    string  `json:"model"`
	// Peak and Duration are the model's, beside the record's own in the reduction.
	Peak     quantity.Force    `json:"model_peak_N"`
	Duration quantity.Duration `json:"model_arrest_duration_s"`
	Measures []Measure         `json:"measures"`
}

// Measure is how often one measure held its truth.
type Measure struct {
	Name      string      `json:"name"`
	Unit      string      `json:"unit"`
	Told      int         `json:"told"`    // runs that gave a value, an interval or a bound
	Covered   int         `json:"covered"` // of them hold the truth
	Bounds    int         `json:"bounds"`  // of them are bounds
	Share     float64     `json:"share"`
	Between   *[2]float64 `json:"share_between"` // 95 %, Clopper and Pearson; null without any
	MedianOff float64     `json:"median_error"`  // of values and intervals' middles, relative to the truth
	MedianU   float64     `json:"median_expanded"`
}

// Plan is what the runs need; each may be made by another core.
type Plan struct {
	set       reduce.Settings
	name      string
	rate      quantity.Frequency
	start     quantity.Duration
	n         int
	taut      float64 // s from sample 0
	gainU     float64
	model     model
	words     string
	like      truths
	residuals residuals
	lost      drop.Mask // relative to the record
	level     float64   // N: what is above was saturated; 0 = nothing was
	seed      uint64
	tells     func(name string) bool // that the record's own reduction tells of a measure
}

// NewPlan looks at a record. It fails when no simple specimen stops the mass as the record's did.
func NewPlan(w *reduce.WholeReduction, seed uint64) (*Plan, error) {
	r := w.Reduction
	m, words, err := fit(w)
	if err != nil {
		return nil, err
	}
	p := &Plan{set: r.Settings, name: r.Record, rate: w.Rate, start: w.Start, n: len(w.Force), taut: r.Taut.SI() - w.Start.SI(), model: m, words: words, seed: seed}
	p.tells = func(name string) bool { _, ok := read(r, name); return ok }
	for _, b := range r.PeakBudget {
		switch b.Label {
		case "calibration curve and scatter", "reference force of the calibration", "force scale as stated":
			p.gainU = math.Hypot(p.gainU, b.Contribution/r.Peak.SI())
		}
	}
	// The computed record is in newtons and has one channel; what the certificate leaves open is its scale.
	p.set.Channel, p.set.Calibration, p.set.GainU, p.set.Hand = "", drop.CalibrationData{}, quantity.Ratio(p.gainU), nil
	for _, s := range r.Unmeasured {
		if s.Is == drop.Saturated {
			p.level = r.PeakRaw.SI()
		} else {
			p.lost = p.lost.With(drop.Stretch{From: s.From, To: s.To, Is: s.Is, Why: s.Why})
		}
	}
	force, like := m.fall(p.set.Mass.SI(), p.set.Fall.SI(), p.set.Gravity.SI(), p.n, 1/p.rate.SI(), p.taut)
	p.like, p.residuals = like, residualsOf(w, force)
	return p, nil
}

// Run is one arrest reduced again.
type Run struct {
	truths truths
	red    *reduce.Reduction // nil = refused
}

// Run makes run number i; the same number gives the same bits.
func (p *Plan) Run(i int) Run {
	rng := rand.New(rand.NewPCG(p.seed, uint64(i))) //nolint:gosec // a seeded source: the same runs each time
	s, dt := p.set, 1/p.rate.SI()
	mass := s.Mass.SI() + s.MassU.SI()*rng.NormFloat64()
	height := math.Max(0, s.Fall.SI()+s.FallU.SI()*rng.NormFloat64())
	gain := 1 + p.gainU*rng.NormFloat64()
	force, t := p.model.fall(mass, height, s.Gravity.SI(), p.n, dt, p.taut+(rng.Float64()-0.5)*dt)
	noise := p.residuals.drawn(p.n, rng)
	mask := slices.Clone(p.lost)
	for k := range force {
		force[k] = gain * (force[k] + noise[k])
		if p.level > 0 && force[k] >= p.level {
			force[k] = p.level
			mask = mask.With(drop.Stretch{From: k, To: k + 1, Is: drop.Saturated, Why: "as in the record"})
		}
	}
	for _, l := range p.lost {
		for k := max(l.From, 0); k < min(l.To, len(force)); k++ {
			force[k] = math.NaN()
		}
	}
	trace := &drop.Trace{Name: p.name, Rate: p.rate, Start: p.start, Channels: []drop.Channel{{Name: "force", Unit: "N", Dim: quantity.DimForce, Factor: 1, Values: force, Mask: mask}}}
	red, err := reduce.ReduceInPlace(trace, s)
	if err != nil {
		return Run{truths: t}
	}
	return Run{t, red}
}

// told is one measure of a run: what is said, and the truth.
type told struct {
	lo, hi, middle, u, truth float64
	bound                    bool
}

func (t told) holds() bool { return t.truth >= t.lo && t.truth <= t.hi }

// Sum adds the runs up.
func (p *Plan) Sum(runs []Run) *Result {
	coverage := p.set.Coverage
	out := &Result{Runs: len(runs), Coverage: coverage, Model: p.words, Peak: quantity.Force(p.like.peak), Duration: quantity.Duration(p.like.duration)}
	for _, r := range runs {
		if r.red == nil {
			out.Refused++
		}
	}
	for _, q := range []struct {
		name, unit string
		truth      func(truths) float64
	}{
		{"peak force", "N", func(t truths) float64 { return t.peak }}, {"impulse", "N s", func(t truths) float64 { return t.impulse }},
		{"energy absorbed", "J", func(t truths) float64 { return t.energy }}, {"largest elongation", "m", func(t truths) float64 { return t.elongation }},
		{"arrest duration", "s", func(t truths) float64 { return t.duration }}, {"rebound speed", "m/s", func(t truths) float64 { return t.rebound }},
	} {
		if p.tells != nil && !p.tells(q.name) {
			continue
		}
		m := Measure{Name: q.name, Unit: q.unit}
		var off, u []float64
		for _, r := range runs {
			x, ok := read(r.red, q.name)
			if !ok {
				continue
			}
			x.truth = q.truth(r.truths)
			m.Told++
			if x.holds() {
				m.Covered++
			}
			if x.bound {
				m.Bounds++
				continue
			}
			off, u = append(off, (x.middle-x.truth)/math.Abs(x.truth)), append(u, x.u)
		}
		if m.Told == 0 {
			continue
		}
		m.Share, m.MedianOff, m.MedianU = float64(m.Covered)/float64(m.Told), median(off), median(u)
		if b, err := censor.ExactBinomial(m.Covered, m.Told, 0.95); err == nil {
			m.Between = &[2]float64{b.Lo, b.Hi}
		}
		out.Measures = append(out.Measures, m)
	}
	return out
}

// read is what a reduction says of a measure; false where it says nothing.
func read(r *reduce.Reduction, name string) (told, bool) {
	if r == nil {
		return told{}, false
	}
	inf := math.Inf(1)
	if name == "peak force" {
		v, u := r.Peak.SI(), r.PeakExpanded.SI()
		switch r.PeakBound {
		case reduce.AtLeast:
			return told{lo: v - u, hi: inf, bound: true}, true
		case reduce.Between:
			lo, hi := r.PeakInterval[0].SI(), r.PeakInterval[1].SI()
			return told{lo: lo, hi: hi, middle: (lo + hi) / 2, u: (hi - lo) / 2}, true
		}
		return told{lo: v - u, hi: v + u, middle: v, u: u}, true
	}
	m, ok := r.Known(name)
	if !ok {
		return told{}, false
	}
	u := uncert.CoverageFactor(r.Coverage, float64(m.DoF)) * m.U
	switch m.Bound {
	case reduce.Nothing:
		return told{}, false
	case reduce.AtLeast:
		return told{lo: m.Value - u, hi: inf, bound: true}, true
	case reduce.AtMost:
		return told{lo: -inf, hi: m.Value + u, bound: true}, true
	case reduce.Between:
		return told{lo: m.Interval[0], hi: m.Interval[1], middle: (m.Interval[0] + m.Interval[1]) / 2, u: (m.Interval[1] - m.Interval[0]) / 2}, true
	}
	return told{lo: m.Value - u, hi: m.Value + u, middle: m.Value, u: u}, true
}

func median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	y := slices.Sorted(slices.Values(x))
	return (y[(len(y)-1)/2] + y[len(y)/2]) / 2
}
