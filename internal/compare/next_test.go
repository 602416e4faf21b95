package compare

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/num/uncert"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

func nextEntry(material string, fallM float64, o drop.Outcome, peakN float64) Entry {
	return Entry{Drop: drop.Drop{ID: fmt.Sprint(material, fallM, peakN), Fall: quantity.Length(fallM), Specimen: drop.Specimen{ID: fmt.Sprint(material, fallM, o, peakN), Material: material}}, Outcome: o, Peak: quantity.Force(peakN), Trusted: true}
}

func nextAsk() NextQuestion {
	return NextQuestion{Goal: NextStrength, Quantile: 0.5, Family: censor.Lognormal, Draws: 400, Seed: 1}
}

func nextFind(t *testing.T, r *NextRanking, kind string, fallM float64) NextChoice {
	t.Helper()
	for _, c := range r.Choices {
		if c.Kind == kind && math.Abs(c.Fall.SI()-fallM) < 1e-9 {
			return c
		}
	}
	t.Fatalf("no candidate %s at %g m in %v", kind, fallM, r.Choices)
	return NextChoice{}
}

// Four log strengths m-1.5d, m-0.5d, m+0.5d, m+1.5d that all broke. Profiling the scale out of n exact normal values leaves
// n log(1 + (mu - m)^2/s^2) = 3.841459 at the ends, s^2 the mean square, so that the width is 2 s sqrt(exp(3.841459/n) - 1). A
// fifth value x makes s'^2 = n/(n+1) s^2 + n (x - m)^2/(n+1)^2, and the mean of s' over x normal (m, s) is integrated here.
func TestNextExpectedWidthOfMedian(t *testing.T) {
	const d, n, chi = 0.1, 4.0, 3.841458820694124
	var entries []Entry
	for _, z := range []float64{-1.5, -0.5, 0.5, 1.5} {
		entries = append(entries, nextEntry("cord", 1, drop.Broke, 10000*math.Exp(d*z)))
	}
	// A second kind that held at 30 kN makes the arrest force high enough that every cord breaks.
	for _, z := range []float64{-1, 0, 1} {
		entries = append(entries, nextEntry("wire", 1, drop.Held, 30000*math.Exp(0.01*z)))
	}
	r, err := SuggestNext(entries, nextAsk())
	if err != nil {
		t.Fatal(err)
	}
	c := nextFind(t, r, "cord", 1)
	s := d * math.Sqrt(1.25)
	now := 2 * s * math.Sqrt(math.Expm1(chi/n))
	if c.Now == nil || math.Abs(*c.Now/now-1) > 1e-6 {
		t.Fatalf("width today %v, want %.8f", c.Now, now)
	}
	mean := 0.0
	for i := range 4000 {
		z := uncert.NormalQuantile((float64(i) + 0.5) / 4000)
		mean += math.Sqrt(n/(n+1)*s*s+n*z*z*s*s/((n+1)*(n+1))) / 4000
	}
	then := 2 * mean * math.Sqrt(math.Expm1(chi/(n+1)))
	if c.Then == nil || math.Abs(*c.Then/then-1) > 1e-3 {
		t.Errorf("expected width %v, want %.6f", *c.Then, then)
	}
	if want := 100 * (1 - then/now); math.Abs(*c.Shrinkage-want) > 0.1 {
		t.Errorf("shrinks by %.3f %%, want %.3f %%", *c.Shrinkage, want)
	}
	if !(*c.ShrinkageSE > 0 && *c.ShrinkageSE < 2) {
		t.Errorf("standard error of the shrinkage %g", *c.ShrinkageSE)
	}
	// Arrest 30 kN against strength 10 kN with scatters 0.0082 and 0.112: ten standard deviations.
	if !(*c.BreakP > 0.999) || !strings.Contains(c.Reason.String(), "would show its strength instead of a lower bound") {
		t.Errorf("break %g, reason %q", *c.BreakP, c.Reason)
	}
}

