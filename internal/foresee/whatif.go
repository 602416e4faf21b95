package foresee

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/limits"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// WhatIf is one fall asked for by its main values. Zero values are filled with usual ones.
type WhatIf struct {
	Mass     quantity.Mass      `json:"mass_kg"`
	Fall     quantity.Length    `json:"fall_m"`
	Length   quantity.Length    `json:"length_m"`
	Material string             `json:"material"` // name of a starting set
	Knot     string             `json:"knot"`     // "" or one of WhatIfKnots
	Rig      quantity.Stiffness `json:"rig_stiffness_Npm"`
	Absorber bool               `json:"absorber"`
}

// WhatIfAnswer is what the model says of such a fall.
type WhatIfAnswer struct {
	Asked    WhatIf             `json:"asked"`
	Peak     quantity.Force     `json:"peak_N"`
	PeakTime quantity.Duration  `json:"peak_time_s"`
	Outcome  drop.Outcome       `json:"outcome"`
	Broke    string             `json:"broke"` // what parted, empty when nothing did
	Lowest   quantity.Length    `json:"lowest_m"`
	Factor   quantity.Ratio     `json:"fall_factor"`
	Rate     quantity.Frequency `json:"rate_Hz"`
	Start    quantity.Duration  `json:"start_s"` // of sample 0, after taut
	Force    look.Series        `json:"force_N"` // at the load cell
	Loads    arrest.Loads       `json:"loads"`   // by what they are held against
	Limits   []ModelVerdict     `json:"limits"`
	Warnings []message.Sentence `json:"warnings"`
	Cautions []string           `json:"cautions"`
}

// ModelVerdict is a limit held against the model's peak.
type ModelVerdict struct {
	Name    string         `json:"name"`
	Value   quantity.Force `json:"value_N"`
	Kind    limits.Kind    `json:"kind"`
	Force   quantity.Force `json:"force_N"` // that the limit is held against
	Edition string         `json:"edition"`
	Verdict limits.Verdict `json:"verdict"`
}

// modelDoubt is the share of the model's peak that a verdict allows for: starting values are no measurement. Common
// practice, no source.
const modelDoubt = 0.15

// WhatIfKnot is a knot with the strength it leaves.
type WhatIfKnot struct {
	Name string
	arrest.KnotEfficiency
}

// WhatIfKnots lists the knots of which starting values are known.
func WhatIfKnots() []WhatIfKnot {
	var out []WhatIfKnot
	for _, k := range arrest.KnotEfficiencies() {
		out = append(out, WhatIfKnot{strings.ReplaceAll(k.Knot+" "+k.Material, " ", "-"), k})
	}
	return out
}

// withDefaults fills in a usual fall.
func (q WhatIf) withDefaults() WhatIf {
	if q.Mass == 0 {
		q.Mass = 100
	}
	if q.Length == 0 {
		q.Length = 0.9
	}
	if q.Material == "" {
		q.Material = "polyester-webbing"
	}
	if q.Rig == 0 {
		q.Rig = arrest.StartingRig().Stiffness
	}
	return q
}

// AskModel computes the fall. It keeps no state and may be asked many times a second.
func AskModel(ctx context.Context, q WhatIf) (*WhatIfAnswer, error) {
	q = q.withDefaults()
	c, err := q.model()
	if err != nil {
		return nil, err
	}
	const rate, before = 2000, 0.02
	c.Until, c.AtLeast = quantity.Duration(max(0.4, turning(c))), true
	r, err := arrest.Run(ctx, c, arrest.Options{Tolerance: 1e-9, Sample: &arrest.Sampling{Rate: rate, Before: before}})
	if err != nil {
		return nil, fmt.Errorf("what if: %w", err)
	}
	out := &WhatIfAnswer{
		Asked: q, Peak: r.PeakForce, PeakTime: r.PeakTime, Outcome: r.Outcome, Lowest: r.Lowest, Factor: quantity.Ratio(q.Fall.SI() / q.Length.SI()),
		Rate: r.Samples.Rate, Start: r.Samples.Start, Force: look.Series(bare(r.Samples.Cell)), Loads: r.Loads(), Limits: []ModelVerdict{}, Warnings: slices.Clone(r.Warnings), Cautions: drop.Cautions(),
	}
	if r.Broke != nil {
		out.Broke = r.Broke.Element
	}
	for _, l := range limits.Current() {
		f := out.Loads.For(useOf(l.Kind))
		out.Limits = append(out.Limits, ModelVerdict{l.Name, l.Value, l.Kind, f, l.Edition, l.Judge(f, modelDoubt*f, r.Outcome == drop.Broke || !r.Certainty.Passed())})
	}
	out.Warnings = append(out.Warnings, message.Say("starting values of the material, no measurement: verdicts allow %g %% of the peak (common practice, no source)", 100*modelDoubt))
	return out, nil
}

// model builds the chain.
func (q WhatIf) model() (*arrest.Case, error) {
	switch {
	case !(q.Mass > 0 && q.Mass <= 1000):
		return nil, message.Say("mass: %s is outside 0 to 1000 kg; write for example 100 kg", q.Mass).Error()
	case !(q.Fall >= 0 && q.Fall <= 50):
		return nil, message.Say("fall height: %s is outside 0 to 50 m; write for example 0.9 m", q.Fall).Error()
	case !(q.Length > 0 && q.Length <= 100):
		return nil, message.Say("length: %s is outside 0 to 100 m; write for example 0.9 m", q.Length).Error()
	case !(q.Rig >= 1e4 && q.Rig <= 1e9):
		return nil, message.Say("rig stiffness: %s is outside 10 kN/m to 1 GN/m; write for example 2 MN/m", q.Rig).Error()
	}
	t, ok := arrest.StartingSet(q.Material)
	if !ok {
		return nil, message.Say("material: there are no starting values for %q; choose one of %s", message.Own(q.Material), strings.Join(arrest.StartingSetNames(), ", ")).Error()
	}
	t.Length = q.Length
	rig := arrest.StartingRig()
	rig.Stiffness = q.Rig
	c := &arrest.Case{Mass: q.Mass, Fall: q.Fall, Chain: []arrest.Element{{Kind: arrest.KindRig, Rig: &rig}, {Kind: arrest.KindTextile, Name: q.Material, Textile: &t}}}
	if q.Knot != "" {
		k, err := knotNamed(q.Knot)
		if err != nil {
			return nil, err
		}
		c.Chain = append(c.Chain, arrest.Element{Kind: arrest.KindKnot, Name: q.Knot, Knot: &k})
	}
	if q.Absorber {
		a := arrest.StartingAbsorber()
		c.Chain = append(c.Chain, arrest.Element{Kind: arrest.KindAbsorber, Absorber: &a})
	}
	return c, nil
}

func knotNamed(name string) (arrest.Knot, error) {
	for _, k := range WhatIfKnots() {
		if k.Name == name {
			out := arrest.StartingKnot()
			out.Efficiency = k.Efficiency
			return out, nil
		}
	}
	return arrest.Knot{}, message.Say("knot: %q is not known here; leave it out or choose one of the list", message.Own(name)).Error()
}
