package foresee

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/identify"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/plan"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/store"
)

// PredictQuestion is a drop that was not made. What is zero is the campaign's most common.
type PredictQuestion struct {
	Length   quantity.Length `json:"length_m"`
	Fall     quantity.Length `json:"fall_m"`
	Mass     quantity.Mass   `json:"mass_kg"`
	Knot     string          `json:"knot"`     // as the drop list names it; "" = nothing tied
	Material string          `json:"material"` // words of the material, or the name of a starting set
	Seed     uint64          `json:"seed"`
}

// The models that a prediction may stand on.
const (
	OwnModel      = "campaign"
	StartingModel = "starting values"
)

// Predicted is the answer. The JSON names are stable: names are added, never changed.
type Predicted struct {
	Campaign string             `json:"campaign"`
	Invented bool               `json:"invented"`
	Asked    PredictQuestion    `json:"asked"`
	Textile  string             `json:"textile"`
	Peak     quantity.Force     `json:"peak_N"` // the reading through the filter, if nothing parts
	Lo       quantity.Force     `json:"peak_lo_N"`
	Hi       quantity.Force     `json:"peak_hi_N"`
	Chain    quantity.Force     `json:"peak_chain_N"` // the force in the chain
	Outcome  string             `json:"outcome"`      // "held", "broke" or "cannot be told"
	Break    BreakProbability   `json:"break_probability"`
	Beyond   []message.Sentence `json:"extrapolates"`
	Model    string             `json:"model"` // "campaign" or "starting values"
	Says     message.Sentence   `json:"model_says"`
	Warnings []message.Sentence `json:"warnings"`
	Cautions []string           `json:"cautions"`
}

// BreakProbability is that of the drop, with 95 %. P is null where the strengths of this kind of specimen cannot be fitted.
type BreakProbability struct {
	P     *float64         `json:"p"`
	Lo    float64          `json:"lo"`
	Hi    float64          `json:"hi"`
	Broke int              `json:"broke"`
	N     int              `json:"n"`
	Rests message.Sentence `json:"rests_on"`
}

// Predict answers from the campaign's own model, or from starting values where there is no other.
func Predict(ctx context.Context, a *look.Access, path string, q PredictQuestion) (out *Predicted, err error) {
	err = a.View(ctx, path, func(c *look.Entered, s store.Reader) error {
		own, err := identifyEntered(ctx, a, c, s, OwnQuestion{Seed: q.Seed, Quick: true})
		if err != nil && ctx.Err() != nil {
			return err
		}
		if own == nil || err != nil {
			own = &Own{Model: &identify.Model{}, entered: c, names: textileNames(c), factors: varying(c)}
			own.Warnings = append(own.Warnings, message.Say("this campaign has no model of its own: %s", message.Why(err)))
		}
		out, err = own.predict(ctx, q)
		return err
	})
	return out, err
}

// complete fills in what is not asked for, and finds the textile that is meant.
func (o *Own) complete(q PredictQuestion) (_ PredictQuestion, textile, set string) {
	var of []drop.Drop
	for _, d := range o.entered.Drops {
		if d.Role != drop.Check && (q.Material == "" || o.isOf(q.Material, d.Specimen)) {
			of = append(of, d)
		}
	}
	textile, _ = mostCommon(of, func(d drop.Drop) (string, bool) { return o.names[d.Specimen.ID], true })
	of = slices.DeleteFunc(of, func(d drop.Drop) bool { return o.names[d.Specimen.ID] != textile })
	if len(of) > 0 {
		set = setOf(of[0].Specimen)
	}
	if q.Length == 0 {
		q.Length, _ = mostCommon(of, func(d drop.Drop) (quantity.Length, bool) { return d.Specimen.Length, d.Specimen.Length > 0 })
	}
	if q.Mass == 0 {
		if q.Mass = o.entered.Rig.Mass; q.Mass == 0 {
			q.Mass = 100
		}
	}
	if !plan.IsTied(q.Knot) {
		q.Knot = ""
	}
	q.Knot = strings.ToLower(strings.TrimSpace(q.Knot))
	return q, textile, set
}

// isOf tells whether a specimen is of a material: of the starting set of that name, or of a textile that has all its words.
func (o *Own) isOf(material string, s drop.Specimen) bool {
	if setOf(s) == material {
		return true
	}
	name := strings.ToLower(o.names[s.ID])
	for w := range strings.FieldsSeq(strings.ToLower(strings.ReplaceAll(material, ",", " "))) {
		if !strings.Contains(name, w) {
			return false
		}
	}
	return true
}

