package plan

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/arrest/ensemble"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

const (
	textileName = "specimen"
	knotName    = "knot"
	rigName     = "rig"
)

// Ensemble is the fall of a cell with the spread of its parameters. The warnings say which values are starting
// values.
func (p *Plan) Ensemble(c Cell) (*ensemble.Plan, []message.Sentence, error) {
	b, ok := p.Builds[c.Material]
	if !ok {
		return nil, nil, fmt.Errorf("specimens: nothing is said of material %q; give it a starting set or parameters", c.Material)
	}
	var warnings []message.Sentence
	rig, starting := p.rig()
	if starting {
		warnings = append(warnings, message.Say("rig: no stiffness is given; the starting value %s with a node of %s is used, and varied widely", rig.Stiffness.Text(2), rig.NodeMass.Text(2)))
	}
	t := b.Textile
	t.Length, t.Maxwell = c.Length, slices.Clone(t.Maxwell)
	if t.StartingSet != "" {
		warnings = append(warnings, message.Say("material %s: starting values of %s are used: no rating, and not the specimen's", message.Names(c.Material), t.StartingSet))
	}
	soften(&t, p.effects(c))
	chain := []arrest.Element{{Kind: arrest.KindRig, Name: rigName, Rig: &rig}, {Kind: arrest.KindTextile, Name: textileName, Textile: &t}}
	if IsTied(c.Knot) {
		k := arrest.StartingKnot()
		eta, from, err := p.efficiency(c.Material, c.Knot)
		if err != nil {
			return nil, nil, err
		}
		k.Efficiency = eta
		if from != nil {
			warnings = append(warnings, from)
		}
		warnings = append(warnings, message.Say("knot: how it slips and locks is a starting value"))
		chain = append(chain, arrest.Element{Kind: arrest.KindKnot, Name: knotName, Knot: &k})
	}
	g, _ := p.Rig.G()
	out := &ensemble.Plan{Case: arrest.Case{Mass: c.Mass, Fall: c.Fall, Gravity: g, Chain: chain}, Seed: p.Seed}
	out.Case.Until, out.Case.AtLeast = until(&out.Case), true
	p.spread(out, starting)
	return out, warnings, out.Case.Validate()
}

// rig is the anchor of the simulation, and whether its stiffness is a starting value.
func (p *Plan) rig() (arrest.Rig, bool) {
	r := arrest.Rig{Stiffness: p.Rig.Stiffness, NodeMass: p.Rig.NodeMass, DampingRatio: p.Rig.Damping}
	if r.Stiffness > 0 {
		if r.NodeMass == 0 {
			r.DampingRatio = 0 // a damping ratio is that of the node
		}
		return r, false
	}
	start := arrest.StartingRig()
	if f := p.Rig.Frequency.SI(); f > 0 && r.NodeMass > 0 {
		w := 2 * math.Pi * f
		r.Stiffness = quantity.Stiffness(w * w * r.NodeMass.SI())
		return r, false
	}
	return start, true
}

// effects is the product of what the cell's levels do.
func (p *Plan) effects(c Cell) Effect {
	e := Effect{Strength: 1, Stiffness: 1}
	for _, x := range p.Effects {
		if c.Levels[x.Factor] == x.Level {
			e.Strength *= x.Strength
			e.Stiffness *= x.Stiffness
		}
	}
	return e
}

func soften(t *arrest.Textile, e Effect) {
	k := quantity.Force(e.Stiffness)
	t.E1, t.E2, t.E3, t.FrictionStiffness = t.E1*k, t.E2*k, t.E3*k, t.FrictionStiffness*k
	for i := range t.Maxwell {
		t.Maxwell[i].E *= k
	}
	if e.Strength != 1 {
		t.Strength *= quantity.Force(e.Strength)
	}
}

