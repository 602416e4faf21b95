package plan

import (
	"context"
	"fmt"
	"math"
	"slices"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/arrest/ensemble"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Band holds the 5th, 50th and 95th percentile of a force over the spread.
type Band struct {
	P05 quantity.Force `json:"p05_N"`
	P50 quantity.Force `json:"p50_N"`
	P95 quantity.Force `json:"p95_N"`
}

// Forecast is what the drops of a cell are likely to do.
type Forecast struct {
	Cell        Cell               `json:"cell"`
	Peak        Band               `json:"peak"`   // as it would be recorded, specimens that part included
	Demand      Band               `json:"demand"` // if nothing parts
	Simulations int                `json:"simulations"`
	Broke       int                `json:"broke"` // of the simulations
	BreakProb   float64            `json:"break_probability"`
	BreakLo     float64            `json:"break_lo"` // exact 95 % interval, for the spread assumed
	BreakHi     float64            `json:"break_hi"`
	Elongation  quantity.Length    `json:"elongation_m"` // of the whole chain at its lowest, 95th percentile
	Height      quantity.Length    `json:"height_needed_m"`
	Energy      quantity.Energy    `json:"energy_J"`      // m g (h + elongation)
	CellLo      *quantity.Ratio    `json:"cell_share_lo"` // of the load cell's capacity, by the peak's band
	CellHi      *quantity.Ratio    `json:"cell_share_hi"`
	Checks      []Check            `json:"checks"`
	Runs        bool               `json:"runs"` // no limit stops it
	Sentences   []message.Sentence `json:"sentences"`
	Warnings    []message.Sentence `json:"warnings"`
}

// Verdict says how a cell stands to a limit.
type Verdict string

// The verdicts.
const (
	Within   Verdict = "within"
	Stops    Verdict = "stops the cell"
	IfParts  Verdict = "within only if the specimen parts"
	TooSmall Verdict = "small for the load cell"
)

// Check is a cell held against one limit, with its unit.
type Check struct {
	Limit     message.Sentence `json:"limit"`
	Unit      string           `json:"unit"` // N, m or J
	Predicted float64          `json:"predicted"`
	IfHeld    float64          `json:"predicted_if_held"` // if nothing parts
	Value     float64          `json:"limit_value"`
	Verdict   Verdict          `json:"verdict"`
	Least     bool             `json:"least,omitempty"` // the limit is one to reach, not to stay below
	// What would be just within the limit even if the specimen held, everything else as planned: nil where the limit
	// does not stop the cell, or where nothing would be.
	LargestFall       *quantity.Length `json:"largest_fall_m,omitempty"`
	LargestFallFactor *quantity.Ratio  `json:"largest_fall_factor,omitempty"`
	LargestMass       *quantity.Mass   `json:"largest_mass_kg,omitempty"`

	text func(float64) string
	load func(drawn) float64
}

// drawn is the sorted outcome of many simulations of one fall: the peaks as recorded, the peaks if nothing parts,
// the largest elongations. Peaks are readings of the load cell; the forces in the chain stand beside them.
type drawn struct {
	c                    arrest.Case
	g                    float64
	peaks, demand, reach []float64
	chain, chainDemand   []float64
	broke, open          int // drops that broke, and drops whose peak was not passed
}

// at is a percentile of sorted values: the smallest that a share p of them does not pass.
func at(sorted []float64, p float64) float64 {
	k := int(math.Ceil(p*float64(len(sorted)))) - 1
	return sorted[max(0, min(len(sorted)-1, k))]
}

func band(sorted []float64) Band {
	return Band{quantity.Force(at(sorted, 0.05)), quantity.Force(at(sorted, 0.5)), quantity.Force(at(sorted, 0.95))}
}

// Forecast simulates a cell over the spread and holds it against the bench's limits. Percentiles are over the
// spread assumed: they hold no more than that.
func (p *Plan) Forecast(ctx context.Context, c Cell) (*Forecast, error) {
	e, warnings, err := p.Ensemble(c)
	if err != nil {
		return nil, fmt.Errorf("cell %d (%s): %w", c.Number, c.Label(p.Factors), err)
	}
	d, err := draw(ctx, e, p.Simulations)
	if err != nil {
		return nil, fmt.Errorf("cell %d (%s): %w", c.Number, c.Label(p.Factors), err)
	}
	f := &Forecast{Cell: c, Peak: band(d.peaks), Demand: band(d.demand), Simulations: len(d.peaks), Broke: d.broke, Checks: []Check{}, Runs: true, Sentences: []message.Sentence{}, Warnings: warnings}
	b, err := censor.ExactBinomial(d.broke, len(d.peaks), 0.95)
	if err != nil {
		return nil, err
	}
	f.BreakProb, f.BreakLo, f.BreakHi = b.Estimate, b.Lo, b.Hi
	f.Elongation = quantity.Length(at(d.reach, 0.95))
	f.Height = quantity.Length(p.heightNeeded(d))
	f.Energy = quantity.Energy(energy(d))
	if cap := p.Rig.LoadCell.Capacity; cap > 0 {
		lo, hi := quantity.Ratio(f.Peak.P05/cap), quantity.Ratio(f.Peak.P95/cap)
		f.CellLo, f.CellHi = &lo, &hi
	}
	if d.open > 0 {
		f.Warnings = append(f.Warnings, message.Say("%d of %d simulations ended while the force could still rise: what is predicted is a lower bound", d.open, len(d.peaks)))
	}
	f.Warnings = append(f.Warnings, e.Case.Implausible()...)
	if err := p.judge(ctx, e, d, f); err != nil {
		return nil, fmt.Errorf("cell %d (%s): %w", c.Number, c.Label(p.Factors), err)
	}
	return f, nil
}

// CheckForecast is the forecast of the check drop, nil where its reference element has no model.
func (p *Plan) CheckForecast(ctx context.Context) (*Forecast, error) {
	alone, c, ok := p.checkCell()
	if !ok {
		return nil, nil
	}
	return alone.Forecast(ctx, c)
}

// checkCell is a plan of the check drop alone, with its cell; false where its reference element has no model.
func (p *Plan) checkCell() (*Plan, Cell, bool) {
	k := p.Check
	if k == nil || k.Textile == nil {
		return nil, Cell{}, false
	}
	alone := *p
	alone.Builds = map[string]Build{k.Specimen: {Textile: *k.Textile}}
	alone.Factors, alone.Effects = []Factor{{Name: Material}}, nil
	c := Cell{Levels: map[string]string{Material: k.Specimen}, Material: k.Specimen, Length: k.Length, Fall: k.Fall, Mass: k.Mass}
	if c.Mass == 0 {
		c.Mass = p.DropMass()
	}
	return &alone, c, true
}

// draw simulates n falls. The seed gives the same draws to every fall height and mass, so that the percentiles rise
// smoothly with them. Without a spread one fall stands for all.
func draw(ctx context.Context, e *ensemble.Plan, n int) (drawn, error) {
	d, err := drawWhole(ctx, e, n)
	if err != nil || !mayPart(e, d.chainDemand[len(d.chainDemand)-1]) {
		return d, err
	}
	out, err := run(ctx, e, len(d.demand), nil)
	if err != nil {
		return d, err
	}
	d.peaks, d.chain = sortedPeaks(out), sortedChain(out)
	for _, o := range out {
		if o.Broke >= 0 {
			d.broke++
		}
	}
	return d, nil
}

func sortedChain(drops []ensemble.Outcome) []float64 {
	forces := make([]float64, len(drops))
	for i, o := range drops {
		forces[i] = o.Chain
	}
	slices.Sort(forces)
	return forces
}

func sortedPeaks(drops []ensemble.Outcome) []float64 {
	peaks := make([]float64, len(drops))
	for i, o := range drops {
		peaks[i] = o.Peak
	}
	slices.Sort(peaks)
	return peaks
}

// drawWhole is draw with a specimen that never parts.
func drawWhole(ctx context.Context, e *ensemble.Plan, n int) (drawn, error) {
	d := drawn{c: e.Case, g: e.Case.Gravity.SI()}
	whole := *e
	whole.Spreads, whole.Case.Unbroken = nil, true
	for _, s := range e.Spreads {
		if s.Parameter != textileName+".strength" && s.Parameter != knotName+".efficiency" {
			whole.Spreads = append(whole.Spreads, s)
		}
	}
	if len(e.Spreads) == 0 {
		n = 1
	}
	out, err := run(ctx, &whole, n, func(s []arrest.Summary) {
		for i := range s {
			d.reach = append(d.reach, s[i].Lowest.SI())
		}
	})
	if err != nil {
		return d, err
	}
	d.demand = sortedPeaks(out)
	d.peaks = d.demand
	d.chainDemand = sortedChain(out)
	d.chain = d.chainDemand
	for _, o := range out {
		if !o.Certainty().Passed() {
			d.open++
		}
	}
	slices.Sort(d.reach)
	return d, nil
}

// mayPart tells that a force comes near enough to the strength for a draw to part: eight tenths of what the strength
// and the knot's share are six standard deviations down.
func mayPart(e *ensemble.Plan, largest float64) bool {
	sd := map[string]float64{}
	for _, s := range e.Spreads {
		sd[s.Parameter] = s.Width
	}
	least := math.Inf(1)
	for _, el := range e.Case.Chain {
		if t := el.Textile; t != nil && t.Strength > 0 {
			cv := sd[textileName+".strength"] / t.Strength.SI()
			least = t.Strength.SI() * math.Exp(-6*math.Sqrt(math.Log1p(cv*cv)))
		}
		if el.Knot != nil {
			least *= math.Max(0.05, el.Knot.Efficiency.SI()-6*sd[knotName+".efficiency"])
		}
	}
	return largest > 0.8*least
}

// run simulates n falls in the parts of an ensemble, and shows each part's summaries to see.
func run(ctx context.Context, e *ensemble.Plan, n int, see func([]arrest.Summary)) ([]ensemble.Outcome, error) {
	w, err := ensemble.NewWorker(e)
	if err != nil {
		return nil, err
	}
	out := make([]ensemble.Outcome, n)
	for part := 0; part*ensemble.PartSize < n; part++ {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		to := out[part*ensemble.PartSize : min((part+1)*ensemble.PartSize, n)]
		if err := w.WithContext(ctx).Part(part, to); err != nil {
			return nil, err
		}
		if see != nil {
			see(w.Summaries(len(to)))
		}
	}
	return out, nil
}

// heightNeeded is from the floor to the release: the fall, or what hangs slack below the anchor where that is more;
// then the elongation, the mass below its attachment and the clearance.
func (p *Plan) heightNeeded(d drawn) float64 {
	length := 0.0
	for _, e := range d.c.Chain {
		if e.Textile != nil {
			length = e.Textile.Length.SI()
		}
	}
	t := p.Tower
	return math.Max(d.c.Fall.SI(), length+t.Rigging.SI()) + at(d.reach, 0.95) + t.MassHeight.SI() + t.Clearance.SI()
}

// belowAnchor is what must be free between anchor and floor.
func (p *Plan) belowAnchor(d drawn) float64 {
	h := p.heightNeeded(d)
	t := p.Tower
	for _, e := range d.c.Chain {
		if e.Textile != nil {
			h += math.Min(0, e.Textile.Length.SI()+t.Rigging.SI()-d.c.Fall.SI())
		}
	}
	return h
}

// energy is m g (h + x), what the chain takes up or the floor does.
func energy(d drawn) float64 {
	g := d.g
	if g == 0 {
		g = quantity.StandardGravity
	}
	return d.c.Mass.SI() * g * (d.c.Fall.SI() + at(d.reach, 0.95))
}
