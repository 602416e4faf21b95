package doctor

import (
	"slices"
	"strconv"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

func trimmed(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// oneSpecimen finds specimens that stand in several drops of which the later ones say nothing of the earlier, and specimens that are two things.
func oneSpecimen(c Campaign) []Finding {
	var out []Finding
	first := map[string]Drop{}
	unsaid, unlike := map[string][]string{}, map[string][]string{}
	var order []string
	for _, d := range c.Drops {
		id := d.Specimen.ID
		if !d.taken() || d.Role == drop.Check || id == "" {
			continue
		}
		f, known := first[id]
		if !known {
			first[id] = d
			order = append(order, id)
			continue
		}
		if d.Prior == 0 && f.Prior == 0 {
			unsaid[id] = append(unsaid[id], d.ID)
		}
		if a, b := f.Specimen, d.Specimen; a.Material != b.Material || a.Construction != b.Construction || a.Length != b.Length {
			unlike[id] = append(unlike[id], d.ID)
		}
	}
	for _, id := range order {
		if ids := unsaid[id]; len(ids) > 0 {
			all := append([]string{first[id].ID}, ids...)
			out = append(out, Finding{
				Key: key("one-specimen", id), Rule: "one-specimen", Drops: all, Effect: Marks,
				Says:   message.Say("specimen %s is in %d drops (%s), and none of them says that it had been dropped before", message.Own(id), len(all), names(all)),
				Wrong:  message.Say("only the first drop counts as a specimen; if they are several specimens, too few are counted"),
				WayOut: message.Say("give each specimen its own name, or fill the column prior, and enter the list again"),
			})
		}
		if ids := unlike[id]; len(ids) > 0 {
			all := append([]string{first[id].ID}, ids...)
			out = append(out, Finding{
				Key: key("two-of-a-name", id), Rule: "two-of-a-name", Drops: all, Effect: Marks,
				Says:   message.Say("specimen %s is not the same thing in all its drops (%s): material, construction or length differ", message.Own(id), names(all)),
				Wrong:  message.Say("two specimens count as one, or a drop stands in the wrong cell"),
				WayOut: message.Say("correct the list and enter it again"),
			})
		}
	}
	return out
}

// otherMass finds drops that were reduced with another mass or fall than is entered now.
func otherMass(c Campaign) []Finding {
	var ids []string
	for _, d := range c.Drops {
		r := d.Reduction
		if r == nil || !d.taken() {
			continue
		}
		mass := d.Mass
		if mass == 0 && c.Rig != nil {
			mass = c.Rig.Mass
		}
		if mass != r.Settings.Mass || d.Fall != r.Settings.Fall {
			ids = append(ids, d.ID)
		}
	}
	if len(ids) == 0 {
		return nil
	}
	return []Finding{{
		Key: key("reduced-otherwise", ids...), Rule: "reduced-otherwise", Drops: ids, Effect: Marks,
		Says:   message.Say("%d drops (%s) were reduced with another mass or fall than is entered now", len(ids), names(ids)),
		Wrong:  message.Say("impulse, energy, elongation and the audit are those of the earlier entry"),
		WayOut: message.Say("make the reductions again with: hardcatch redo FILE"),
	}}
}

// Bounds of what is meant by somebody who drops a mass on textile; common practice, no source.
const (
	mostFactor   = 2    // a fall cannot be longer than twice what catches it, unless the specimen slides on something
	mostFall     = 30   // m; towers are lower, and a bare number is metres
	leastMass    = 5    // kg
	mostMass     = 1000 // kg
	leastCell    = 2e3  // N of capacity
	leastRig     = 1e5  // N/m: an anchor that gives 10 cm under 10 kN is no anchor
	mostFallU    = 0.2  // m
	leastRigRing = 20   // Hz
)

// falls finds falls, lengths and masses that nobody means.
func falls(c Campaign) []Finding {
	var out []Finding
	say := func(d Drop, rule string, says message.Sentence) {
		out = append(out, Finding{
			Key: key(rule, d.ID), Rule: rule, Drops: []string{d.ID}, Effect: Marks, Says: says,
			Wrong:  message.Say("impact speed, energy and the cell of the drop are computed from it"),
			WayOut: message.Say("correct the list and enter it again, or say with hardcatch settle that it is meant"),
		})
	}
	for _, d := range c.Drops {
		if d.Outcome == drop.Void {
			continue
		}
		if ff := d.FallFactor().SI(); ff > mostFactor {
			say(d, "fall-factor", message.Say("drop %s: a fall of %s on %s is fall factor %.3g, above %d", message.Own(d.ID), d.Fall, d.Specimen.Length, ff, mostFactor))
		}
		if d.Fall > mostFall {
			say(d, "long-fall", message.Say("drop %s: a fall of %s is longer than a tower; a bare number is metres", message.Own(d.ID), d.Fall))
		}
		if d.Slack > 0 && d.Specimen.Length > 0 && d.Slack > d.Fall+d.Specimen.Length {
			say(d, "long-slack", message.Say("drop %s: a slack of %s is longer than fall and specimen together (%s)", message.Own(d.ID), d.Slack, d.Fall+d.Specimen.Length))
		}
		if d.Mass > 0 && (d.Mass < leastMass || d.Mass > mostMass) {
			say(d, "odd-mass", message.Say("drop %s: a mass of %s is rarely dropped; a bare number is kilograms", message.Own(d.ID), d.Mass))
		}
	}
	return out
}

// rig finds values of the rig that nobody means.
func rig(c Campaign) []Finding {
	if c.Rig == nil {
		return nil
	}
	var out []Finding
	r := *c.Rig
	say := func(of string, says, wrong message.Sentence) {
		out = append(out, Finding{
			Key: key("odd-rig", of), Rule: "odd-rig", Effect: Marks, Says: says, Wrong: wrong,
			WayOut: message.Say("correct the rig file, enter it with hardcatch rig, and make the reductions again with hardcatch redo"),
		})
	}
	peaks := message.Say("every peak, its uncertainty and what the rig adds to it")
	if cap := r.LoadCell.Capacity; cap > 0 && cap < leastCell {
		say("capacity", message.Say("the load cell's capacity of %s would not bear a drop; a bare number is newtons", cap), message.Say("every record looks beyond the load cell's range"))
	}
	if k := r.Stiffness; k > 0 && k < leastRig {
		say("stiffness", message.Say("a rig stiffness of %s is softer than the textile; a bare number is newtons per metre", k), peaks)
	}
	if m := r.NodeMass; m > 0 && m > r.Mass/2 {
		say("node_mass", message.Say("the mass under the load cell (%s) is more than half of what is dropped (%s)", m, r.Mass), peaks)
	}
	if f := r.NodeFrequency(); f > 0 && f < leastRigRing {
		say("frequency", message.Say("a rig that rings at %s would be slower than the arrest", f), peaks)
	}
	if r.Mass < leastMass || r.Mass > mostMass {
		say("mass", message.Say("a mass of %s is rarely dropped; a bare number is kilograms", r.Mass), message.Say("impulse, energy, elongation and the audit"))
	}
	if r.FallU > mostFallU {
		say("fall_u", message.Say("a fall known to %s only is hardly measured; a bare number is metres", r.FallU), message.Say("speed and energy, which then tell little"))
	}
	return append(out, beyondCell(c)...)
}

// beyondCell finds peaks above the load cell's capacity.
func beyondCell(c Campaign) []Finding {
	limit := c.Rig.LoadCell.Capacity
	var ids []string
	var most quantity.Force
	for _, d := range c.Drops {
		if r := d.Reduction; r != nil && d.taken() && limit >= leastCell && r.Peak > limit {
			ids, most = append(ids, d.ID), max(most, r.Peak)
		}
	}
	if len(ids) == 0 {
		return nil
	}
	return []Finding{{
		Key: key("beyond-cell", ids...), Rule: "beyond-cell", Drops: ids, Effect: Marks,
		Says:   message.Say("%d drops (%s) reach up to %s, beyond the load cell's capacity of %s", len(ids), names(ids), most, limit),
		Wrong:  message.Say("peaks beyond the calibrated range, and all later ones if the load cell was overloaded"),
		WayOut: message.Say("look whether capacity and calibration are entered as they are; have the load cell checked before the next drop"),
	}}
}

// certificate finds a calibration that does not hold on the day of a drop, or is of a day to come.
func certificate(c Campaign) []Finding {
	if c.Rig == nil {
		return nil
	}
	var out []Finding
	cal := c.Rig.LoadCell.Calibration
	wrong := message.Say("the force scale of these drops rests on a certificate that does not speak of their day")
	if after(cal.Date, c.RigDay) {
		out = append(out, Finding{
			Key: key("certificate", "future"), Rule: "certificate", Effect: Marks,
			Says: message.Say("the calibration is dated %s, after the day on which it was entered (%s)", message.Own(cal.Date), message.Own(c.RigDay)), Wrong: wrong, WayOut: message.Say("correct the date in the rig file and enter it again"),
		})
	}
	var over, early []string
	for _, d := range c.Drops {
		if d.Taken == "" || !d.taken() {
			continue
		}
		on, err := cal.StandingOn(d.Taken)
		switch {
		case err != nil: // a date that cannot be read is refused where the rig is entered
		case on.Over():
			over = append(over, d.ID)
		case on.Early:
			early = append(early, d.ID)
		}
	}
	way := message.Say("enter the rig with the certificate that held then, and make the reductions again with hardcatch redo; or show by check drops that the load cell has not changed, and say so with hardcatch settle")
	if len(over) > 0 {
		out = append(out, Finding{
			Key: key("certificate", "over", cal.Expires), Rule: "certificate", Drops: over, Effect: Marks,
			Says: message.Say("%d drops (%s) were taken after the certificate had ended on %s", len(over), names(over), message.Own(cal.Expires)), Wrong: wrong, WayOut: way,
		})
	}
	if len(early) > 0 {
		out = append(out, Finding{
			Key: key("certificate", "early", cal.Date), Rule: "certificate", Drops: early, Effect: Marks,
			Says: message.Say("%d drops (%s) were taken before the day of the certificate, %s", len(early), names(early), message.Own(cal.Date)), Wrong: wrong, WayOut: way,
		})
	}
	return out
}

// days finds drops of a day to come, drops whose audit disagrees and that stand, and drops without a reduction.
func days(c Campaign) []Finding {
	var out []Finding
	var future, against, bare []string
	for _, d := range c.Drops {
		if !d.taken() {
			continue
		}
		if after(d.Taken, d.Day) {
			future = append(future, d.ID)
		}
		if d.Reduction == nil {
			bare = append(bare, d.ID)
		} else if d.Reduction.AuditVerdict == reduce.Disagrees {
			against = append(against, d.ID)
		}
	}
	if len(future) > 0 {
		out = append(out, Finding{
			Key: key("future", future...), Rule: "future", Drops: future, Effect: Marks,
			Says:  message.Say("%d drops (%s) are dated after the day on which they were entered", len(future), names(future)),
			Wrong: message.Say("order, certificate and day effects are judged by the date"), WayOut: message.Say("correct the column taken and enter the list again"),
		})
	}
	for _, id := range against {
		out = append(out, Finding{
			Key: key("audit", id), Rule: "audit", Drops: []string{id}, Effect: Marks,
			Says:   message.Say("drop %s counts although its audit disagrees", message.Own(id)),
			Wrong:  message.Say("its force, or what was entered of mass and fall, contradicts the motion of the mass"),
			WayOut: message.Say("look at the drop; correct what was entered, void it with a reason, or say with hardcatch settle why it stands"),
		})
	}
	if len(bare) > 0 {
		out = append(out, Finding{
			Key: key("no-reduction", bare...), Rule: "no-reduction", Drops: bare, Effect: Marks,
			Says:  message.Say("%d drops (%s) have no reduction: their records are missing or could not be read", len(bare), names(bare)),
			Wrong: message.Say("they count as held or broken but not with their force"), WayOut: message.Say("enter their records again, or void them with a reason"),
		})
	}
	return out
}

// beforeAsked finds drops that were taken on a day before the plan or a question was entered. Drops that are invented have no day.
func beforeAsked(c Campaign) []Finding {
	var out []Finding
	earlier := func(day string) (ids []string) {
		for _, d := range c.Drops {
			if d.taken() && d.Taken != "" && d.Taken < day && !d.Invented() {
				ids = append(ids, d.ID)
			}
		}
		return ids
	}
	if ids := earlier(c.Planned); c.Planned != "" && len(ids) > 0 {
		out = append(out, Finding{
			Key: key("before-plan", c.Planned), Rule: "before-plan", Drops: ids, Effect: Marks,
			Says:  message.Say("%d drops (%s) are dated before the plan was entered, on %s", len(ids), names(ids), message.Own(c.Planned)),
			Wrong: message.Say("a plan made after its drops plans nothing: order and number may have been chosen by what was seen"), WayOut: message.Say("say with hardcatch settle when the plan was made, and where that is written"),
		})
	}
	for _, q := range c.Asked {
		if ids := earlier(q.Day); q.Day != "" && len(ids) > 0 {
			out = append(out, Finding{
				Key: key("before-question", q.ID), Rule: "before-question", Drops: ids, Effect: Marks,
				Says:  message.Say("%d drops (%s) are dated before question %s was entered, on %s", len(ids), names(ids), message.Own(q.ID), message.Own(q.Day)),
				Wrong: message.Say("a question asked after its drops may have been chosen by what was seen: its answer is exploratory"), WayOut: message.Say("say with hardcatch settle when it was asked, and where that is written; or confirm it with new drops"),
			})
		}
	}
	return out
}

// oneDay finds factors whose levels were never dropped on the same day, so that their effect cannot be told from the day's.
func oneDay(c Campaign) []Finding {
	on := map[string]map[string]map[string]bool{} // levels by factor and day
	days := map[string]bool{}
	for _, d := range c.Drops {
		if !d.taken() || d.Role == drop.Check || d.Taken == "" {
			continue
		}
		days[d.Taken] = true
		for factor, level := range wordLevels(d.Drop) {
			add2(on, factor, d.Taken, level)
		}
	}
	if len(days) < 2 {
		return nil
	}
	var out []Finding
	for _, factor := range drop.Factors(factorsOf(on)) {
		levels, apart := map[string]bool{}, true
		for _, l := range on[factor] {
			apart = apart && len(l) == 1
			for name := range l {
				levels[name] = true
			}
		}
		if !apart || len(levels) < 2 {
			continue
		}
		out = append(out, Finding{
			Key: key("factor-with-day", factor), Rule: "factor-with-day", Effect: Marks,
			Says:   message.Say("no day has drops of two levels of %s: it changed with the day", message.Names(factor)),
			Wrong:  message.Say("what its levels differ by cannot be told from what the days differ by"),
			WayOut: message.Say("drop each level on each day from now on (hardcatch plan does so), or say with hardcatch settle what held the days alike, such as check drops"),
		})
	}
	return out
}

func add2(to map[string]map[string]map[string]bool, a, b, c string) {
	if to[a] == nil {
		to[a] = map[string]map[string]bool{}
	}
	if to[a][b] == nil {
		to[a][b] = map[string]bool{}
	}
	to[a][b][c] = true
}

func factorsOf(on map[string]map[string]map[string]bool) map[string]string {
	out := map[string]string{}
	for f := range on {
		out[f] = f
	}
	return out
}

// checkDrops finds days without a check drop in a campaign that has some.
func checkDrops(c Campaign) []Finding {
	with, all := map[string]bool{}, map[string][]string{}
	checks := 0
	var order []string
	for _, d := range c.Drops {
		if !d.taken() || d.Taken == "" {
			continue
		}
		if d.Role == drop.Check {
			checks++
			with[d.Taken] = true
			continue
		}
		if len(all[d.Taken]) == 0 {
			order = append(order, d.Taken)
		}
		all[d.Taken] = append(all[d.Taken], d.ID)
	}
	slices.Sort(order)
	wrong := message.Say("whether rig and load cell were on these drops what they were on others cannot be shown")
	if checks == 0 {
		if len(order) < 2 {
			return nil
		}
		return []Finding{{
			Key: key("no-check-drops"), Rule: "no-check-drops", Effect: Marks, Says: message.Say("drops were taken on %d days, and none of them is a check drop", len(order)), Wrong: wrong,
			WayOut: message.Say("begin and end each day with a drop on a steel link or another specimen that does not change, in the role check"),
		}}
	}
	var out []Finding
	for _, day := range order {
		if !with[day] {
			out = append(out, Finding{
				Key: key("day-without-check", day), Rule: "day-without-check", Drops: all[day], Effect: Marks,
				Says: message.Say("no check drop was taken on %s", message.Own(day)), Wrong: wrong,
				WayOut: message.Say("say with hardcatch settle what else shows that rig and load cell were in order on that day"),
			})
		}
	}
	return out
}