// efficiency is the share of the strength that a knot leaves: as the plan says, else the mean of the starting
// values for knots of that name in a material of that name, with a warning.
func (p *Plan) efficiency(material, knot string) (quantity.Ratio, message.Sentence, error) {
	if e, ok := p.Builds[material].Knots[knot]; ok {
		return e, nil, nil
	}
	sum, n := quantity.Ratio(0), 0
	for _, k := range arrest.KnotEfficiencies() {
		if strings.EqualFold(k.Knot, knot) && strings.HasPrefix(strings.ToLower(k.Material), strings.ToLower(firstWord(material))) {
			sum += k.Efficiency
			n++
		}
	}
	if n == 0 {
		return 0, nil, fmt.Errorf("specimens: nothing is known of a knot %q in %s; write for example %s: {knots: {%s: 0.6}}, or call the level sewn where nothing is tied", knot, material, material, knot)
	}
	e := quantity.Ratio(math.Round(100*sum.SI()/float64(n)) / 100)
	return e, message.Say("material %s: knot %s is taken to leave %.0f %% of the strength, from published slow pulls with n = 2 each", message.Names(material), message.Names(knot), 100*e.SI()), nil
}

func firstWord(s string) string {
	if f := strings.Fields(s); len(f) > 0 {
		return f[0]
	}
	return s
}

// until is a time by which the mass has turned in most cases; a run goes on where it has not: three quarters of a period on the softest linear part, and some more
// for a slipping knot; the default of the simulation where there is no linear part.
func until(c *arrest.Case) quantity.Duration {
	compliance := 0.0
	slip := 0.0
	for _, e := range c.Chain {
		switch {
		case e.Rig != nil:
			compliance += 1 / e.Rig.Stiffness.SI()
		case e.Textile != nil:
			if e.Textile.E1 <= 0 {
				return 0
			}
			compliance += e.Textile.Length.SI() / e.Textile.E1.SI()
		case e.Knot != nil:
			slip = 0.05
		}
	}
	return quantity.Duration(math.Min(1.5, 1.5*math.Pi*math.Sqrt(c.Mass.SI()*compliance)+slip))
}

// spread adds the plan's spread to what the chain has. The elastic parts of a textile go together.
func (p *Plan) spread(out *ensemble.Plan, startingRig bool) {
	s := p.Spread
	known := ensemble.Parameters(&out.Case)
	add := func(name string, shape ensemble.Shape, width, lo, hi float64) bool {
		v := known[name].Get(&out.Case)
		if width <= 0 || v <= 0 {
			return false
		}
		out.Spreads = append(out.Spreads, ensemble.Spread{Parameter: name, Shape: shape, Width: width, Min: lo, Max: hi})
		return true
	}
	at := func(name string) float64 {
		if par, ok := known[name]; ok {
			return par.Get(&out.Case)
		}
		return 0
	}
	inf := math.Inf(1)
	first := ""
	for _, e := range []string{textileName + ".E1", textileName + ".E2", textileName + ".E3"} {
		if add(e, ensemble.LogNormal, s.Stiffness.SI()*at(e), -inf, inf) {
			if first != "" {
				out.Correlations = append(out.Correlations, ensemble.Correlation{Between: [2]string{first, e}, R: 1})
			} else {
				first = e
			}
		}
	}
	// Two parts that follow the first follow each other.
	if n := len(out.Correlations); n == 2 {
		out.Correlations = append(out.Correlations, ensemble.Correlation{Between: [2]string{out.Correlations[0].Between[1], out.Correlations[1].Between[1]}, R: 1})
	}
	add(textileName+".strength", ensemble.LogNormal, s.Strength.SI()*at(textileName+".strength"), -inf, inf)
	rigSpread := s.RigStiffness.SI()
	if startingRig {
		rigSpread = StartRigSpread
	}
	add(rigName+".stiffness", ensemble.LogNormal, rigSpread*at(rigName+".stiffness"), -inf, inf)
	add("mass", ensemble.Normal, s.Mass.SI()*at("mass"), 0.5*at("mass"), inf)
	add("fall", ensemble.Normal, s.Fall.SI(), 0, inf)
	if _, tied := known[knotName+".efficiency"]; tied {
		add(knotName+".efficiency", ensemble.Normal, s.Knot.SI(), 0.05, 1)
		add(knotName+".slip", ensemble.LogNormal, s.KnotSlip.SI()*at(knotName+".slip"), -inf, inf)
	}
}
