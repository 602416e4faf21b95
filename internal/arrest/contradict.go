package arrest

import "github.com/hardcatch/hardcatch/internal/message"

// Contradicted are doubts about starting values that a magnitude of the trade contradicts: common practice, no source, either way.
func Contradicted(material string, knot *Knot) []message.Sentence {
	var out []message.Sentence
	if material == "hmpe-blend-sling" {
		out = append(out, message.Say("the starting values of the HMPE sling give 23 kN at fall factor 1 on 0.6 m (80 kg, rig of 2 MN/m), where 16 to 17 kN on an unknown rig is common practice, no source: the two contradict, and real forces may be lower by a quarter"))
	}
	s := StartingKnot()
	if knot != nil && knot.F0 == s.F0 && knot.FL == s.FL && knot.Slip == s.Slip && orDefault(knot.Power, s.Power) == s.Power {
		out = append(out, message.Say("the starting values of a knot take 0.7 to 0.8 kN off the peak of a polyamide sling, where a few kN is common practice, no source: the two contradict (see docs/decisions/knot-starting-values.md), and real forces may be lower"))
	}
	return out
}

// contradicted are those of the case, each once.
func (c *Case) contradicted() []message.Sentence {
	material, knot := "", (*Knot)(nil)
	for i := range c.Chain {
		if t := c.Chain[i].Textile; t != nil && t.StartingSet == "hmpe-blend-sling" {
			material = t.StartingSet
		}
		if k := c.Chain[i].Knot; k != nil && len(Contradicted("", k)) > 0 {
			knot = k
		}
	}
	return Contradicted(material, knot)
}