// Strength lognormal with median 10 kN; those that held fix log peak = log 8 kN + b log(h/1 m) exactly enough that at 1 m hardly
// any breaks and at 2 m (16 kN) all do: the drop that breaks tells more, and the break probability is
// Phi((mu_A - mu_S)/hypot(sigma_A, sigma_S)) for two lognormal forces.
func TestNextPrefersTheDropThatBreaks(t *testing.T) {
	var entries []Entry
	for _, z := range []float64{-1, 1} {
		entries = append(entries, nextEntry("cord", 0.5, drop.Held, 4000*math.Exp(0.02*z)), nextEntry("cord", 1, drop.Held, 8000*math.Exp(0.02*z)))
	}
	for _, z := range []float64{-1, 0, 1} {
		entries = append(entries, nextEntry("cord", 2, drop.Broke, 10000*math.Exp(0.05*z)))
	}
	r, err := SuggestNext(entries, nextAsk())
	if err != nil {
		t.Fatal(err)
	}
	low, high := nextFind(t, r, "all specimens", 0.5), nextFind(t, r, "all specimens", 2)
	if !(*high.Shrinkage > 5) || !(math.Abs(*low.Shrinkage) < 0.5) || *r.Choices[0].BreakP < 0.9 || low.Tried != 2 || high.Tried != 3 {
		t.Errorf("at 0.5 m %+v\nat 2 m %+v\nfirst %+v", low, high, r.Choices[0])
	}
	// At 1.5 m the closed form; the fits give mu_A from the four that held and three bounds that lie far below the line.
	at := nextFind(t, r, "all specimens", 1.5)
	var strengths []censor.Value
	for _, z := range []float64{-1, 0, 1} {
		strengths = append(strengths, censor.Exact(10000*math.Exp(0.05*z)))
	}
	for _, p := range []float64{4000, 8000} {
		strengths = append(strengths, censor.AtLeast(p*math.Exp(0.02)), censor.AtLeast(p*math.Exp(-0.02)))
	}
	m, err := censor.Fit(strengths, censor.Lognormal)
	if err != nil {
		t.Fatal(err)
	}
	mu, _ := m.Param("mu")
	sigma, _ := m.Param("sigma")
	sa := math.Log(at.ArrestHi.SI()/at.Arrest.SI()) / 1.959963984540054
	if want := 0.5 * math.Erfc((mu.Value-math.Log(at.Arrest.SI()))/math.Hypot(sa, sigma.Value)/math.Sqrt2); math.Abs(*at.BreakP-want) > 1e-6 {
		t.Errorf("break probability %.8f, closed form %.8f", *at.BreakP, want)
	}
	if math.Abs(at.Arrest.SI()/12000-1) > 0.01 {
		t.Errorf("median arrest force at 1.5 m %v, want 12 kN from a line of slope 1", at.Arrest)
	}
}

// Three that held at one fall fix no line: the same fall gives none, and any other fall gives one when the specimen holds.
func TestNextRanksByWhatIsIdentified(t *testing.T) {
	var entries []Entry
	for _, z := range []float64{-1, 0, 1} {
		entries = append(entries, nextEntry("cord", 1, drop.Held, 6000*math.Exp(0.03*z)))
	}
	q := nextAsk()
	q.Goal, q.Limit = NextSlack, 7000
	r, err := SuggestNext(entries, q)
	if err != nil {
		t.Fatal(err)
	}
	same, other := nextFind(t, r, "all specimens", 1), nextFind(t, r, "all specimens", 0.5)
	if same.Identifies != 0 || same.Now != nil || other.Identifies < 0.95 || r.Choices[0].Fall == 1 || !strings.Contains(r.Choices[0].Reason.String(), "where today there is none") {
		t.Errorf("same fall %+v\nother fall %+v\nfirst %+v", same, other, r.Choices[0])
	}
	if all := strings.Join(message.Texts(r.Warnings), "\n"); !strings.Contains(all, "no interval today") {
		t.Errorf("warnings do not say that there is no interval today: %s", all)
	}
}

