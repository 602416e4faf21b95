package arrest

import "fmt"

// warnings are the doubts that belong to a result.
func warnings(c *Case, r *Result) []string {
	list := []string{"the result is for a rigid mass on this rig; a person's load, posture and injury differ"}
	for i := range c.Chain {
		e := &c.Chain[i]
		switch {
		case e.Kind == KindBody:
			list[0] = "the body is two masses on a spring and damper; a person's load, posture and injury differ"
		case e.Kind == KindTextile && e.Textile.StartingSet != "":
			list = append(list, fmt.Sprintf("%s: the values are the starting set %s, not a rating or a measurement of this specimen", c.label(i), e.Textile.StartingSet))
		}
		if e.Kind == KindTextile && e.Textile.Friction > 0 && e.Textile.FrictionStiffness == 0 {
			list = append(list, fmt.Sprintf("%s: no friction_stiffness is given; five times E1 + E2 + E3 is used", c.label(i)))
		}
	}
	if r.Outcome == "broke" {
		list = append(list, fmt.Sprintf("%s parted: the peak is the strength that was put in, and a lower bound of the arrest force", r.Broke.Element))
	}
	if r.Outcome == "void" {
		list = append(list, "the mass reached the floor; nothing after that is computed")
	}
	return list
}
