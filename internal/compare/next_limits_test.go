package compare

import (
	"math"
	"reflect"
	"slices"
	"sort"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// The first and the last value of each range are taken, the next ones beside them are not.
func TestNextRanges(t *testing.T) {
	aim := &NextAim{Width: func([]Entry) (float64, error) { return 1, nil }}
	for _, c := range []struct {
		what string
		set  func(*NextQuestion)
		says string // empty: it is taken
	}{
		{"none ahead", func(q *NextQuestion) { q.Ahead = 0 }, ""},
		{"four ahead", func(q *NextQuestion) { q.Ahead = 4 }, ""},
		{"five ahead", func(q *NextQuestion) { q.Ahead = 5 }, "5 drops ahead"},
		{"less than none", func(q *NextQuestion) { q.Ahead = -1 }, "-1 drops ahead"},
		{"another fall for 100", func(q *NextQuestion) { q.ReRig = 100 }, ""},
		{"for more", func(q *NextQuestion) { q.ReRig = 100.1 }, "costs 100.1 specimens"},
		{"for less than nothing", func(q *NextQuestion) { q.ReRig = -0.1 }, "costs -0.1 specimens"},
		{"for no number", func(q *NextQuestion) { q.ReRig = math.NaN() }, "specimens"},
		{"quantile 0", func(q *NextQuestion) { q.Quantile = 0 }, "quantile 0"},
		{"quantile 1", func(q *NextQuestion) { q.Quantile = 1 }, "quantile 1"},
		{"a small quantile", func(q *NextQuestion) { q.Quantile = 1e-9 }, ""},
		{"a large quantile", func(q *NextQuestion) { q.Quantile = 1 - 1e-9 }, ""},
		{"an effect needs no quantile", func(q *NextQuestion) { q.Goal, q.Quantile = NextEffect, 0 }, ""},
		{"no limit", func(q *NextQuestion) { q.Goal = NextSlack }, "needs the limit"},
		{"a limit", func(q *NextQuestion) { q.Goal, q.Limit = NextSlack, 1 }, ""},
		{"a goal that is not known", func(q *NextQuestion) { q.Goal = "luck" }, `goal "luck"`},
		{"weibull", func(q *NextQuestion) { q.Family = censor.Weibull }, ""},
		{"normal", func(q *NextQuestion) { q.Family = censor.Normal }, "not normal"},
		{"9 draws", func(q *NextQuestion) { q.Draws = 9 }, "9 draws"},
		{"10 draws", func(q *NextQuestion) { q.Draws = 10 }, ""},
		{"2000 draws", func(q *NextQuestion) { q.Draws = 2000 }, ""},
		{"2001 draws", func(q *NextQuestion) { q.Draws = 2001 }, "2001 draws"},
		{"an aim needs no goal", func(q *NextQuestion) { q.Goal, q.Aim, q.Draws = "", aim, 10 }, ""},
		{"an aim with 2000 draws", func(q *NextQuestion) { q.Goal, q.Aim, q.Draws = "", aim, 2000 }, ""},
		{"an aim with 9", func(q *NextQuestion) { q.Aim, q.Draws = aim, 9 }, "9 draws"},
		{"an aim with 2001", func(q *NextQuestion) { q.Aim, q.Draws = aim, 2001 }, "2001 draws"},
		{"an aim without an interval", func(q *NextQuestion) { q.Aim = &NextAim{} }, "no interval"},
		{"an aim without a family", func(q *NextQuestion) { q.Aim, q.Family = aim, censor.Normal }, "no family"},
		{"an aim of weibull", func(q *NextQuestion) { q.Goal, q.Aim, q.Family = "", aim, censor.Weibull }, ""},
	} {
		q := nextAsk()
		c.set(&q)
		err := q.nextCheck()
		if (err == nil) != (c.says == "") || err != nil && !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", c.what, err)
		}
	}
}

