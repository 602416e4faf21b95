package view

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/limits"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/question"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
)

// simulatedCampaign is a campaign as it might come from a tower: two materials, two ends, two falls, from one to six specimens of each, strengths and forces with
// scatters of their own, some records cut off, some drops void, some specimens dropped again.
func simulatedCampaign(rng *rand.Rand) *look.Entered {
	c := &look.Entered{Info: store.Campaign{Name: "simulated", Question: "Does it hold?", Invented: true}, Reduction: map[string]*reduce.Reduction{}, Trace: map[string]store.Trace{}, Decisions: map[string][]drop.Decision{}}
	shape := map[string]float64{"polyamide": 4 + 30*rng.Float64(), "aramid": 4 + 30*rng.Float64()}
	scale := map[string]float64{"polyamide": 8000 + 12000*rng.Float64(), "aramid": 8000 + 12000*rng.Float64()}
	knot := 0.4 + 0.6*rng.Float64()
	scatter := 0.01 + 0.06*rng.Float64()
	count := 0
	add := func(d drop.Drop, peak float64, o drop.Outcome, cut bool) {
		count++
		d.ID = fmt.Sprintf("d%03d", count)
		d.Record = d.ID + ".csv"
		if d.Specimen.ID == "" {
			d.Specimen.ID = "s" + d.ID
		}
		c.Drops = append(c.Drops, d)
		c.Trace[d.ID] = store.Trace{Drop: d.ID}
		c.Reduction[d.ID] = &reduce.Reduction{Outcome: reduce.Proposal(o), Peak: quantity.Force(peak), PeakExpanded: quantity.Force(0.01 * peak), AuditVerdict: reduce.Agrees, PeakHidden: cut, ScaleKnown: true}
		c.Decisions[d.ID] = []drop.Decision{{Drop: d.ID, Outcome: o, Reason: "as seen"}}
	}
	for _, m := range []string{"polyamide", "aramid"} {
		for _, k := range []string{"sewn", "overhand"} {
			for _, fall := range []quantity.Length{0.3, 0.6} {
				if rng.Float64() < 0.1 {
					continue // a cell that was not run
				}
				for range 1 + rng.IntN(6) {
					strength := scale[m] * math.Pow(-math.Log(1-rng.Float64()), 1/shape[m])
					if k == "overhand" {
						strength *= knot
					}
					force := 9000 * math.Sqrt(fall.SI()/0.6) * math.Exp(scatter*rng.NormFloat64())
					d := drop.Drop{Specimen: drop.Specimen{Material: m, Knot: k, Length: 0.6, Rating: 15000}, Fall: fall, Role: drop.Trial, Taken: "2026-03-02"}
					switch {
					case rng.Float64() < 0.05:
						add(d, force, drop.Void, false)
					case force > strength:
						add(d, strength, drop.Broke, false)
					default:
						add(d, force, drop.Held, rng.Float64() < 0.03)
						if rng.Float64() < 0.05 {
							again := c.Drops[len(c.Drops)-1]
							add(again, force*1.1, drop.Held, false)
						}
					}
				}
			}
		}
	}
	c.Asked = asks(rng)
	return c
}

// asks are questions whose answers other sentences touch.
func asks(rng *rand.Rand) []question.Asked {
	kN := func(lo, hi float64) string { return fmt.Sprintf("%.1f kN", lo+(hi-lo)*rng.Float64()) }
	var out []question.Asked
	for _, w := range []drop.Written{
		{ID: "strength", Of: "strength", Where: map[string]string{"material": "polyamide", "knot": "sewn"}, AtLeast: kN(4, 16)},
		{ID: "knot", Of: "strength ratio", Where: map[string]string{"material": "aramid", "knot": "overhand"}, Against: map[string]string{"knot": "sewn"}, AtLeast: "1"},
		{ID: "peak", Of: "peak force", Where: map[string]string{"material": "polyamide", "knot": "sewn", "fall": "0.3 m"}, AtMost: "12 kN"},
		{ID: "breaks", Of: "break probability", Where: map[string]string{"material": "aramid", "knot": "overhand", "fall": "0.6 m"}, AtMost: fmt.Sprintf("%d %%", 10+rng.IntN(80))},
		{ID: "rated", Of: "strength", AtLeast: "rating"},
		{ID: "every kind", Of: "strength", AtLeast: kN(4, 16)},
		{ID: "one cord over all", Of: "strength ratio", Where: map[string]string{"material": "aramid"}, Against: map[string]string{"material": "polyamide"}, AtLeast: "0.8"},
		{ID: "no such knot", Of: "strength ratio", Where: map[string]string{"knot": "clove hitch"}, Against: map[string]string{"knot": "sewn"}, AtLeast: "0.8"},
	} {
		q, err := w.Read()
		if err != nil {
			panic(err)
		}
		out = append(out, question.Asked{Question: q, Seq: 1})
	}
	return out
}