func TestNextLeavesOutAndRefuses(t *testing.T) {
	var entries []Entry
	for _, z := range []float64{-1, 0, 1} {
		entries = append(entries, nextEntry("cord", 1, drop.Held, 8000*math.Exp(0.02*z)), nextEntry("cord", 2, drop.Broke, 10000*math.Exp(0.05*z)))
	}
	q := nextAsk()
	q.Capacity = 9000
	before, err := SuggestNext(entries, q)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range before.Choices {
		if c.ArrestHi > q.Capacity || c.Fall >= 1.5 {
			t.Errorf("suggested beyond the capacity: %+v", c)
		}
	}
	if len(before.Refused) == 0 || !strings.Contains(before.Refused[0].String(), "9.00 kN") {
		t.Errorf("refused %v", before.Refused)
	}
	// Three digits each: more would claim what no fit knows.
	three := regexp.MustCompile(`, fall (\d\.\d\d|\d\d\.\d) m: the arrest force could reach (\d\.\d\d|\d\d\.\d|\d{3}) kN \(97\.5 % point\)`)
	for _, r := range before.Refused {
		if !three.MatchString(r.String()) {
			t.Errorf("refused in other digits: %s", r)
		}
	}
	check := nextEntry("cord", 1, drop.Held, 500)
	check.Drop.Role = drop.Check
	planned := nextEntry("cord", 1, "", math.NaN())
	planned.Planned = true
	after, err := SuggestNext(append(entries, check, planned, nextEntry("cord", 1, drop.Void, 100), nextEntry("cord", 1, "", 77000)), q)
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(before.Choices, after.Choices) {
		t.Errorf("drops that do not count changed the ranking")
	}
	if got := strings.Join(message.Texts(after.Left), "|"); !strings.Contains(got, "check drops: 1") || !strings.Contains(got, "void: 1") || !strings.Contains(got, "no outcome yet") || !strings.Contains(got, "planned, not taken: 1") {
		t.Errorf("left out %s", got)
	}
}

// Two groups that all broke, n each, scatter s (mean square): the standard error of the log ratio is s sqrt(2/n).
func TestNextEffectWidthToday(t *testing.T) {
	var entries []Entry
	for _, z := range []float64{-1, 0, 1} {
		entries = append(entries, nextEntry("aramid", 1, drop.Broke, 10000*math.Exp(0.1*z)), nextEntry("polyester", 1, drop.Broke, 12000*math.Exp(0.1*z)))
	}
	q := nextAsk()
	q.Goal = NextEffect
	r, err := SuggestNext(entries, q)
	if err != nil {
		t.Fatal(err)
	}
	want := 2 * 1.959963984540054 * 0.1 * math.Sqrt(2.0/3) * math.Sqrt(2.0/3)
	if c := r.Choices[0]; c.Now == nil || math.Abs(*c.Now/want-1) > 1e-6 || !(*c.Then < *c.Now) {
		t.Errorf("width %+v, want %.6f", c, want)
	}
	if !strings.Contains(r.Target.String(), "material polyester over aramid") {
		t.Errorf("target %q", r.Target)
	}
}

func TestNextRefusesQuestions(t *testing.T) {
	one := []Entry{nextEntry("cord", 1, drop.Held, 8000)}
	for name, c := range map[string]struct {
		entries []Entry
		change  func(*NextQuestion)
		want    string
	}{
		"goal":    {one, func(q *NextQuestion) { q.Goal = "fame" }, "strength, effect or slack"},
		"limit":   {one, func(q *NextQuestion) { q.Goal = NextSlack }, "--limit"},
		"p":       {one, func(q *NextQuestion) { q.Quantile = 5 }, "0.05 is usual"},
		"draws":   {one, func(q *NextQuestion) { q.Draws = 0 }, "400 are usual"},
		"kind":    {one, func(q *NextQuestion) { q.Of = "rope" }, "there are: all specimens"},
		"effect":  {one, func(q *NextQuestion) { q.Goal = NextEffect }, "all of one kind"},
		"nothing": {nil, func(*NextQuestion) {}, "no drop counts yet"},
	} {
		q := nextAsk()
		c.change(&q)
		_, err := SuggestNext(c.entries, q)
		if err == nil || !strings.Contains(err.Error(), c.want) || errors.Is(err, censor.ErrNotIdentified) {
			t.Errorf("%s: error %v, want %q in it", name, err, c.want)
		}
	}
}