func TestNextSaysWhyADropIsLeftOut(t *testing.T) {
	for _, c := range []struct {
		set  func(*Entry)
		says string
	}{
		{func(*Entry) {}, ""},
		{func(e *Entry) { e.Outcome = drop.Broke }, ""},
		{func(e *Entry) { e.Outcome = drop.Slipped }, ""},
		{func(e *Entry) { e.Planned = true }, "planned"},
		{func(e *Entry) { e.Outcome = drop.Void }, "void"},
		{func(e *Entry) { e.Again = true }, "an earlier drop"},
		{func(e *Entry) { e.Outcome = "" }, "no outcome yet"},
		{func(e *Entry) { e.Peak = 0 }, "no peak"},
		{func(e *Entry) { e.Peak = quantity.Force(math.Inf(1)) }, "no peak"},
		{func(e *Entry) { e.Peak = quantity.Force(math.NaN()) }, "no peak"},
		{func(e *Entry) { e.Drop.Fall = 0 }, "no fall"},
	} {
		e := nextEntry("PA", 1, drop.Held, 9000)
		c.set(&e)
		if got := nextLeft(e); (got == "") != (c.says == "") || !strings.HasPrefix(got, c.says) {
			t.Errorf("%q, want %q", got, c.says)
		}
	}
}

// What broke shows its strength, what held the arrest force, what slipped neither; of a record that was cut off a bound remains, or what was rebuilt.
func TestNextReadsADropTwice(t *testing.T) {
	const p = 9000.0
	for _, c := range []struct {
		o                drop.Outcome
		cut              bool
		rebuilt          *[2]quantity.Force
		strength, arrest censor.Value
	}{
		{drop.Held, false, nil, censor.AtLeast(p), censor.Exact(p)},
		{drop.Broke, false, nil, censor.Exact(p), censor.AtLeast(p)},
		{drop.Slipped, false, nil, censor.AtLeast(p), censor.AtLeast(p)},
		{drop.Held, true, nil, censor.AtLeast(p), censor.AtLeast(p)},
		{drop.Broke, true, nil, censor.AtLeast(p), censor.AtLeast(p)},
		{drop.Held, true, &[2]quantity.Force{9500, 9900}, censor.AtLeast(p), censor.Between(9500, 9900)},
		{drop.Broke, true, &[2]quantity.Force{9500, 9900}, censor.AtLeast(p), censor.AtLeast(p)},
	} {
		e := nextEntry("PA", math.E, c.o, p)
		e.CutOff, e.Rebuilt = c.cut, c.rebuilt
		d := nextRead(3, e)
		if d.kind != 3 || d.peakN != p || math.Abs(d.logFall-1) > 1e-12 || !reflect.DeepEqual(d.strength, c.strength) || !reflect.DeepEqual(d.arrest, c.arrest) {
			t.Errorf("%s, cut off %v: %+v", c.o, c.cut, d)
		}
	}
}

// The lowest fall within half a point of the best is marked, and no other.
func TestNextMarksTheLowest(t *testing.T) {
	for _, c := range []struct {
		ranks []float64
		best  int
	}{{[]float64{1, 5, 5.5}, 1}, {[]float64{1, 4.99, 5.5}, 2}, {[]float64{5, 5.5, 5.5}, 0}, {[]float64{-3}, 0}} {
		list := make([]NextChoice, len(c.ranks))
		for i, r := range c.ranks {
			list[i].rank = r
		}
		nextMark(list)
		for i := range list {
			if list[i].Best != (i == c.best) {
				t.Errorf("%v: %d is %v", c.ranks, i, list[i].Best)
			}
		}
	}
	nextMark(nil)
}

// From 1, 1.2 and 2 m: their middles 1.1 and 1.6, a step of 0.2 below, one of 0.8 and two above. Of one fall half of it, one and a half and two of it.
// A step that reaches a hundredth of the lowest, or below the ground, is none.
func TestNextFalls(t *testing.T) {
	for _, c := range []struct{ tried, want []float64 }{
		{[]float64{2, 1, 1.2, 1}, []float64{0.8, 1, 1.1, 1.2, 1.6, 2, 2.8, 3.6}},
		{[]float64{1}, []float64{0.5, 1, 1.5, 2}},
		{[]float64{1, 2}, []float64{1, 1.5, 2, 3, 4}},
		{[]float64{1, 1.98}, []float64{0.02, 1, 1.49, 1.98, 2.96, 3.94}},
		{[]float64{1, 1.995}, []float64{1, 1.498, 1.995, 2.99, 3.985}},
		{[]float64{1.0004, 1}, []float64{0.5, 1, 1.5, 2}}, // alike to the millimetre
	} {
		s := &nextState{}
		for _, h := range c.tried {
			s.data = append(s.data, nextDatum{logFall: math.Log(h)})
		}
		got := s.falls()
		if !slices.EqualFunc(got, c.want, func(a, b float64) bool { return math.Abs(a-b) < 1e-9 }) {
			t.Errorf("%v: %v, want %v", c.tried, got, c.want)
		}
	}
}

