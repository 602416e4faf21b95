package plan

import (
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

const g = quantity.StandardGravity

// wexler is the peak of a fall h of the weight w onto a linear spring k: F = W + sqrt(W^2 + 2 W h k) (Wexler, Am. Alpine
// J. 1950).
func wexler(w, h, k float64) float64 { return w + math.Sqrt(w*w+2*w*h*k) }

// linear is one cell without any spread: a linear textile of 100 kN on a massless rig of 2 MN/m.
func linear() *Plan {
	return &Plan{
		Question: "q", Rig: drop.Rig{Mass: 80, Stiffness: 2e6}, Tower: Tower{LeastCellPart: 0.1, MostCellPart: 0.9},
		Fixed:      []Factor{{Name: Material, Levels: []string{"a"}}, {Name: Knot, Levels: []string{"sewn"}}, {Name: Length, Levels: []string{"1 m"}}, {Name: Fall, Levels: []string{"1 m"}}},
		Builds:     map[string]Build{"a": {Textile: arrest.Textile{E1: 100e3}}},
		Replicates: 1, Days: 1, Simulations: 200,
	}
}

func forecast(t *testing.T, p *Plan) *Forecast {
	t.Helper()
	f, err := p.Forecast(background, layout(t, p).Cells[0])
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if math.Abs(got-want) > rel*math.Abs(want) {
		t.Errorf("%s: %.6g, want %.6g", what, got, want)
	}
}

// With k = 1/(L/EA + 1/k_r) = 1/(1/1e5 + 1/2e6) the peak, the elongation x = F/k and the energy m g (h + x) follow.
// The limit of 10 kN is reached at h = (F^2 - 2 W F)/(2 W k), and by the weight W = F^2/(2 F + 2 h k).
func TestLargestFallOfALinearTextile(t *testing.T) {
	const k, w = 1 / (1/1e5 + 1/2e6), 80 * g
	p := linear()
	p.Tower.Connectors = 10e3
	f := forecast(t, p)
	peak := wexler(w, 1, k)
	near(t, "peak", f.Peak.P95.SI(), peak, 1e-6)
	near(t, "elongation", f.Elongation.SI(), peak/k, 1e-6)
	near(t, "energy", f.Energy.SI(), w*(1+peak/k), 1e-6)
	if f.Runs || len(f.Checks) != 1 || f.Checks[0].Verdict != Stops {
		t.Fatalf("%+v: a peak of %.0f N passes 10 kN", f, peak)
	}
	c := f.Checks[0]
	h := (10e3*10e3 - 2*w*10e3) / (2 * w * k)
	near(t, "largest fall", c.LargestFall.SI(), h, 1e-3)
	near(t, "largest fall factor", c.LargestFallFactor.SI(), h, 1e-3)
	near(t, "largest mass", c.LargestMass.SI(), 10e3*10e3/(2*10e3+2*1*k)/g, 1e-3)
	// On the safe side, by the formula.
	if at := wexler(w, c.LargestFall.SI(), k); at > 10e3*(1+1e-6) {
		t.Errorf("the fall proposed peaks at %.3f N", at)
	}
	if at := wexler(c.LargestMass.SI()*g, 1, k); at > 10e3*(1+1e-6) {
		t.Errorf("the mass proposed peaks at %.3f N", at)
	}
	for _, part := range []string{"connectors: 13.0 kN is predicted", "the limit is 10.0 kN", "a fall of up to 0.56 m", "a limit of 13.1 kN or more"} {
		if !strings.Contains(f.Sentences[0].String(), part) {
			t.Errorf("%q does not say %q", f.Sentences[0], part)
		}
	}
}

// A load let go when taut reaches 2 W (Wexler with h = 0): no fall stays within less, a smaller mass does.
func TestNoFallStaysWithin(t *testing.T) {
	p := linear()
	p.Tower.Anchor = 1.9 * 80 * g
	f := forecast(t, p)
	c := f.Checks[0]
	if c.Verdict != Stops || c.LargestFall != nil || c.LargestMass == nil || !strings.Contains(f.Sentences[0].String(), "not even the load let go when taut") {
		t.Errorf("%+v, %v", c, f.Sentences)
	}
}

// From the floor: a fall of 1 m of a specimen of 1 m on 0.4 m of rigging hangs slack at 1.4 m; a fall of 2 m starts above
// the anchor, so that it counts itself.
func TestHeights(t *testing.T) {
	const k, w = 1 / (1/1e5 + 1/2e6), 80 * g
	for _, x := range []struct{ fall, above float64 }{{1, 0}, {1.4, 0}, {2, 0.6}} {
		p := linear()
		p.Fixed[3].Levels[0] = quantity.Significant(x.fall, 3) + " m"
		p.Tower.Rigging, p.Tower.MassHeight, p.Tower.Clearance, p.Tower.Height, p.Tower.AnchorHeight = 0.4, 0.3, 0.5, 2.6, 2.5
		f := forecast(t, p)
		e := wexler(w, x.fall, k) / k
		want := map[string]float64{"tower height": math.Max(x.fall, 1.4) + e + 0.8, "anchor height": 1.4 + e + 0.8, "height above the anchor": x.above}
		near(t, "height needed", f.Height.SI(), want["tower height"], 1e-6)
		for _, c := range f.Checks {
			if c.Unit == "m" && math.Abs(c.Predicted-want[c.Limit.String()]) > 1e-6 {
				t.Errorf("fall %g m: %s %.6f m, want %.6f m", x.fall, c.Limit, c.Predicted, want[c.Limit.String()])
			}
		}
		if f.Runs != (x.above == 0 && want["tower height"] < 2.6) {
			t.Errorf("fall %g m: runs %v", x.fall, f.Runs)
		}
	}
}

// A strength spread about the peak itself parts half of the specimens; then the recorded peak is the smaller of the
// two, while the demand is the formula's.
func TestBreaksHalf(t *testing.T) {
	const k, w = 1 / (1/1e5 + 1/2e6), 80 * g
	p := linear()
	peak := wexler(w, 1, k)
	cv := 0.08
	// The median of a lognormal strength is its mean over sqrt(1 + cv^2).
	b := p.Builds["a"]
	b.Textile.Strength = quantity.Force(peak * math.Sqrt(1+cv*cv))
	p.Builds["a"] = b
	p.Spread.Strength, p.Simulations = quantity.Ratio(cv), 8000
	p.Tower.Connectors = quantity.Force(peak * 1.0001)
	f := forecast(t, p)
	if f.BreakLo > 0.5 || f.BreakHi < 0.5 || f.BreakHi-f.BreakLo > 0.03 {
		t.Errorf("break probability %.3f (%.3f to %.3f), want a half", f.BreakProb, f.BreakLo, f.BreakHi)
	}
	near(t, "demand", f.Demand.P50.SI(), peak, 1e-6)
	near(t, "95th percentile", f.Peak.P95.SI(), peak, 1e-6)
	sigma := math.Sqrt(math.Log1p(cv * cv))
	near(t, "5th percentile", f.Peak.P05.SI(), peak*math.Exp(-1.6449*sigma), 0.01)
	if !f.Runs {
		t.Error("a connector above every peak stops the cell")
	}
}

// A specimen that parts at half of the demand keeps the connectors safe, and that is said.
func TestWithinOnlyBecauseItParts(t *testing.T) {
	p := linear()
	b := p.Builds["a"]
	b.Textile.Strength = 6e3
	p.Builds["a"] = b
	p.Tower.Connectors, p.Rig.LoadCell.Capacity = 10e3, 100e3
	f := forecast(t, p)
	if !f.Runs || f.Broke != f.Simulations {
		t.Fatalf("%+v", f)
	}
	verdicts := map[string]Verdict{}
	for _, c := range f.Checks {
		verdicts[c.Limit.String()] = c.Verdict
	}
	if verdicts["connectors"] != IfParts || verdicts["90 % of the load cell's capacity"] != Within || verdicts["least share of the load cell's capacity"] != TooSmall {
		t.Errorf("%v", verdicts)
	}
	near(t, "share of the load cell", f.CellHi.SI(), 0.06, 1e-3)
	if s := strings.Join(message.Texts(f.Warnings), "\n"); !strings.Contains(s, "would be passed if the specimen held") || !strings.Contains(s, "uses 6.0 % of the capacity") {
		t.Error(s)
	}
}

// With a spread the search is made to agree with the forecast at the planned fall, so that what it proposes is
// smaller; the forecast of the proposal stays within the limit but for what 256 draws cannot tell.
func TestProposalStaysWithinOverASpread(t *testing.T) {
	p := linear()
	p.Spread, p.Simulations = StartingSpread(), 4000
	p.Tower.Connectors = 12e3
	f := forecast(t, p)
	c := f.Checks[0]
	if c.Verdict != Stops || c.LargestFall == nil || *c.LargestFall >= 1 || *c.LargestMass >= 80 {
		t.Fatalf("%+v", c)
	}
	p.Fixed[3].Levels[0] = quantity.Significant(c.LargestFall.SI(), 6) + " m"
	near(t, "peak of the proposal", forecast(t, p).Peak.P95.SI(), 12e3, 0.015)
}

// A check drop of 0.1 m on a linear element of its own is Wexler's peak too, and is held against the same limits.
func TestCheckDropIsForecast(t *testing.T) {
	p := linear()
	if f, err := p.CheckForecast(background); f != nil || err != nil {
		t.Errorf("%+v, %v of no check drop", f, err)
	}
	p.Check = &CheckDrop{Specimen: "link", Length: 0.5, Fall: 0.1, Mass: 100, Textile: &arrest.Textile{E1: 500e3}}
	p.Tower.Anchor = 10e3
	f, err := p.CheckForecast(background)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "peak", f.Peak.P50.SI(), wexler(100*g, 0.1, 1/(0.5/5e5+1/2e6)), 1e-6)
	if f.Runs || !strings.Contains(f.Sentences[0].String(), "anchor: 12.") {
		t.Errorf("%v", f.Sentences)
	}
}

