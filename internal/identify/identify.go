package identify

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/lsq"
	"github.com/hardcatch/hardcatch/internal/num/sample"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Input is what a campaign holds for its model.
type Input struct {
	Records []Record
	Rig     Rig
	Seed    uint64
	Draws   int // of the posterior; 0 = 600
	// Quick leaves out what takes long and no prediction needs: the cells left out in turn, and what cannot be told.
	Quick bool
}

// Rig is the rig as it is stated; Stiffness 0 = not stated.
type Rig struct{ Stiffness, NodeMass, DampingRatio float64 }

// Parameter is a value of the model. Lo and Hi hold it with 95 %; the side that the records leave open is null.
type Parameter struct {
	Name    string   `json:"name"`
	Element string   `json:"element"`
	Value   float64  `json:"value"`
	Lo      *float64 `json:"lo"`
	Hi      *float64 `json:"hi"`
	Unit    string   `json:"unit"`
	From    string   `json:"from"` // "records", "prior" or "starting value"
	// Start is what the starting values say.
	Start float64 `json:"starting_value"`
	// Replaced tells that the records contradict the starting value: it lies outside the interval.
	Replaced bool `json:"starting_value_replaced"`
	// Rhat and Ess are the agreement of the chains and the number of independent draws of this one; null where it was not drawn.
	Rhat *float64 `json:"rhat,omitempty"`
	Ess  *float64 `json:"ess,omitempty"`
}

// The origins of a parameter.
const (
	FromRecords  = "records"
	FromPrior    = "prior"
	FromStarting = "starting value"
)

// CannotTell is something that the records leave open, with the drop that would tell most of it.
type CannotTell struct {
	What   message.Sentence `json:"what"`
	Reason message.Sentence `json:"reason"`
	Drop   message.Sentence `json:"drop"`
}

// CellLeftOut is a cell predicted by a model that was fitted without it. Measured is the mean of the drops that held; the interval is for that mean.
type CellLeftOut struct {
	Cell      string         `json:"cell"`
	Drops     int            `json:"drops"`
	Measured  quantity.Force `json:"measured_N"`
	Predicted quantity.Force `json:"predicted_N"`
	Lo        quantity.Force `json:"lo_N"`
	Hi        quantity.Force `json:"hi_N"`
	Inside    bool           `json:"inside"`
}

// Diagnostics say how far the posterior may be believed.
type Diagnostics struct {
	RhatMax    float64 `json:"rhat_max"` // rank-normalised
	EssMin     float64 `json:"ess_min"`  // bulk, by rank
	Acceptance float64 `json:"acceptance"`
	Draws      int     `json:"draws"`
	Drops      int     `json:"drops"`
	Specimens  int     `json:"specimens"`
	Falls      int     `json:"falls"`
	LeftOut    int     `json:"records_left_out"`
	Covered    int     `json:"cells_inside"` // of the cells left out in turn
	Cells      int     `json:"cells_left_out"`
}

// Model is the campaign's own.
type Model struct {
	Parameters  []Parameter        `json:"parameters"`
	CannotTell  []CannotTell       `json:"cannot_tell"`
	LeftOut     []CellLeftOut      `json:"left_out"`
	Diagnostics Diagnostics        `json:"diagnostics"`
	Spread      Spread             `json:"spread"`
	Loops       []Loop             `json:"without_a_model"`
	Warnings    []message.Sentence `json:"warnings"`

	m     *model
	fit   *lsq.Fit
	draws [][]float64 // of the parameters

	rhat, ess []float64 // by parameter
}

var errSingular = errors.New("the spread of the records has no finite likelihood; leave out records by --cells and try again")

// Fit identifies the model. An error says why nothing can be fitted.
func Fit(ctx context.Context, in Input) (*Model, error) {
	if len(in.Records) == 0 {
		return nil, errors.New("there is no record to fit: drops need a record, a length and a mass")
	}
	rig := rigOf{in.Rig.Stiffness, in.Rig.NodeMass, in.Rig.DampingRatio, in.Rig.Stiffness > 0}
	if !rig.Stated {
		rig.Stiffness = 2e6
	}
	m := newModel(in.Records, rig)
	m.engine.Context = ctx
	if m.rows == 0 {
		return nil, errors.New("no record holds a whole part of an arrest that was measured")
	}
	out := &Model{CannotTell: []CannotTell{}, LeftOut: []CellLeftOut{}, Loops: []Loop{}, Warnings: []message.Sentence{}, m: m}
	fit, err := m.find(out.starts())
	if err != nil {
		return nil, fmt.Errorf("the model does not fit these records: %w", err)
	}
	if err := ctx.Err(); err != nil {
		return nil, err //nolint:wrapcheck // the caller's own
	}
	out.fit, out.Spread = fit, m.spread
	out.Spread.Model = m.spread.model()
	if !fit.Converged {
		out.warn(message.Say("the fit had not settled after %d steps: its values may be off", fit.Steps))
	}
	out.sample(ctx, in.Seed, in.Draws)
	out.report()
	if !in.Quick {
		out.tell(ctx)
		out.leaveOut(ctx)
	}
	out.count()
	return out, ctx.Err() //nolint:wrapcheck // the caller's own
}