// Both numbers take the middle of each of n equal parts once; the same seed gives the same square, another another.
func TestNextStrata(t *testing.T) {
	at := func(seed uint64) (u, v []float64) {
		return (&nextState{q: NextQuestion{Draws: 10, Seed: seed}}).strata()
	}
	u, v := at(1)
	shuffled := slices.Clone(v)
	sort.Float64s(v)
	for i := range 10 {
		if want := 0.05 + float64(i)/10; math.Abs(u[i]-want) > 1e-12 || math.Abs(v[i]-want) > 1e-12 {
			t.Errorf("%d: %g %g", i, u[i], v[i])
		}
	}
	if _, again := at(1); !slices.Equal(again, shuffled) || slices.Equal(shuffled, v) {
		t.Error("not shuffled, or not the same")
	}
	if _, other := at(2); slices.Equal(other, shuffled) {
		t.Error("another seed gives the same")
	}
}

// A remark that holds for several kinds is said once, with their names, in the order in which the remarks came.
func TestNextGathersRemarks(t *testing.T) {
	n := &nextNotes{kinds: map[string][]message.Sentence{}}
	a, b := message.Say("no interval today, so that candidates are ranked by the probability that the drop gives one (%v)", "a"), message.Say("the interval does not close today, so that candidates are ranked by the probability that the drop closes it")
	n.add(a, "PA")
	n.add(b, "PES")
	n.add(a, "HMPE")
	got := n.lines()
	if len(got) != 2 || !strings.HasPrefix(got[0].String(), "PA; HMPE: no interval today") || !strings.HasPrefix(got[1].String(), "PES: the interval does not close") {
		t.Errorf("%v", got)
	}
}

// constant is a target whose interval is so wide after one more drop, after two, and so on, whatever comes out.
func constant(then ...float64) (nextTarget, *nextState) {
	s := &nextState{q: NextQuestion{Draws: 4, ReRig: 0.25}, kinds: []nextKind{{name: "PA"}}, data: []nextDatum{{logFall: 0}}, out: &NextRanking{}}
	s.model = nextModel{cut: []float64{math.Log(9000)}, slope: 0.5, sigma: 0.05, strength: []nextSpread{{cdf: func(float64) float64 { return 0 }, quantile: func(float64) float64 { return 20000 }}}}
	return nextTarget{width: func(d []nextDatum, _ int) (float64, error) { return then[len(d)-2], nil }}, s
}

// From 2 to 1 the interval shrinks by 50 % for one specimen, and for 1.25 where the mass must be hung anew; two drops are worth it where they bring
// more than 1.05 of that for each: 105.1 % for two, not 104.9 %.
func TestNextCountsWhatDropsCost(t *testing.T) {
	u := []float64{0.125, 0.375, 0.625, 0.875}
	for _, c := range []struct {
		fall  float64
		ahead int
		then  []float64
		batch int
		cost  float64
		rank  float64
	}{
		{1, 1, []float64{1}, 1, 1, 50},
		{1.0009, 1, []float64{1}, 1, 1, 50}, // the same fall to a thousandth
		{1.0011, 1, []float64{1}, 1, 1.25, 40},
		{1, 2, []float64{1.5, 2 - 2*0.5249}, 1, 1, 25},
		{1, 2, []float64{1.5, 2 - 2*0.5251}, 2, 2, 26.255},
		{1, 0, []float64{1}, 1, 1, 50},
	} {
		target, s := constant(c.then...)
		s.q.Ahead = c.ahead
		choice := NextChoice{Fall: quantity.Length(c.fall), BreakLo: new(float64), BreakHi: new(float64)}
		s.expect(&choice, target, 0, 2, u, u)
		if choice.Batch != c.batch || choice.Cost != c.cost || math.Abs(choice.rank-c.rank) > 1e-9 || choice.Identifies != 1 {
			t.Errorf("%+v: batch %d for %g, rank %g", c, choice.Batch, choice.Cost, choice.rank)
		}
	}
	// Without an interval today the share of outcomes that give one ranks; one that never closes is not open.
	for width, share := range map[float64]float64{1: 100, math.Inf(1): 0} {
		target, s := constant(width)
		choice := NextChoice{Fall: 1, BreakLo: new(float64), BreakHi: new(float64)}
		s.expect(&choice, target, 0, math.Inf(1), u, u)
		if choice.rank != share || choice.open != (share > 0) || choice.Now != nil || choice.Shrinkage != nil || (choice.Then != nil) != (share > 0) {
			t.Errorf("%g: %+v", width, choice)
		}
	}
}
