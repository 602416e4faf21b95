package arrest

import (
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
)

// rigShare is the part of the chain's elongation above which the rig is said to rule the peak.
const rigShare = 0.2

// warnings are the doubts that belong to a result.
func warnings(c *Case, r *Result) []message.Sentence {
	list := []message.Sentence{message.Say("the result is for a rigid mass on this rig; a person's load, posture and injury differ")}
	stretch, textiles, exposed := 0.0, 0, false
	for i := range c.Chain {
		e := &c.Chain[i]
		if e.Kind == KindBody {
			list[0] = message.Say("the body is two masses on a spring and damper; a person's load, posture and injury differ")
		}
		if e.Edge != nil {
			list = append(list, e.Edge.Doubts(c.Label(i), r.Elements[i].Peak)...)
		}
		if e.Kind != KindTextile {
			continue
		}
		textiles++
		stretch += r.Elements[i].Elongation.SI()
		if e.Textile.StartingSet != "" {
			list = append(list, message.Say("%s: the values are the starting set %s, not a rating or a measurement of this specimen", message.Names(c.Label(i)), e.Textile.StartingSet))
		}
		exposed = exposed || len(e.Textile.Condition) > 0
		list = append(list, e.Textile.Exposed(c.Label(i))...)
		if e.Textile.Friction > 0 && e.Textile.FrictionStiffness == 0 {
			list = append(list, message.Say("%s: no friction_stiffness is given; five times E1 + E2 + E3 is used", message.Names(c.Label(i))))
		}
	}
	if textiles > 0 && !exposed {
		list = append(list, message.Say("the values stand for new dry specimens unless they were measured otherwise; wet, sunlight, age, edges, knots, hitches and earlier drops change them"))
	}
	if g := c.Chain[0].Rig; g != nil && textiles > 0 {
		if d := r.PeakForce.SI() / g.Stiffness.SI(); d > rigShare*(d+stretch) {
			list = append(list, message.Say("the rig takes %.0f %% of the elongation at the peak: the peak belongs to this rig and this length as much as to the textile", 100*d/(d+stretch)))
		}
	}
	switch r.Outcome {
	case drop.Broke:
		list = append(list, message.Say("%s parted: the peak is the strength that was put in, and a lower bound of the arrest force", message.Names(r.Broke.Element)))
	case drop.Void:
		list = append(list, message.Say("the mass reached the floor; nothing after that is computed"))
	}
	list = append(list, c.contradicted()...)
	list = append(append(list, c.damaged()...), r.Implausible...)
	if r.Certainty == RunTooShort {
		list = append(list, message.Say("the run ended while the force could still rise: the peak is a lower bound; give a later until, or leave it out"))
	}
	return append(list, message.Say("this is no certification test; keep people out of the recoil path and from under the mass, and retire every dropped specimen"))
}
