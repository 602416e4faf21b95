package question

import (
	"maps"
	"math"
	"slices"
	"sort"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/limits"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/num/uncert"
)

// What is beyond reach, and the chance that the drops proposed tell, are those by which limits are judged.
const (
	mostMore     = limits.MostMore
	chanceToTell = limits.ChanceToTell
)

// more is about how many further drops would tell, and why that cannot be said where it cannot.
func (a *Answer) more() (n int, why message.Sentence, ok bool) {
	if len(a.Parts) == 0 {
		return 0, message.Say("no drop counts yet"), false
	}
	hopeful := func(p Part) bool {
		return p.Estimate == nil || p.Threshold == nil || (*p.Estimate >= *p.Threshold) == (a.question.Side == drop.AtLeast)
	}
	if w := a.Parts[a.worst]; !hopeful(w) {
		return w.more(a, false)
	}
	for i := range a.Parts {
		p := &a.Parts[i]
		if p.Verdict == Yes {
			continue
		}
		k, why, ok := p.more(a, true)
		if !ok {
			return 0, why, false
		}
		n += k
	}
	return n, nil, n <= mostMore
}

// more is how many further drops of a part would make its bound clear what is asked about, towards a yes or a no.
func (p *Part) more(a *Answer, yes bool) (n int, why message.Sentence, ok bool) {
	q := a.question
	if p.Threshold == nil {
		return 0, p.Why, false
	}
	upper := (q.Side == drop.AtMost) == yes // the bound that has to clear it lies above
	tail := 1 - a.LoConfidence
	if upper {
		tail = 1 - a.HiConfidence
	}
	have := p.N + p.NLower
	switch {
	case q.Of == drop.AskBreaks:
		return moreCounts(p.Broke, p.N, *p.Threshold, tail, upper)
	case p.byCounts(q):
		// So many have to hold what is asked about, those that broke below it counted: without them tail^(1/n) >= 1 - p.
		broken, known := split(valuesOf(p.of.upper, compare.Entry.Strength), p.load(tail), false)
		m := 1 + sort.Search(mostMore, func(m int) bool {
			b, err := censor.ExactBinomial(broken, known+m+1, 1-2*tail)
			return err == nil && b.Hi <= q.Quantile.SI()
		})
		if m > mostMore {
			return 0, message.Say("more than %d would have to hold", mostMore), false
		}
		return m, nil, true
	case p.Estimate == nil:
		return 0, p.Why, false
	}
	bound := p.Lo
	if upper {
		bound = p.Hi
	}
	if bound == nil {
		return 0, message.Say("the drops so far give no bound on this side"), false
	}
	if q.Of == drop.AskPeak {
		n, mean, sd, u := p.peaks()
		if n, ok := limits.MoreDrops(n, mean, sd, u, q.Quantile.SI(), 1-tail, *p.Threshold, upper); ok {
			return n, nil, true
		}
		if c := u * uncert.NormalQuantile(1-tail); c >= math.Abs(*p.Estimate-*p.Threshold) {
			return 0, nearerThanScale(), false
		}
		return 0, message.Say("the value lies so near to what is asked about that %d more drops would not tell", mostMore), false
	}
	scale := 0.0
	if q.Of.IsForce() {
		scale, _ = scaleOf(p.of.upper)
	}
	return moreOf(math.Abs(math.Log(*bound / *p.Estimate)), math.Abs(math.Log(*p.Estimate / *p.Threshold)), scale, tail, have)
}

// byCounts tells that a strength is judged by how many specimens held what is asked about, since too few broke for a fit.
func (p *Part) byCounts(q drop.Question) bool {
	return p.Estimate == nil && p.Threshold != nil && q.Of == drop.AskStrength && q.Side == drop.AtLeast
}

// load is the force in N that a specimen has to hold to count for a strength of at least what is asked about, the doubt of the force scale at the risk tail
// included.
func (p *Part) load(tail float64) float64 {
	u, _ := scaleOf(p.of.upper)
	return *p.Threshold * math.Exp(u*uncert.NormalQuantile(1-tail))
}

// runLoad is the highest force that the specimens of parts judged by counts have to hold; 0 where there is no such part.
func (a *Answer) runLoad() float64 {
	load := 0.0
	for i := range a.Parts {
		if p := &a.Parts[i]; p.Verdict != Yes && p.byCounts(a.question) {
			load = math.Max(load, p.load(1-a.LoConfidence))
		}
	}
	return load
}

// moreOf is how many further values bring a bound that lies half away from its estimate on the logarithm, and shares scale between all values, within the
// gap to what is asked about, with the chance chanceToTell that the estimate does not move too near. The distance shrinks as t(1-tail; n-1)/sqrt n.
func moreOf(half, gap, scale, tail float64, have int) (n int, why message.Sentence, ok bool) {
	common := scale * uncert.NormalQuantile(1-tail)
	if common >= gap {
		return 0, nearerThanScale(), false
	}
	own := math.Sqrt(math.Max(0, half*half-common*common))
	at := func(n int) float64 {
		return uncert.StudentQuantile(1-tail, float64(max(1, n-1))) / math.Sqrt(float64(n))
	}
	within := func(k int) bool {
		left := own * at(have+k) / at(have)
		move := uncert.NormalQuantile(chanceToTell) / uncert.NormalQuantile(1-tail) * left
		return math.Hypot(left, common)+move <= gap
	}
	if !within(mostMore) {
		return 0, message.Say("the value lies so near to what is asked about that %d more drops would not tell", mostMore), false
	}
	return 1 + sort.Search(mostMore-1, func(k int) bool { return within(k + 1) }), nil, true
}