func (o *Own) predict(ctx context.Context, q PredictQuestion) (*Predicted, error) {
	q, textile, set := o.complete(q)
	if q.Length <= 0 || q.Fall < 0 || q.Mass <= 0 {
		return nil, message.Say("a prediction needs a length, a fall height that is not negative, and a mass").Error()
	}
	c := o.entered
	out := &Predicted{
		Campaign: c.Info.Name, Invented: c.Info.Invented, Asked: q, Textile: textile, Beyond: []message.Sentence{}, Model: OwnModel, Warnings: slices.Clone(o.Warnings), Cautions: drop.Cautions(),
	}
	g, _ := c.Rig.G()
	f := identify.Fall{
		Mass: q.Mass.SI(), Fall: q.Fall.SI(), Length: q.Length.SI(), Gravity: g.SI(), Textile: textile, Set: set, Knot: q.Knot, FallU: c.Rig.FallU.SI(), GainU: o.forceU(),
	}
	p, err := o.Model.Predict(ctx, f, max(q.Seed, 1))
	if errors.Is(err, identify.ErrNotOfThisModel) {
		return o.fromStarting(ctx, out, set)
	}
	if err != nil {
		return nil, err
	}
	out.Says = o.Says()
	out.Peak, out.Lo, out.Hi, out.Beyond = quantity.Force(p.Peak), quantity.Force(p.Lo), quantity.Force(p.Hi), p.Extrapolates
	out.Chain = quantity.Force(p.Chain[len(p.Chain)/2])
	if len(out.Beyond) > 0 {
		out.Warnings = append(out.Warnings, message.Say("this is an extrapolation: no drop of this campaign shows how the model does there, and the band does not allow for that"))
	}
	out.Break = o.breaks(textile, q.Knot, p.Chain)
	out.Outcome = out.Break.outcome()
	return out, nil
}

// fromStarting predicts by starting values, which are no measurement.
func (o *Own) fromStarting(ctx context.Context, out *Predicted, set string) (*Predicted, error) {
	q := out.Asked
	w := WhatIf{Mass: q.Mass, Fall: q.Fall, Length: q.Length, Material: set, Rig: rigStiffness(o.entered.Rig)}
	if set == "" {
		w.Material = q.Material
	}
	if q.Knot != "" {
		for _, k := range WhatIfKnots() {
			if k.Name == q.Knot || w.Knot == "" && strings.HasPrefix(k.Name, strings.ReplaceAll(q.Knot, " ", "-")) {
				w.Knot = k.Name
			}
		}
		if w.Knot == "" {
			w.Knot = q.Knot
		}
	}
	m, err := AskModel(ctx, w)
	if err != nil {
		return nil, err
	}
	out.Model, out.Says, out.Textile = StartingModel, message.Say("starting values"), w.Material
	f := m.Loads.Filtered.SI()
	out.Peak, out.Lo, out.Hi, out.Chain = quantity.Force(f), quantity.Force(f*(1-modelDoubt)), quantity.Force(f*(1+modelDoubt)), m.Loads.Chain
	out.Beyond = append(out.Beyond, message.Say("no specimen of this material was dropped"))
	out.Break = BreakProbability{Lo: 0, Hi: 1, Rests: message.Say("no strength of this kind of specimen was measured")}
	out.Outcome = out.Break.outcome()
	out.Warnings = append(out.Warnings, m.Warnings...)
	return out, nil
}

// outcome is what is more likely than not, if that can be told.
func (b BreakProbability) outcome() string {
	switch {
	case b.P != nil && *b.P > 0.5, b.Lo > 0.5:
		return string(drop.Broke)
	case b.P != nil, b.Hi < 0.5:
		return string(drop.Held)
	}
	return "cannot be told"
}

// breaks is the probability that the force in the chain, drawn, passes the strength of a specimen of the kind.
func (o *Own) breaks(textile, knot string, chain []float64) BreakProbability {
	var entries []compare.Entry
	for _, e := range compare.MarkAgain(o.entered.Entries()) {
		own := strings.ToLower(strings.TrimSpace(e.Drop.Specimen.Knot))
		if !plan.IsTied(own) {
			own = ""
		}
		if e.Drop.Role != drop.Check && !e.Planned && o.names[e.Drop.Specimen.ID] == textile && own == knot {
			entries = append(entries, e)
		}
	}
	out := BreakProbability{Hi: 1}
	var values []censor.Value
	above := 0 // held where the drop asks for no more
	top := chain[min(len(chain)-1, len(chain)*39/40)]
	for _, e := range entries {
		r := e.Row()
		if r.Again || r.Peak == nil || r.Outcome != drop.Broke && r.Outcome != drop.Held {
			continue
		}
		out.N++
		v := censor.AtLeast(r.Peak.SI())
		if r.Outcome == drop.Broke {
			out.Broke++
			if !r.CutOff {
				v = censor.Exact(r.Peak.SI())
			}
		} else if r.Peak.SI() >= top {
			above++
		}
		values = append(values, v)
	}
	m, err := censor.Fit(values, censor.Weibull)
	if err != nil || out.Broke == 0 {
		if above > 0 && out.Broke == 0 {
			// None of so many that held at least as much: the exact upper limit.
			out.Hi = 1 - math.Pow(0.025, 1/float64(above))
		}
		out.Rests = message.Say("%d of %d drops of this kind of specimen broke, %d held at least as much: no strength can be fitted", out.Broke, out.N, above)
		return out
	}
	const points = 24
	p, lo, hi := 0.0, 0.0, 0.0
	for k := range points {
		x := chain[(2*k+1)*len(chain)/(2*points)]
		p += (1 - m.Survival(x)) / points
		s, err := m.SurvivalInterval(x, 0.95)
		switch {
		case err != nil:
			hi += 1.0 / points
			continue
		case s.OpenLo:
			s.Lo = 0
		case s.OpenHi:
			s.Hi = 1
		}
		lo, hi = lo+(1-s.Hi)/points, hi+(1-s.Lo)/points
	}
	p = min(max(p, 0), 1)
	out.P, out.Lo, out.Hi = &p, max(min(lo, p), 0), min(max(hi, p), 1)
	out.Rests = message.Say("strengths of this kind of specimen: %d of %d drops broke, Weibull distribution", out.Broke, out.N)
	return out
}