func TestUnknownKnotIsSaid(t *testing.T) {
	p := linear()
	p.Fixed[1].Levels[0] = "triple twist"
	_, err := p.Forecast(background, layout(t, p).Cells[0])
	if err == nil || !strings.Contains(err.Error(), `a knot "triple twist" in a`) {
		t.Error(err)
	}
	p.Fixed[0].Levels[0], p.Fixed[1].Levels[0] = "polyamide", "overhand"
	p.Builds["polyamide"] = p.Builds["a"]
	f := forecast(t, p)
	// The one published value for polyamide and overhand: 0.64.
	if s := strings.Join(message.Texts(f.Warnings), "\n"); !strings.Contains(s, "is taken to leave 64 % of the strength") {
		t.Error(s)
	}
}

func TestEffectsScale(t *testing.T) {
	const w = 80 * g
	p := linear()
	p.Fixed = append(p.Fixed, Factor{Name: Conditioned, Levels: []string{"wet"}})
	p.Effects = []Effect{{Conditioned, "wet", 0.8, 0.5}, {Conditioned, "dry", 0.1, 0.1}}
	f := forecast(t, p)
	near(t, "peak of half the stiffness", f.Peak.P50.SI(), wexler(w, 1, 1/(1/5e4+1/2e6)), 1e-6)
}

func BenchmarkForecast(b *testing.B) {
	set, _ := arrest.StartingSet("hmpe-blend-sling")
	p := linear()
	p.Rig.NodeMass, p.Rig.Damping = 0.5, 0.03
	p.Builds["a"] = Build{Textile: set, Knots: map[string]quantity.Ratio{"overhand": 0.5}}
	p.Fixed[1].Levels[0] = "overhand"
	p.Spread, p.Simulations = StartingSpread(), 2000
	l, err := NewLayout(p)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := p.Forecast(background, l.Cells[0]); err != nil {
			b.Fatal(err)
		}
	}
}
