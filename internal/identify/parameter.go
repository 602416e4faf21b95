package identify

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/num/lsq"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// part is which value of an element a parameter is.
type part int

const (
	partE1 part = iota
	partE2
	partE3
	partBranch
	partTau
	partFriction
	partFL
	partSlip
	partRig
)

// parameter is a value above zero that records may tell, fitted as its logarithm.
type parameter struct {
	part    part
	element string // textile or knot, "" for the rig
	textile string // the textile, or that in which the knot is tied
	prior   lsq.Normal
	stated  bool // the prior is what the rig's owner states, or what steel is known to be
}

var partNames = map[part]struct{ name, unit string }{
	partE1: {"E1", "N"}, partE2: {"E2", "N"}, partE3: {"E3", "N"}, partBranch: {"Maxwell branch", "N"}, partTau: {"relaxation time", "s"}, partFriction: {"friction", ""},
	partFL: {"FL", "N"}, partSlip: {"slip", "m"}, partRig: {"stiffness", "N/m"},
}

// Widths of the priors in the logarithm; common practice, no source.
const (
	wide      = 0.8  // of what a starting set states: a factor of five either way at 95 %
	unknown   = 1.5  // of what no starting set states
	rigGuess  = 1.15 // 0.2 to 20 MN/m about 2 MN/m
	rigStated = 0.5
	steelKnow = 0.1
)

// rigOf is the rig with what is stated of it.
type rigOf struct {
	Stiffness, NodeMass, DampingRatio float64
	Stated                            bool
}

// base is the textile of a design before parameters are put into it.
func base(set string) arrest.Textile {
	t, ok := arrest.StartingSet(set)
	if !ok {
		t, _ = arrest.StartingSet("polyamide-webbing") // E1 and E3, widely
		t.StartingSet = ""
	}
	t.Strength = 0
	return t
}

// parametersOf lists what the designs ask for.
func parametersOf(designs []*design, rig rigOf) []parameter {
	var out []parameter
	seen := map[string]bool{}
	textile := ""
	add := func(p part, element string, value, sd float64, stated bool) {
		out = append(out, parameter{p, element, textile, lsq.Normal{Mean: math.Log(value), SD: sd}, stated})
	}
	sd := rigGuess
	if rig.Stated {
		sd = rigStated
	}
	add(partRig, "", rig.Stiffness, sd, rig.Stated) // the first: given it, textiles do not tell of each other
	for _, d := range designs {
		textile = d.textile
		if !seen["textile "+d.textile] {
			seen["textile "+d.textile] = true
			t := base(d.set)
			sd := wide
			if t.StartingSet == "" {
				sd = unknown
			}
			if d.steel {
				add(partE1, d.textile, t.E1.SI(), steelKnow, true)
				add(partFriction, d.textile, max(t.Friction.SI(), 0.01), wide, false)
			} else {
				add(partE1, d.textile, t.E1.SI(), sd, false)
				if t.E2 > 0 {
					add(partE2, d.textile, t.E2.SI(), sd, false)
				}
				if t.E3 > 0 {
					add(partE3, d.textile, t.E3.SI(), sd, false)
				}
				for _, b := range t.Maxwell {
					add(partBranch, d.textile, b.E.SI(), sd, false)
					add(partTau, d.textile, b.Tau.SI(), sd, false)
				}
				add(partFriction, d.textile, max(t.Friction.SI(), 0.02), sd, false)
			}
		}
		if d.knot != "" && !seen["knot "+d.knot+" "+d.textile] {
			seen["knot "+d.knot+" "+d.textile] = true
			k := arrest.StartingKnot()
			add(partFL, d.knotName(), k.FL.SI(), wide, false)
			add(partSlip, d.knotName(), k.Slip.SI(), wide, false)
		}
	}
	return out
}

// knotName tells knots of one kind in different textiles apart.
func (d *design) knotName() string { return knotIn(d.knot, d.textile) }

func knotIn(knot, textile string) string { return fmt.Sprintf("%s in %s", knot, textile) }

// concerns tells whether a parameter is in the chain of a design.
func (p *parameter) concerns(d *design) bool {
	switch p.part {
	case partRig:
		return true
	case partFL, partSlip:
		return d.knot != "" && p.element == d.knotName()
	}
	return p.element == d.textile
}

// scale is what is put on top of the parameters: logarithms of factors on a specimen's stiffness, on its knot's slip, and on the speed.
type scale struct{ textile, slip, speed float64 }

// chain is the case of a fall with the parameters x.
func chain(d *design, params []parameter, x []float64, rig rigOf, s scale) arrest.Case {
	t := base(d.set)
	if d.steel {
		t.Maxwell = nil
	}
	t.Length = quantity.Length(d.length)
	k := arrest.StartingKnot()
	r := arrest.Rig{NodeMass: quantity.Mass(rig.NodeMass), DampingRatio: quantity.Ratio(rig.DampingRatio)}
	for j := range params {
		p := &params[j]
		if !p.concerns(d) {
			continue
		}
		v := x[j]
		switch p.part {
		case partE1:
			t.E1 = quantity.Force(v)
		case partE2:
			t.E2 = quantity.Force(v)
		case partE3:
			t.E3 = quantity.Force(v)
		case partBranch:
			t.Maxwell[0].E = quantity.Force(v)
		case partTau:
			t.Maxwell[0].Tau = quantity.Duration(v)
		case partFriction:
			t.Friction = quantity.Ratio(v)
		case partFL:
			k.FL = quantity.Force(v)
		case partSlip:
			k.Slip = quantity.Length(v)
		case partRig:
			r.Stiffness = quantity.Stiffness(v)
		}
	}
	f := quantity.Force(math.Exp(s.textile))
	t.E1, t.E2, t.E3 = t.E1*f, t.E2*f, t.E3*f
	if len(t.Maxwell) > 0 {
		t.Maxwell[0].E *= f
	}
	t.FrictionStiffness *= f
	k.Slip *= quantity.Length(math.Exp(s.slip))
	k.F0 = min(k.F0, k.FL)
	c := arrest.Case{
		Mass: quantity.Mass(d.mass), Fall: quantity.Length(d.fall * math.Exp(2*s.speed)), Gravity: quantity.Acceleration(d.gravity), Unbroken: true,
		Chain: []arrest.Element{{Kind: arrest.KindRig, Rig: &r}, {Kind: arrest.KindTextile, Textile: &t}},
	}
	if d.knot != "" {
		c.Chain = append(c.Chain, arrest.Element{Kind: arrest.KindKnot, Knot: &k})
	}
	return c
}