func nearerThanScale() message.Sentence {
	return message.Say("the value lies nearer to what is asked about than the force scale is known: no number of drops would tell, a better calibration might")
}

// moreCounts is how many further drops make an exact bound of a share clear what is asked about, when they break as often as before or, with one chance
// in five, somewhat oftener or more seldom.
func moreCounts(k, n int, threshold, tail float64, upper bool) (int, message.Sentence, bool) {
	p := float64(k) / float64(n)
	for m := 1; m <= mostMore; m++ {
		mean, sd := float64(m)*p, math.Sqrt(float64(m)*p*(1-p))
		off := uncert.NormalQuantile(chanceToTell) * sd
		var then int
		if upper {
			then = k + int(math.Ceil(mean+off))
		} else {
			then = k + int(math.Floor(mean-off))
		}
		v, ok := shareOf(min(max(then, 0), n+m), n+m).bound(tail, upper)
		if ok && (upper && v <= threshold || !upper && v > threshold) {
			return m, nil, true
		}
	}
	return 0, message.Say("the value lies so near to what is asked about that %d more drops would not tell", mostMore), false
}

// next is the drop that would tell most: one of the part that decides; of a ratio in the half of which less was seen; of a strength in the
// fall that loads the specimen most, as a strength is only seen where it breaks. planned are those of the plan that were not taken.
func (a *Answer) next(planned []compare.Entry) (message.Sentence, map[string]string) {
	if a.worst < 0 {
		wanted := a.question.Where
		if a.aloneUpper > 0 && a.aloneLower == 0 {
			wanted = a.question.Lower()
		}
		for _, e := range planned {
			if drop.Fits(e.Drop.Levels(), wanted) {
				return message.Say("drop %s of the plan", message.Own(e.Drop.ID)), e.Drop.Levels()
			}
		}
		if len(wanted) > 0 {
			return message.Say("a first one (%s)", message.Names(LevelWords(wanted))), wanted
		}
		return message.Say("a first one"), wanted
	}
	p := &a.Parts[a.worst]
	from, wanted := p.of.upper, a.question.Where
	if a.question.Of.IsRatio() && p.lowerTells(a) {
		from, wanted = p.of.lower, a.question.Lower()
	}
	best := hardest(from)
	// Where specimens have to hold a force, a fall that does not reach it tells nothing.
	load := 0.0
	if p.byCounts(a.question) {
		load = p.load(1 - a.LoConfidence)
	}
	tooSoft := best != nil && load > 0 && !(best.Peak.SI() >= load)
	for _, e := range planned {
		if tooSoft && e.Drop.Fall <= best.Drop.Fall {
			continue
		}
		if l := e.Drop.Levels(); drop.Fits(l, wanted) && drop.Fits(l, p.Levels) && (best == nil || !a.ofStrength() || e.Drop.Fall >= best.Drop.Fall) {
			return message.Say("drop %s of the plan (%s)", message.Own(e.Drop.ID), message.Names(LevelWords(l))), l
		}
	}
	if best == nil {
		return nil, nil
	}
	l := best.Drop.Levels()
	if tooSoft {
		maps.DeleteFunc(l, func(f, _ string) bool { return compare.OfTheFall(f) })
		return message.Say("a harder fall than that of drop %s, one that puts %s or more on the specimen (%s)", message.Own(best.Drop.ID), a.upper(load), message.Names(LevelWords(l))), l
	}
	return message.Say("one more like drop %s (%s)", message.Own(best.Drop.ID), message.Names(LevelWords(l))), l
}

func (a *Answer) ofStrength() bool {
	return a.question.Of == drop.AskStrength || a.question.Of == drop.AskStrengthRatio
}

// hardest is the drop with the highest peak.
func hardest(entries []compare.Entry) *compare.Entry {
	if len(entries) == 0 {
		return nil
	}
	e := slices.MaxFunc(entries, func(a, b compare.Entry) int {
		x, y := a.Peak.SI(), b.Peak.SI()
		switch {
		case math.IsNaN(x) || x < y:
			return -1
		case x > y:
			return 1
		}
		return 0
	})
	return &e
}

// lowerTells tells that one more of the lower half tells more: the half of which fewer values were seen, as the spread of a mean falls with their number.
func (p *Part) lowerTells(a *Answer) bool {
	value := compare.Entry.Strength
	if a.question.Of == drop.AskPeakRatio {
		value = compare.Entry.Arrest
	}
	return seenIn(valuesOf(p.of.lower, value)) < seenIn(valuesOf(p.of.upper, value))
}
