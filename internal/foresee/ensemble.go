package foresee

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"sort"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/arrest/ensemble"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/jobs"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/traceio/casefile"
)

// EnsembleResult is the distribution of the peak over the spread of the parameters.
type EnsembleResult struct {
	N           int                   `json:"n"`
	Asked       int                   `json:"asked"`
	Stopped     string                `json:"stopped"` // why it ended: "all drops", "tolerance reached"
	Seed        uint64                `json:"seed"`
	Mean        float64               `json:"mean_N"`
	SD          float64               `json:"sd_N"`
	MeanSE      float64               `json:"mean_se_N"`
	LowerBound  bool                  `json:"mean_is_lower_bound"` // drops broke or ended early: mean and percentiles are of peaks that were cut short
	Percentiles []ensemble.Percentile `json:"percentiles"`         // of the load cell's unfiltered reading
	Chain       []ensemble.Percentile `json:"chain_percentiles"`   // of the force in the chain, against which strengths count
	Filtered    []ensemble.Percentile `json:"filtered_percentiles"`
	FilteredN   int                   `json:"filtered_n"`         // drops behind them: the first of all, sampled
	Certain     map[string]int        `json:"certainty"`          // drops by whether their peak was passed
	Envelope    *ensemble.Envelope    `json:"envelope,omitempty"` // how well a rippled absorber was bounded
	Broke       int                   `json:"broke"`
	BreakProb   float64               `json:"break_probability"`
	BreakLo     float64               `json:"break_lo"`
	BreakHi     float64               `json:"break_hi"`
	First       []EnsembleBreak       `json:"goes_first"`
	Sobol       []ensemble.Index      `json:"sobol"`
	Warnings    []string              `json:"warnings"`
	Cautions    []string              `json:"cautions"`
}

// EnsembleBreak is how often an element was the one to part.
type EnsembleBreak struct {
	Element     string  `json:"element"`
	Count       int     `json:"count"`
	Probability float64 `json:"probability"`
}

// EnsembleOptions say how far to go.
type EnsembleOptions struct {
	N         int     // drops at most
	Tolerance float64 // stop when the 95 % interval of the 95th percentile is within this share of it; 0 = never
	Sobol     int     // base points of the sensitivity design; 0 = none
}

// mostDrops bounds an ensemble: 24 bytes are kept of each drop.
const mostDrops = 50_000_000

