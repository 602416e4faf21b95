package view_test

import (
	"context"
	"encoding/json"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/view"
)

func opened(t *testing.T, a *look.Access, path string) *look.Campaign {
	t.Helper()
	s, err := a.Open(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

// plainly is a value as JSON gives it.
func plainly(t *testing.T, v any) map[string]any {
	t.Helper()
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]any{}
	if err := json.Unmarshal(b, &out); err != nil {
		t.Fatal(err)
	}
	return out
}

// What is looked at is what the command compare prints, number for number, the check of the fits included when it is asked for.
func TestComparisonIsThatOfTheCommand(t *testing.T) {
	a, path := demonstration(t)
	ctx := context.Background()
	want, err := view.Compare(ctx, a, path, view.CompareOptions{Confidence: 0.95, Seed: 1, Bootstrap: 200, Goodness: true})
	if err != nil {
		t.Fatal(err)
	}
	o := view.ComparisonOptions{Goodness: true}
	o.Bootstrap = 200
	got, err := view.ComparisonOf(ctx, opened(t, a, path), o)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(plainly(t, want), plainly(t, &got.Comparison)); diff != "" {
		t.Error(diff)
	}
	for _, d := range got.Differences {
		if d.Of != compare.OfPeak {
			continue
		}
		for _, k := range want.Contrasts {
			if k.Factor == d.Factor && k.A == d.A && k.B == d.B && k.Ratio != nil && math.Abs(*d.Ratio-k.Ratio.SI()) > 1e-12 {
				t.Errorf("%s %s: the peak ratio is %g, by the command %g", k.A, k.B, *d.Ratio, k.Ratio.SI())
			}
		}
	}
	if got.By != "conditioning" || got.Along != "fall" || got.Differences[0].Factor != "conditioning" || len(got.Differences) != 3*len(want.Contrasts) {
		t.Errorf("%s along %s", got.By, got.Along)
	}
	for _, r := range got.Rated {
		below, broke := 0, 0
		for _, c := range got.Cells {
			for _, x := range c.Drops {
				if c.Levels["conditioning"] == r.Level && x.Outcome == drop.Broke {
					broke++
					if x.Peak.SI() < 22000 {
						below++
					}
				}
			}
		}
		if r.Broke != broke || r.Below != below || r.N != 32 || r.Rating != "22 kN" {
			t.Errorf("%+v, want %d and %d", r, broke, below)
		}
	}
	if len(got.Rated) != 2 {
		t.Errorf("%+v", got.Rated)
	}
}

// A decision that leaves the outcomes is no reason to test again; one that voids a drop is.
func TestComparisonFollowsTheLogbook(t *testing.T) {
	a, path := demonstration(t)
	ctx := context.Background()
	s := opened(t, a, path)
	seen := func() *view.ComparisonView {
		t.Helper()
		v, err := view.ComparisonOf(ctx, s, view.ComparisonOptions{})
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	decide := func(o drop.Outcome) {
		t.Helper()
		if _, err := app.Decide(ctx, a, s.Path(), drop.Decision{Drop: "d05", Outcome: o, Reason: "looked at again", By: "bench"}); err != nil {
			t.Fatal(err)
		}
	}
	reason := func(v *view.ComparisonView) string {
		for _, c := range v.Cells {
			for _, d := range c.Drops {
				if d.Drop == "d05" {
					return d.Reason
				}
			}
		}
		return ""
	}
	first := seen()
	if seen().Differences[0].Ratio != first.Differences[0].Ratio {
		t.Error("the same head is compared twice")
	}
	decide(drop.Held) // as it stood
	second := seen()
	if second.Head == first.Head || reason(second) != "looked at again" || second.Differences[0].Ratio != first.Differences[0].Ratio {
		t.Errorf("%s %s %q", first.Head, second.Head, reason(second))
	}
	decide(drop.Void)
	third := seen()
	if third.Contrasts[0].NA+third.Contrasts[0].NB != first.Contrasts[0].NA+first.Contrasts[0].NB-1 {
		t.Errorf("%+v", third.Contrasts[0].Contrast)
	}
}

func TestComparisonAsked(t *testing.T) {
	a, path := demonstration(t)
	ctx := context.Background()
	s := opened(t, a, path)
	for _, m := range []string{"peak", "energy", "elongation", "impulse", "time", "duration", "rise", "stiffness", "loss", "speed"} {
		v, err := view.ComparisonOf(ctx, s, view.ComparisonOptions{Measure: m, Only: map[string]string{"material": "polyester"}})
		if err != nil {
			t.Fatalf("%s: %v", m, err)
		}
		if v.LeftOut != 24 || v.Differences[1].Of != v.Measure.Name || len(v.Figures.Cells) == 0 || v.Contrasts[0].Factor == "material" {
			t.Errorf("%s: %d left out, %s", m, v.LeftOut, v.Differences[1].Of)
		}
		seen, bounds := 0, 0
		for _, c := range v.Cells {
			for _, d := range c.Measured.Values {
				if d.AtLeast {
					bounds++
				} else {
					seen++
				}
			}
		}
		want := map[string][2]int{"at least": {24, 16}, "nothing": {24, 0}, "all": {40, 0}}[v.Measure.LetGo]
		if [2]int{seen, bounds} != want {
			t.Errorf("%s: %d seen and %d bounds, want %v", m, seen, bounds, want)
		}
		if m != "peak" && (v.MeasureEffects == nil || v.MeasureEffects.Of != v.Measure.Name) {
			t.Errorf("%s: %+v", m, v.MeasureEffects)
		}
	}
	for _, family := range []string{"weibull", "lognormal", "normal", "exponential"} {
		v, err := view.ComparisonOf(ctx, s, view.ComparisonOptions{Dist: family, Quantiles: []float64{0.2}})
		if err != nil {
			t.Fatalf("%s: %v", family, err)
		}
		for _, k := range v.Strengths {
			if k.Fit == nil || k.Fit.Dist != family || len(k.Fit.Quantiles) != 1 || k.Fit.Quantiles[0].P != 0.2 {
				t.Errorf("%s: %+v", family, k)
			}
		}
	}
	v, err := view.ComparisonOf(ctx, s, view.ComparisonOptions{By: "none", Along: "knot"})
	if err != nil || v.By != "" || v.Along != "knot" || v.Rated[0].N != 64 {
		t.Errorf("%+v %v", v, err)
	}
	many := view.ComparisonOptions{}
	many.Bootstrap = 1e6
	certain := view.ComparisonOptions{}
	certain.Confidence = 1
	for what, o := range map[string]view.ComparisonOptions{
		"choose one of peak, energy": {Measure: "colour"}, "no factor \"colour\"": {By: "colour"}, "there are material": {Along: "colour"}, "no factor \"size\"": {Only: map[string]string{"size": "1"}},
		"no drop has the material": {Only: map[string]string{"material": "silk"}}, "choose one of weibull": {Dist: "cauchy"}, "too many for a page": many, "confidence": certain,
	} {
		if _, err := view.ComparisonOf(ctx, s, o); err == nil || !strings.Contains(err.Error(), what) {
			t.Errorf("%+v: %v, want %q", o, err, what)
		}
	}
}

func TestChecks(t *testing.T) {
	a, path := demonstration(t)
	ctx := context.Background()
	s := opened(t, a, path)
	v, err := view.Checks(ctx, s, message.English())
	if err != nil {
		t.Fatal(err)
	}
	want, err := view.Compare(ctx, a, path, view.CompareOptions{Confidence: 0.95, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(plainly(t, want.Checks), plainly(t, v.Chart)); diff != "" {
		t.Error(diff)
	}
	if len(v.Drops) != 4 || v.Until != "2027-01-18" || v.Wide == nil || v.Narrow == nil || len(v.After) != 0 || v.Chart.Drift == nil {
		t.Errorf("%+v", v)
	}
	if _, err := app.Decide(ctx, a, s.Path(), drop.Decision{Drop: v.Drops[0].Drop, Outcome: drop.Void, Reason: "the link was changed", By: "bench"}); err != nil {
		t.Fatal(err)
	}
	after, err := view.Checks(ctx, s, message.English())
	if err != nil || after.Chart.N != 3 || len(after.Drops) != 4 || after.Drops[3].Charted || after.Drops[3].Drop != v.Drops[0].Drop {
		t.Errorf("%+v %v", after, err)
	}
	// The last day of the certificate still counts.
	files, err := app.MakeDemoFiles(ctx, a)
	if err != nil {
		t.Fatal(err)
	}
	last := v.Drops[1].Taken
	text := strings.Replace(string(files["rig.yaml"]), "expires: 2027-01-18", "expires: "+last, 1)
	if _, err := app.SetRig(ctx, a, path, "rig.yaml", strings.NewReader(text)); err != nil {
		t.Fatal(err)
	}
	ended, err := view.Checks(ctx, s, message.English())
	if err != nil {
		t.Fatal(err)
	}
	m, err := s.Moment(ctx)
	if err != nil {
		t.Fatal(err)
	}
	var late []string
	for _, d := range m.Drops {
		if d.Drop.Taken > last {
			late = append(late, d.Drop.ID)
		}
	}
	if len(late) == 0 || len(late) == len(m.Drops) || !slices.Equal(ended.After, late) {
		t.Errorf("after %s: %v, want %v", last, ended.After, late)
	}
	empty := filepath.Join(t.TempDir(), "empty.hardcatch")
	st, err := a.Files.Create(ctx, empty, store.Campaign{Name: "nothing yet", Question: "what?"})
	if err != nil {
		t.Fatal(err)
	}
	if err := st.Close(); err != nil {
		t.Fatal(err)
	}
	none, err := view.Checks(ctx, opened(t, a, empty), message.English())
	if err != nil || none.Wide != nil || !strings.Contains(none.Chart.Statement.String(), "nothing shows that the rig stayed the same") || none.Expiry.State != "not stated" {
		t.Errorf("%+v %v", none, err)
	}
}
