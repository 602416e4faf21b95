package arrest

import (
	"github.com/hardcatch/hardcatch/internal/message"
)

// Bounds beyond which a value is asked about: common practice, no source.
const (
	softTextile = 1e3 // N: softer than any textile that arrests a fall
	softRig     = 1e4 // N/m: softer than any anchor
	highFactor  = 2   // a fall can be no higher than twice what is out, on a straight line
)

// Implausible are doubts about the values of a case, before it is run.
func (c *Case) Implausible() []message.Sentence {
	var out []message.Sentence
	length := 0.0
	for i := range c.Chain {
		switch e := &c.Chain[i]; {
		case e.Textile != nil:
			t := e.Textile
			length += t.Length.SI()
			stiff := t.E1 + t.E2 + t.E3
			for _, b := range t.Maxwell {
				stiff += b.E
			}
			if stiff.SI() < softTextile {
				out = append(out, message.Say("%s: E1, E2, E3 and the branches together are %s: no textile is so soft; they are forces at a strain of 1, for example 120 kN", message.Names(c.Label(i)), stiff.Text(3)))
			}
		case e.Rig != nil && e.Rig.Stiffness.SI() < softRig:
			out = append(out, message.Say("%s: a stiffness of %s is that of no anchor; a tower has some 2 MN/m", message.Names(c.Label(i)), e.Rig.Stiffness.Text(3)))
		}
	}
	if length > 0 && c.Fall.SI() > highFactor*length*(1+1e-9) {
		out = append(out, message.Say("the fall factor is %.3g: on a straight line a fall is no higher than twice the length (fall factor 2)", c.Fall.SI()/length))
	}
	return out
}

// stretched are doubts about strains beyond the length itself.
func (c *Case) stretched(r *Result) []message.Sentence {
	var out []message.Sentence
	for i := range c.Chain {
		if t := c.Chain[i].Textile; t != nil && r.Elements[i].Elongation > t.Length {
			out = append(out, message.Say("%s: it is strained by %.0f %%: no textile here is described so far, and most part before", message.Names(c.Label(i)), 100*r.Elements[i].Elongation.SI()/t.Length.SI()))
		}
	}
	return out
}