func (o *Model) warn(s message.Sentence) { o.Warnings = append(o.Warnings, s) }

// starts are the starting values, and what the records say without a model.
func (o *Model) starts() [][]float64 {
	m := o.m
	plain := make([]float64, len(m.params))
	for j := range m.params {
		plain[j] = math.Exp(m.params[j].prior.Mean)
	}
	free := slices.Clone(plain)
	found := map[string]Loop{}
	for _, d := range m.designs {
		if _, done := found[d.textile]; done || d.steel {
			continue
		}
		if l, ok := loopOf(m.records, d.textile, m.rig.Stiffness); ok {
			found[d.textile] = l
			o.Loops = append(o.Loops, l)
		}
	}
	for j := range m.params {
		p := &m.params[j]
		l, ok := found[p.element]
		if !ok {
			continue
		}
		e := l.Elongation
		// The nonlinear terms of the loop are put into the one that the textile has.
		nonlinear := l.E2*e*e + l.E3*e*e*e
		switch p.part {
		case partE1:
			free[j] = max(0.8*l.E1, 0.2*plain[j])
		case partE2:
			free[j] = max(nonlinear/(e*e), 0.2*plain[j])
		case partE3:
			free[j] = max(nonlinear/(e*e*e), 0.2*plain[j])
		case partFriction:
			free[j] = min(max(l.Friction, 0.02), 0.5)
		}
	}
	return [][]float64{plain, free}
}

// report writes the parameters out of the draws.
func (o *Model) report() {
	m := o.m
	n := len(m.params)
	for j := range m.params {
		p := &m.params[j]
		at := make([]float64, len(o.draws))
		for i, d := range o.draws {
			at[i] = d[j]
		}
		slices.Sort(at)
		lo, hi := sample.Quantile(at, 0.025), sample.Quantile(at, 0.975)
		q := Parameter{Name: partNames[p.part].name, Element: p.title(), Value: sample.Quantile(at, 0.5), Lo: &lo, Hi: &hi, Unit: partNames[p.part].unit, From: FromPrior, Start: math.Exp(p.prior.Mean), Rhat: &o.rhat[j], Ess: &o.ess[j]}
		if sd := math.Sqrt(o.fit.Cov[j*n+j]); sd < tells*p.prior.SD {
			q.From = FromRecords
			q.Replaced = q.Start < lo || q.Start > hi
		}
		o.Parameters = append(o.Parameters, q)
	}
	o.fixed()
	if slices.ContainsFunc(m.params, func(p parameter) bool { return p.part == partBranch }) {
		o.warn(message.Say("E1 and the Maxwell branch of a textile stand in for each other, and their intervals are too narrow: in 40 simulated campaigns they held the true E1 in 68 %% and the true branch in 53 %%, the bands of new peaks in 98 %%"))
	}
}

// tells is the share of a prior's width below which the records have told something. Common practice, no source.
const tells = 0.5

func (p *parameter) title() string {
	if p.part == partRig {
		return "rig"
	}
	return p.element
}

// fixed lists what is not fitted.
func (o *Model) fixed() {
	seen := map[string]bool{}
	add := func(name, element, unit string, v float64) {
		if !seen[name+element] {
			seen[name+element] = true
			o.Parameters = append(o.Parameters, Parameter{Name: name, Element: element, Value: v, Unit: unit, From: FromStarting, Start: v})
		}
	}
	for _, d := range o.m.designs {
		t := base(d.set)
		add("set", d.textile, "", t.Set.SI())
		add("friction stiffness", d.textile, "N", t.FrictionStiffness.SI())
		if d.knot != "" {
			c := chain(d, nil, nil, o.m.rig, scale{})
			k := c.Chain[2].Knot
			add("F0", d.knotName(), "N", k.F0.SI())
			add("lock", d.knotName(), "N/m", k.Lock.SI())
		}
	}
	add("node mass", "rig", "kg", o.m.rig.NodeMass)
	add("damping ratio", "rig", "", o.m.rig.DampingRatio)
}

func (o *Model) count() {
	d := &o.Diagnostics
	specimens := map[string]bool{}
	for _, r := range o.m.records {
		specimens[r.Specimen] = true
	}
	d.Drops, d.Specimens, d.Falls, d.Draws = len(o.m.records), len(specimens), len(o.m.designs), len(o.draws)
	for _, c := range o.LeftOut {
		d.Cells++
		if c.Inside {
			d.Covered++
		}
	}
}