// texts are all strings of a value in JSON, each with its place.
func texts(t *testing.T, v any) map[string]string {
	t.Helper()
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	var tree any
	if err := json.Unmarshal(b, &tree); err != nil {
		t.Fatal(err)
	}
	out := map[string]string{}
	var walk func(at string, v any)
	walk = func(at string, v any) {
		switch v := v.(type) {
		case string:
			out[at] = v
		case []any:
			for i, x := range v {
				walk(at+"["+strconv.Itoa(i)+"]", x)
			}
		case map[string]any:
			for k, x := range v {
				walk(at+"."+k, x)
			}
		}
	}
	walk("", tree)
	return out
}

// misprints are what no sentence may hold.
var misprints = map[string]*regexp.Regexp{
	"a number with figures that mean nothing": regexp.MustCompile(`[1-9]\.\d{6,}|0\.0*[1-9]\d{5,}`),
	"an exponent": regexp.MustCompile(`\de[+-]\d`),
	"no number":   regexp.MustCompile(`\b(NaN|Inf)\b|%!|<nil>`),
	"a hole":      regexp.MustCompile(`\(\s*\)|  :|: :|;;|,,| ,|\.\.( |$)`),
}

// smallP are probabilities, which may be small.
var smallP = regexp.MustCompile(`(p = |could give: |p-value )[\d.e-]+`)

// ranges are bounds that are printed as from and to, in one unit.
var ranges = regexp.MustCompile(`(?:\(|between )(-?[\d.]+)( kN| %)? (?:to|and) (-?[\d.]+)( kN| %)?`)

func lint(t *testing.T, seed uint64, all map[string]string) {
	for at, text := range all {
		text := smallP.ReplaceAllString(text, "${1}0.01")
		for what, r := range misprints {
			if r.MatchString(text) {
				t.Errorf("seed %d: %s: %s: %q", seed, at, what, text)
			}
		}
		for _, m := range ranges.FindAllStringSubmatch(text, -1) {
			lo, errLo := strconv.ParseFloat(m[1], 64)
			hi, errHi := strconv.ParseFloat(m[3], 64)
			if errLo == nil && errHi == nil && lo > hi && (m[2] == m[4] || m[2] == "") {
				t.Errorf("seed %d: %s: from more to less: %q", seed, at, text)
			}
		}
	}
}