// Ensemble spreads the parameters of a case and sums up the peaks.
func Ensemble(ctx context.Context, a *look.Access, name string, r io.Reader, o EnsembleOptions) (*EnsembleResult, error) {
	plan, err := casefile.ReadPlan(name, r)
	if err != nil {
		return nil, err
	}
	if o.N < 100 || o.N > mostDrops || o.Sobol < 0 || o.Sobol > mostDrops/100 {
		return nil, fmt.Errorf("%d drops and %d base points: an ensemble takes from 100 to %d drops and up to %d base points", o.N, o.Sobol, mostDrops, mostDrops/100)
	}
	probe, err := ensemble.NewWorker(plan)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	out, stopped, err := drops(ctx, a, plan, o)
	if errors.Is(err, context.Canceled) {
		return nil, fmt.Errorf("stopped by you; nothing was kept; take fewer drops, or --tolerance to stop early: %w", err)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	res := &EnsembleResult{N: len(out), Asked: o.N, Stopped: stopped, Seed: plan.Seed, First: []EnsembleBreak{}, Sobol: []ensemble.Index{}, Warnings: truncated(plan), Cautions: drop.Cautions()}
	if res.Warnings == nil {
		res.Warnings = []string{}
	}
	if err := res.sumUp(plan, out); err != nil {
		return nil, err
	}
	if res.Envelope, err = ensemble.CheckEnvelope(ctx, plan); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if err := res.filtered(ctx, plan, len(out)); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if res.Envelope != nil {
		res.Warnings = append(res.Warnings, res.Envelope.Say().String(), fmt.Sprintf("mean, deviation and percentiles of the load cell's unfiltered reading are of the first %d drops, computed tear by tear", res.FilteredN))
	}
	if o.Sobol > 0 {
		if len(plan.Correlations) > 0 {
			res.Warnings = append(res.Warnings, "sensitivity indices need independent parameters; they were left out because correlations are given")
		} else if err := sobol(ctx, a, plan, o.Sobol, probe.Inputs(), res); err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
	}
	return res, nil
}

func drops(ctx context.Context, a *look.Access, plan *ensemble.Plan, o EnsembleOptions) ([]ensemble.Outcome, string, error) {
	out := make([]ensemble.Outcome, o.N)
	parts := (o.N + ensemble.PartSize - 1) / ensemble.PartSize
	ready := make([]bool, parts)
	complete, looked, used := 0, 0, parts
	err := jobs.Local(ctx, parts, func() func(context.Context, int) error {
		w, err := ensemble.NewWorker(plan)
		return func(ctx context.Context, part int) error {
			if err != nil {
				return err
			}
			return w.WithContext(ctx).Part(part, out[part*ensemble.PartSize:min((part+1)*ensemble.PartSize, o.N)])
		}
	}, func(part int) bool {
		ready[part] = true
		for complete < parts && ready[complete] {
			complete++
		}
		a.Progress("drops", min(complete*ensemble.PartSize, o.N), o.N)
		// Look at powers of two only, over the unbroken run of parts, so that where it stops does not
		// depend on the number of workers.
		for next := max(8, 2*looked); o.Tolerance > 0 && used == parts && complete >= next && next < parts; next = 2 * looked {
			looked = next
			p := ensemble.Percentiles(out[:next*ensemble.PartSize], 0.95)[0]
			if p.Hi-p.Lo <= 2*o.Tolerance*p.Value {
				used = next
			}
		}
		return used == parts
	})
	if err != nil {
		return nil, "", err
	}
	if used < parts {
		return out[:used*ensemble.PartSize], "tolerance reached", nil
	}
	return out, "all drops", nil
}

func (r *EnsembleResult) sumUp(plan *ensemble.Plan, out []ensemble.Outcome) error {
	n := float64(len(out))
	r.spread(out)
	r.Percentiles = reliable(out)
	chain := slices.Clone(out)
	r.Certain = map[string]int{}
	for i := range chain {
		chain[i].Peak = chain[i].Chain
		r.Certain[string(out[i].Certainty())]++
	}
	r.Chain = reliable(chain)
	all, by, err := ensemble.Breaks(out, len(plan.Case.Chain))
	if err != nil {
		return err
	}
	r.Broke, r.BreakProb, r.BreakLo, r.BreakHi = all.K, all.Estimate, all.Lo, all.Hi
	for i, k := range by {
		if k > 0 {
			r.First = append(r.First, EnsembleBreak{plan.Case.Label(i), k, float64(k) / n})
		}
	}
	sort.SliceStable(r.First, func(i, j int) bool { return r.First[i].Count > r.First[j].Count })
	if r.LowerBound = r.Broke > 0; r.LowerBound {
		r.Warnings = append(r.Warnings, fmt.Sprintf("%d drops ended in a break: their peaks are lower bounds, so that the upper percentiles are cut off at the strength", r.Broke))
	}
	if k := r.Certain[string(arrest.RunTooShort)]; k > 0 {
		r.LowerBound = true
		r.Warnings = append(r.Warnings, fmt.Sprintf("%d drops ended while the force could still rise: their peaks are lower bounds, and breaks may be missing; give a later until, or leave it out", k))
	}
	if k := r.Certain[string(arrest.FloorHit)]; k > 0 {
		r.LowerBound = true
		r.Warnings = append(r.Warnings, fmt.Sprintf("%d drops reached the floor before their peak: their peaks are lower bounds", k))
	}
	for _, w := range plan.Case.Implausible() {
		r.Warnings = append(r.Warnings, w.String())
	}
	for _, e := range plan.Case.Chain {
		if e.Textile != nil && e.Textile.StartingSet != "" {
			r.Warnings = append(r.Warnings, fmt.Sprintf("starting values of %s are used: no rating, and not the specimen's", e.Textile.StartingSet))
		}
	}
	return nil
}

// spread finds mean and standard deviation of the peaks.
func (r *EnsembleResult) spread(out []ensemble.Outcome) {
	n := float64(len(out))
	r.Mean, r.SD = 0, 0
	for _, o := range out {
		r.Mean += o.Peak / n
	}
	for _, o := range out {
		r.SD += (o.Peak - r.Mean) * (o.Peak - r.Mean) / (n - 1)
	}
	r.SD = math.Sqrt(r.SD)
	r.MeanSE = r.SD / math.Sqrt(n)
}

// reliable are the percentiles beyond which at least five drops lie.
func reliable(out []ensemble.Outcome) []ensemble.Percentile {
	list := []ensemble.Percentile{}
	for _, p := range ensemble.Percentiles(out, 0.01, 0.05, 0.25, 0.5, 0.75, 0.95, 0.99, 0.999) {
		if !p.FewerThan5 {
			list = append(list, p)
		}
	}
	return list
}

// filteredDrops is the number of drops whose reading is sampled and filtered: that takes a hundred times as long as a drop.
const filteredDrops = 256

// filtered runs the first drops again, sampled, and filters what the load cell shows.
func (r *EnsembleResult) filtered(ctx context.Context, plan *ensemble.Plan, n int) error {
	n = min(n, filteredDrops)
	w, err := ensemble.NewWorker(plan)
	if err != nil {
		return err
	}
	out, raw := make([]ensemble.Outcome, n), make([]ensemble.Outcome, n)
	for i := range out {
		if i%ensemble.PartSize == 0 {
			w.Draw(i/ensemble.PartSize, min(ensemble.PartSize, n-i))
		}
		one, err := arrest.Run(ctx, w.Drawn(i%ensemble.PartSize), arrest.Options{Tolerance: 1e-9})
		if err != nil {
			return stopped(err)
		}
		out[i].Peak, raw[i].Peak = one.PeakFiltered.SI(), one.PeakForce.SI()
	}
	r.Filtered, r.FilteredN = reliable(out), n
	if r.Envelope != nil { // the bound leaves out how the tearing rings the load cell
		r.Percentiles = reliable(raw)
		r.spread(raw)
	}
	return nil
}

func sobol(ctx context.Context, a *look.Access, plan *ensemble.Plan, base, inputs int, r *EnsembleResult) error {
	per := ensemble.SobolRows(inputs)
	if per < 1 {
		return fmt.Errorf("%d parameters are too many for sensitivity indices", inputs)
	}
	rows := make([][]ensemble.Outcome, base)
	for i := range rows {
		rows[i] = make([]ensemble.Outcome, inputs+2)
	}
	parts := (base + per - 1) / per
	count := 0
	err := jobs.Local(ctx, parts, func() func(context.Context, int) error {
		w, err := ensemble.NewWorker(plan)
		return func(ctx context.Context, part int) error {
			if err != nil {
				return err
			}
			return w.WithContext(ctx).SobolPart(part, rows[part*per:min((part+1)*per, base)])
		}
	}, func(int) bool {
		count++
		a.Progress("sensitivity", count, parts)
		return true
	})
	if err != nil {
		return err
	}
	if r.Envelope != nil { // of the force in the chain, which is what is bounded
		for _, row := range rows {
			for i := range row {
				row[i].Peak = row[i].Chain
			}
		}
	}
	for i, s := range ensemble.Sobol(rows) {
		s.Parameter = plan.Spreads[i].Parameter
		r.Sobol = append(r.Sobol, s)
	}
	sort.SliceStable(r.Sobol, func(i, j int) bool { return r.Sobol[i].Total > r.Sobol[j].Total })
	return nil
}
