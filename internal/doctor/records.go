package doctor

import (
	"cmp"
	"math"
	"slices"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

// sameRecord finds one record, byte for byte, under the names of several drops. Which of them it is of cannot be told from here.
func sameRecord(c Campaign) []Finding {
	var out []Finding
	byHash := map[string][]string{}
	var order []string
	for _, d := range c.Drops {
		if d.SHA256 == "" || !d.taken() {
			continue
		}
		if len(byHash[d.SHA256]) == 0 {
			order = append(order, d.SHA256)
		}
		byHash[d.SHA256] = append(byHash[d.SHA256], d.ID)
	}
	for _, h := range order {
		if ids := byHash[h]; len(ids) > 1 {
			out = append(out, Finding{
				Key: key("same-record", ids...), Rule: "same-record", Drops: ids, Effect: LeavesOut,
				Says:   message.Say("%d drops (%s) have the same record, byte for byte", len(ids), names(ids)),
				Wrong:  message.Say("one force counts as several, and at least one of the drops has a force that is not its own"),
				WayOut: message.Say("correct the column record of the list and enter it again, or void the drops whose record is lost"),
			})
		}
	}
	return out
}

// How near two records' numbers have to be for one to be taken for the other, shifted in time or scaled. A copy of a
// demonstration record, cut by 200 samples and scaled by 1.1, differs by 0.2 to 1.5 parts in 100,000 (regression only, no source); two drops of a
// kind differ by about 1 % in duration and in when the peak comes and by 0.3 % in how full and how sharp the curve is, so that they meet all of them
// less than once in ten million pairs. The noise, seen from the quiet samples that were left, is near that of any other record of the logger and
// only rules out what is far. What depends on the fall that was entered is left out: a copy is often entered under another.
const (
	sameShape = 5e-5
	sameNoise = 0.1
)

// shape is what a record keeps when it is shifted in time or multiplied by a factor.
type shape struct {
	id                  string
	peak                float64
	duration, fullness  float64 // fullness is impulse over peak and duration
	noise               float64 // over the peak
	riseOfDuration      float64
	pulse               float64 // over the duration
	sha                 string
	comparableToAnother bool
}

func shapeOf(d Drop) (s shape) {
	r := d.Reduction
	if r == nil || d.SHA256 == "" || !d.taken() || d.Role == drop.Check || d.Invented() {
		return s // check drops on a link are meant to be alike, and a rehearsal plays the same falls again and again
	}
	s = shape{id: d.ID, peak: r.Peak.SI(), duration: r.ArrestDuration.SI(), sha: d.SHA256}
	s.fullness, s.noise = r.Impulse.SI()/(s.peak*s.duration), r.NoiseSD.SI()/s.peak
	s.riseOfDuration = r.TimeToPeak.SI() / s.duration
	s.pulse = r.PulseLength.SI() / s.duration
	for _, v := range []float64{s.peak, s.duration, s.fullness, s.noise, s.riseOfDuration, s.pulse} {
		if !(v > 0) || math.IsInf(v, 0) {
			return s
		}
	}
	s.comparableToAnother = r.PeakBound == reduce.Value
	return s
}

// alikeRecords finds records that are those of other drops, saved once more: shifted in time, or multiplied by a factor.
func alikeRecords(c Campaign) []Finding {
	var all []shape
	for _, d := range c.Drops {
		if s := shapeOf(d); s.comparableToAnother {
			all = append(all, s)
		}
	}
	slices.SortStableFunc(all, func(a, b shape) int { return cmp.Compare(a.duration, b.duration) })
	near := func(a, b, within float64) bool { return math.Abs(a-b) <= within*math.Max(a, b) }
	var out []Finding
	for i, a := range all {
		for _, b := range all[i+1:] {
			if !near(a.duration, b.duration, sameShape) {
				break
			}
			if a.sha == b.sha || !near(a.fullness, b.fullness, sameShape) || !near(a.noise, b.noise, sameNoise) || !near(a.riseOfDuration, b.riseOfDuration, sameShape) || !near(a.pulse, b.pulse, sameShape) {
				continue
			}
			ids := []string{a.id, b.id}
			slices.Sort(ids)
			says := message.Say("the records of drops %s and %s are the same curve, saved twice", message.Own(ids[0]), message.Own(ids[1]))
			if ratio := b.peak / a.peak; math.Abs(ratio-1) > 2*sameShape {
				if ids[0] == b.id {
					ratio = 1 / ratio
				}
				says = message.Say("the records of drops %s and %s are the same curve, the second at %.4g times the force", message.Own(ids[0]), message.Own(ids[1]), ratio)
			}
			out = append(out, Finding{
				Key: key("alike-records", ids...), Rule: "alike-records", Drops: ids, Effect: LeavesOut, Says: says,
				Wrong:  message.Say("one force counts as two, and the scatter looks smaller than it is"),
				WayOut: message.Say("look at both curves, correct the column record of the list and enter it again, or void the drop whose record is lost"),
			})
		}
	}
	return out
}