// contradictions says where two things that are printed of one campaign cannot both be true.
func contradictions(r *Results, c *Comparison) []string {
	var bad []string
	add := func(format string, args ...any) { bad = append(bad, fmt.Sprintf(format, args...)) }
	for _, a := range r.Answers {
		if a.Lo != nil && a.Hi != nil && *a.Lo > *a.Hi {
			add("answer %s: %v to %v", a.ID, *a.Lo, *a.Hi)
		}
		if e := a.Estimate; e != nil && (a.Lo != nil && *a.Lo > *e*(1+1e-9) || a.Hi != nil && *a.Hi < *e*(1-1e-9)) {
			add("answer %s: the estimate %v lies outside its bounds: %s", a.ID, *e, a.Statement)
		}
		word := map[question.Verdict]string{question.Yes: "Yes: ", question.No: "No: ", question.CannotTell: "Cannot be told yet: "}[a.Verdict]
		if !strings.HasPrefix(a.Statement.String(), word) {
			add("answer %s is %s and says %s", a.ID, a.Verdict, a.Statement)
		}
		if (a.MoreDrops != nil && *a.MoreDrops == 0) != (a.Verdict != question.CannotTell) {
			add("answer %s: %s, %v more drops", a.ID, a.Statement, a.MoreDrops)
		}
	}
	bad = append(bad, againstParts(r)...)
	bad = append(bad, againstStrengths(r, c)...)
	bad = append(bad, againstRatios(r, c)...)
	bad = append(bad, againstLimits(r)...)
	for i, cell := range r.Cells {
		for _, a := range r.Answers {
			if a.ID == "breaks" && drop.Fits(levelsOfCell(cell, r), map[string]string{"material": "aramid", "knot": "overhand", "fall": "0.6 m"}) && (a.N != cell.N || a.Broke != cell.Broke) {
				add("cell %d counts %d of %d, the answer %d of %d", i+1, cell.Broke, cell.N, a.Broke, a.N)
			}
		}
	}
	for _, k := range c.Contrasts {
		if o := k.Odds; o.Lo != nil && o.Hi != nil && *o.Lo > *o.Hi {
			add("odds of %s against %s: %v to %v", k.A, k.B, *o.Lo, *o.Hi)
		}
		if b := k.Break; b != nil && b.P < 0.001 && k.Odds.Lo != nil && k.Odds.Hi != nil && *k.Odds.Lo < 0.5 && *k.Odds.Hi > 2 {
			add("%s against %s: p %v of the breaks beside odds from %v to %v", k.A, k.B, b.P, *k.Odds.Lo, *k.Odds.Hi)
		}
	}
	return bad
}

// levelsOfCell are the levels of a cell's first drop, those that do not vary among them.
func levelsOfCell(cell CellResult, r *Results) map[string]string { return cell.Levels }

// decides is the part that an answer names.
var decides = regexp.MustCompile(`the one that decides: (.*?)\.( |$)`)

// softLoad is a drop that is proposed again.
var softLoad = regexp.MustCompile(`^one more like drop (\S+)`)

// heldRun is the force in kN that specimens would have to hold.
var heldRun = regexp.MustCompile(`each has ([\d.]+) kN or more put on it`)

// againstParts holds an answer against its parts: the one that is named is one of which the same is said, no force is asked of a fall that does not reach it,
// and nothing is fitted where nothing was.
func againstParts(r *Results) []string {
	var bad []string
	add := func(a question.Answer, why string) { bad = append(bad, a.ID+": "+why+": "+a.Statement.String()) }
	peak := map[string]float64{}
	for _, cell := range r.Cells {
		for _, d := range cell.Drops {
			if d.Peak != nil {
				peak[d.Drop] = d.Peak.SI()
			}
		}
	}
	for _, a := range r.Answers {
		fitted := false
		for _, p := range a.Parts {
			fitted = fitted || p.Estimate != nil
			if m := decides.FindStringSubmatch(a.Statement.String()); m != nil && m[1] == p.Name && p.Verdict != a.Verdict {
				add(a, "decided by "+p.Name+", of which is said "+string(p.Verdict))
			}
		}
		like, run := softLoad.FindStringSubmatch(a.NextDrop.String()), heldRun.FindStringSubmatch(a.Statement.String())
		if like != nil && run != nil && len(a.Parts) == 1 {
			if kN, err := strconv.ParseFloat(run[1], 64); err == nil && peak[like[1]] < 999*kN {
				add(a, "proposes a fall that does not reach the force: "+a.NextDrop.String())
			}
		}
		for _, w := range a.Warnings {
			if strings.Contains(w.String(), "fitted to") && !fitted {
				add(a, w.String())
			}
		}
		if strings.Contains(a.Told().String(), " its 0 drops") {
			add(a, a.Told().String())
		}
	}
	return bad
}

