package view

import (
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

// Beside is what the other drops of a campaign, and arrests that were simulated, say of a drop's numbers: the joint judgement of all records first.
func Beside(now *look.Moment, id string) []message.Sentence {
	c := now.Entered
	r := c.Reduction[id]
	if r == nil {
		return nil
	}
	out := judgements(c)
	if s, near := ceiling(r, id, cutOffs(c)); near {
		out = append(out, s)
	}
	return append(out, r.Covers()...)
}

// nearCeiling is how near a peak before a break may come to where other records of its channel were cut off (common practice, no source).
const nearCeiling = 0.15

// cutOff is a drop that counts and whose record was at the end of its range.
type cutOff struct {
	drop string
	*reduce.Reduction
}

// cutOffs are those of a campaign.
func cutOffs(c *look.Entered) []cutOff {
	var out []cutOff
	for _, d := range c.Drops {
		if r := c.Reduction[d.ID]; r != nil && r.Clipped && c.Entry(d).Outcome != drop.Void {
			out = append(out, cutOff{d.ID, r})
		}
	}
	return out
}

// ceiling tells that a specimen let go near a force at which another record of the same channel was at the end of its range: after a break nothing
// in the record itself tells a soft end of the range from the specimen's own.
func ceiling(r *reduce.Reduction, id string, others []cutOff) (message.Sentence, bool) {
	if r.ArrestEnd != "break" || r.PeakHidden {
		return message.Sentence{}, false
	}
	for _, o := range others {
		if o.drop != id && o.Settings.Channel == r.Settings.Channel && nearTo(r, o.Reduction) {
			return message.Say("the specimen let go at %s, within 15 %% of %s, at which the record of drop %s was at the end of its range: the peak may be too low, and after a break nothing in the record can tell; take it as a lower bound", r.Peak.Text(3), o.Peak.Text(3), message.Own(o.drop)), true
		}
	}
	return message.Sentence{}, false
}

// nearTo tells that the peak of r lies near the level at which o was cut off.
func nearTo(r, o *reduce.Reduction) bool {
	level := o.Peak.SI()
	return r.Peak.SI() > (1-nearCeiling)*level && r.Peak.SI() < (1+nearCeiling)*level
}