// againstStrengths holds the answer on a strength against the table of strengths: the same drops, the same fit, the same estimate.
func againstStrengths(r *Results, c *Comparison) []string {
	var bad []string
	for _, a := range r.Answers {
		if a.ID != "strength" || a.Estimate == nil || len(a.Parts) != 1 {
			continue
		}
		for _, k := range c.Strengths {
			if !drop.Fits(k.Levels, map[string]string{"material": "polyamide", "knot": "sewn"}) || k.Fit == nil {
				continue
			}
			if k.N != a.N || k.Broke != a.Broke {
				bad = append(bad, fmt.Sprintf("%s: %d of %d broke, the answer counts %d of %d", k.Name, k.Broke, k.N, a.Broke, a.N))
			}
			for _, q := range k.Fit.Quantiles {
				if q.P != 0.05 {
					continue
				}
				if math.Abs(q.Value-*a.Estimate) > 1e-6*q.Value {
					bad = append(bad, fmt.Sprintf("5 %% quantile of %s: %v, the answer says %v", k.Name, q.Value, *a.Estimate))
				}
			}
		}
	}
	return bad
}

// againstRatios holds the answer on a ratio against the ratio that compare prints: their bounds may not exclude each other.
func againstRatios(r *Results, c *Comparison) []string {
	var bad []string
	for _, a := range r.Answers {
		if a.ID != "knot" || len(a.Parts) != 1 {
			continue
		}
		for _, x := range c.StrengthRatios {
			if x.Factor != "knot" || x.B != "overhand" || !strings.Contains(x.Rest, "aramid") {
				continue
			}
			if a.Lo != nil && x.Hi != nil && *a.Lo > *x.Hi || a.Hi != nil && x.Lo != nil && *a.Hi < *x.Lo {
				bad = append(bad, fmt.Sprintf("%s beside %s", a.Statement, x.Statement))
			}
		}
	}
	return bad
}

// againstLimits holds the answer on a peak against the verdict on a limit of the same 12 kN in the same cell.
func againstLimits(r *Results) []string {
	var bad []string
	for _, a := range r.Answers {
		if a.ID != "peak" || len(a.Parts) != 1 {
			continue
		}
		for _, cell := range r.Cells {
			if !slices.ContainsFunc(cell.Drops, func(d compare.Row) bool { return slices.Contains(a.Drops, d.Drop) }) {
				continue
			}
			for _, l := range cell.Limits {
				if l.Value != 12000 {
					continue
				}
				if a.Verdict == question.Yes && (l.Verdict == limits.Exceeds || l.Verdict == limits.WithinReach) || a.Verdict == question.No && l.Verdict == limits.Below {
					bad = append(bad, fmt.Sprintf("%s beside %s: %s", a.Statement, l.Name, l.Text))
				}
			}
		}
	}
	return bad
}

// drawnWhole parses a drawing.
func drawnWhole(t *testing.T, svg []byte) {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(svg))
	for {
		_, err := d.Token()
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil {
			t.Fatalf("%v in %s", err, svg)
		}
	}
}

// No two sentences printed of one campaign may contradict each other in direction, unit or number. HARDCATCH_CAMPAIGNS=500 looks at more.
func TestNoTwoSentencesContradict(t *testing.T) {
	n := 60
	if testing.Short() {
		n = 15
	}
	if text := os.Getenv("HARDCATCH_CAMPAIGNS"); text != "" {
		n, _ = strconv.Atoi(text)
	}
	verdicts := map[question.Verdict]int{}
	for seed := range uint64(n) {
		c := simulatedCampaign(rand.New(rand.NewPCG(seed, 9)))
		now, err := c.Now()
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		r := results(now)
		k, err := compareAll(c, c.Entries(), now.Cells, CompareOptions{Confidence: 0.95, Seed: seed})
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		for _, text := range contradictions(r, k) {
			t.Errorf("seed %d: %s", seed, text)
		}
		lint(t, seed, texts(t, r))
		lint(t, seed, texts(t, k))
		for _, a := range r.Answers {
			verdicts[a.Verdict]++
			if f := AnswerFigure(a, message.Locale{}); f != nil {
				drawnWhole(t, f.SVG("reply"))
			} else if a.Lo != nil && a.Hi != nil && a.Estimate != nil {
				t.Errorf("seed %d: nothing is drawn of %s", seed, a.Statement)
			}
		}
	}
	if n >= 60 && (verdicts[question.Yes] == 0 || verdicts[question.No] == 0 || verdicts[question.CannotTell] == 0) {
		t.Errorf("the campaigns do not try every verdict: %v", verdicts)
	}
}
