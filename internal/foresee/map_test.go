package foresee

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/contour"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

func mapOf(t testing.TB, q MapQuestion) *Map {
	t.Helper()
	m, err := AskMap(context.Background(), &look.Access{}, q)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func axis(q MapQuantity, from, to float64) MapAxis { return MapAxis{Quantity: q, From: from, To: to} }

// On a linear textile and a rigid rig F = W + sqrt(W^2 + 2 W EA f): the peak hangs on the fall factor alone (Wexler, Am. Alpine
// J. 1950), so that the iso-lines over fall factor and length stand upright, at f = F (F - 2 W)/(2 W EA). The drops are those
// of the simulation.
func TestIsoLinesOfTheLinearSpring(t *testing.T) {
	const ea, mass = 161e3, 80.0
	weight := mass * quantity.StandardGravity
	q := MapQuestion{WhatIf: WhatIf{Mass: mass, Fall: 0.6, Length: 0.6, Material: "steel-wire", Rig: 1e9}}
	q, err := q.withDefaults(nil)
	if err != nil {
		t.Fatal(err)
	}
	s, err := survey(context.Background(), &look.Access{}, q, func() peakAt {
		var e arrest.Engine
		return func(across, up float64) (float64, error) {
			w := q.At(across, up)
			c := arrest.Case{Mass: w.Mass, Fall: w.Fall, Until: 0.5, Chain: []arrest.Element{{Kind: arrest.KindTextile, Textile: &arrest.Textile{Length: w.Length, E1: ea}}}}
			var sum arrest.Summary
			err := e.Drop(&c, &sum)
			return sum.PeakForce.SI(), err
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	if s.fit.Worst > 0.004 {
		t.Errorf("read off with %g of error", s.fit.Worst)
	}
	for _, f := range []quantity.Force{2e3, 4e3, 8e3, 12e3, 16697.885, 20e3} {
		want := f.SI() * (f.SI() - 2*weight) / (2 * weight * ea)
		lines := s.lines(f)
		if len(lines) != 1 {
			t.Fatalf("%v: %d lines", f, len(lines))
		}
		l := lines[0]
		if n := len(l.Up); math.Abs(math.Abs(l.Up[0]-l.Up[n-1])-2.7) > 1e-9 {
			t.Errorf("%v: the line does not go from the lower border to the upper one", f)
		}
		for i, x := range l.Across {
			// A force off by 0.3 % is what the reading allows; the line moves by dF/df times as much.
			slope := weight * ea / (f.SI() - weight)
			if math.Abs(x-want) > 0.003*f.SI()/slope {
				t.Errorf("%v at %g m: fall factor %g, want %g", f, l.Up[i], x, want)
				break
			}
		}
	}
}

// At every place of the lines a single fall, simulated with all that the page What if has, gives the force of the line within 1 %.
func TestLinesAgainstSingleFalls(t *testing.T) {
	for _, q := range []MapQuestion{
		{WhatIf: WhatIf{Fall: 0.9}},
		{WhatIf: WhatIf{Fall: 0.9, Material: "polyamide-webbing", Knot: "figure-eight-polyamide-16-mm"}, Across: axis(MapSlack, 0.05, 2), Up: axis(MapMass, 60, 140)},
		{WhatIf: WhatIf{Fall: 1.2, Material: "dynamic-rope"}, Across: axis(MapRig, 0, 0), Up: axis(MapFall, 0, 0)},
		{WhatIf: WhatIf{Fall: 1.2, Material: "aramid-cord"}, Across: axis(MapLength, 0, 0), Up: axis(MapFactor, 0, 0)},
	} {
		m := mapOf(t, q)
		levels := m.Levels
		for _, l := range m.Limits {
			levels = append(levels, MapLevel{l.Value, l.Lines})
		}
		n := 0
		for _, lv := range levels {
			for _, l := range lv.Lines {
				for i := 0; i < len(l.Across); i += max(1, len(l.Across)/5) {
					w := m.At(l.Across[i], l.Up[i])
					w.Material, w.Knot = m.Asked.Material, m.Asked.Knot
					c, err := w.model()
					if err != nil {
						t.Fatal(err)
					}
					c.Unbroken = true
					c.Until = 1.5
					r, err := arrest.Run(context.Background(), c, arrest.Options{})
					if err != nil {
						t.Fatal(err)
					}
					n++
					if off := r.PeakForce.SI()/lv.Force.SI() - 1; math.Abs(off) > 0.01 {
						t.Errorf("%s, on the line of %v at %g, %g: a single fall gives %v (%+.2f %%)", m.words(message.English()), lv.Force, l.Across[i], l.Up[i], r.PeakForce, 100*off)
					}
				}
			}
		}
		if n < 30 {
			t.Errorf("%s: only %d places", m.words(message.English()), n)
		}
	}
}

// The halving finds a kink: peak = max(2, 1 + 3 f) kN has one at f = 1/3, and the map is right on both sides of it.
func TestSurveyFindsKinks(t *testing.T) {
	q, err := MapQuestion{WhatIf: WhatIf{Material: "dynamic-rope"}, Up: axis(MapMass, 50, 150)}.withDefaults(nil)
	if err != nil {
		t.Fatal(err)
	}
	kink := func(x, _ float64) float64 { return 1000 * math.Max(2, 1+3*x) }
	s, err := survey(context.Background(), &look.Access{}, q, func() peakAt { return func(x, y float64) (float64, error) { return kink(x, y), nil } })
	if err != nil {
		t.Fatal(err)
	}
	m := &Map{q: q, s: s}
	for _, x := range []float64{0.1, 0.3, 0.34, 0.4, 1, 1.9} {
		if off := m.Read(x, 90).SI()/kink(x, 90) - 1; math.Abs(off) > 0.01 {
			t.Errorf("at %g: %v, want %g N", x, m.Read(x, 90), kink(x, 90))
		}
	}
	if s.fit.Worst > allowedFit || s.fit.Worst == 0 {
		t.Errorf("worst %g", s.fit.Worst)
	}
}

// A jump cannot be read: the map says how far off it is, and where.
func TestMapSaysWhereItIsNotRight(t *testing.T) {
	q, err := MapQuestion{}.withDefaults(nil)
	if err != nil {
		t.Fatal(err)
	}
	s, err := survey(context.Background(), &look.Access{}, q, func() peakAt {
		return func(x, y float64) (float64, error) {
			if x > 0.777 {
				return 9000, nil
			}
			return 3000, nil
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	if s.fit.Worst < 0.2 || math.Abs(s.fit.Across-0.777) > 0.05 {
		t.Errorf("%+v", s.fit)
	}
	m, err := q.draw(context.Background(), s, nil)
	if err != nil {
		t.Fatal(err)
	}
	if w := strings.Join(message.Texts(m.Warnings), "\n"); !strings.Contains(w, "% of error (at fall factor 0.7") {
		t.Error(w)
	}
}

// With an absorber the map leaves the ripple of the tearing force out and takes its crest. Against the simulation with the ripple,
// on a rig without mass, before and after it is torn out: never lower by more than 1 %, and not higher by more than 8 %.
func TestAbsorberAtItsCrest(t *testing.T) {
	var k asker
	for _, fall := range []quantity.Length{0.05, 0.5, 2, 3.2, 4.2, 5, 6} {
		w := WhatIf{Mass: 100, Fall: fall, Length: 1.5, Material: "dynamic-rope", Rig: 2e6, Absorber: true}
		got, _, err := k.ask(w, true)
		if err != nil {
			t.Fatal(err)
		}
		c, err := w.model()
		if err != nil {
			t.Fatal(err)
		}
		c.Unbroken = true
		c.Chain[0].Rig.NodeMass, c.Chain[0].Rig.DampingRatio = 0, 0
		r, err := arrest.Run(context.Background(), c, arrest.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if off := got.SI()/r.PeakForce.SI() - 1; off < -0.01 || off > 0.08 {
			t.Errorf("fall %v: %v, with the ripple %v (%+.2f %%)", fall, got, r.PeakForce, 100*off)
		}
	}
}

// The slack at a limit is the largest, to the centimetre, whose single fall stays below it.
func TestMapReach(t *testing.T) {
	m := mapOf(t, MapQuestion{WhatIf: WhatIf{Fall: 0.9}})
	told := 0
	// What the limit is held against: the force in the chain, or the reading through the filter.
	force := func(w WhatIf, use arrest.Use) quantity.Force {
		c, err := w.model()
		if err != nil {
			t.Fatal(err)
		}
		c.Unbroken, c.AtLeast = true, true
		r, err := arrest.Run(context.Background(), c, arrest.Options{})
		if err != nil {
			t.Fatal(err)
		}
		return r.Loads().For(use)
	}
	for _, l := range m.Limits {
		if l.Slack == nil {
			continue
		}
		told++
		w := m.Asked
		w.Fall = *l.Slack
		below := force(w, useOf(l.Kind))
		w.Fall += 0.0105
		above := force(w, useOf(l.Kind))
		if below >= l.Value || above < l.Value {
			t.Errorf("%s: %v at %v of slack, %v a centimetre on", l.Name, below, *l.Slack, above)
		}
	}
	if told != 7 {
		t.Errorf("%d limits have a slack", told)
	}
	// Small wired chocks are rated up to about 12 kN (common practice, no source).
	if text := strings.Join(m.Statements, "\n"); !strings.Contains(text, "m of slack on 0.90 m of polyester webbing reaches the 12.0 kN of small chock.") {
		t.Error(text)
	}
}

// The page What if shows the whole first arrest, however long the rope: its peak is the one that the map has there.
func TestWhatIfShowsTheWholeArrest(t *testing.T) {
	for _, w := range []WhatIf{
		{Mass: 100, Fall: 0.1, Length: 6, Material: "dynamic-rope"}, {Mass: 100, Fall: 1, Length: 10, Material: "dynamic-rope"}, {Mass: 150, Fall: 1, Length: 40, Material: "semi-static-rope"},
		{Mass: 80, Fall: 2, Length: 100, Material: "dynamic-rope"}, {Mass: 100, Fall: 0.9, Length: 0.9, Material: "steel-wire"},
	} {
		w = w.withDefaults()
		var k asker
		want, _, err := k.ask(w, false)
		if err != nil {
			t.Fatal(err)
		}
		got, err := AskModel(context.Background(), w)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got.Peak.SI()/want.SI()-1) > 1e-4 && got.Outcome != drop.Broke {
			t.Errorf("%+v: %v, the map has %v", w, got.Peak, want)
		}
		if last := got.Start.SI() + float64(len(got.Force)-1)/got.Rate.SI(); last < got.PeakTime.SI() {
			t.Errorf("%+v: the curve ends at %g s, before the peak at %v", w, last, got.PeakTime)
		}
	}
}

func TestPartingFollowsKnotAndAbsorber(t *testing.T) {
	for _, c := range []struct {
		w    WhatIf
		want quantity.Force
		what string
	}{
		{WhatIf{Material: "hmpe-blend-sling"}, 22000, "hmpe-blend-sling"},
		{WhatIf{Material: "hmpe-blend-sling", Knot: "overhand-HMPE-11-mm"}, 0.46 * 22000, "overhand"},
		{WhatIf{Material: "hmpe-blend-sling", Absorber: true}, 15000, "absorber"},
		{WhatIf{Material: "hmpe-blend-sling", Knot: "overhand-HMPE-11-mm", Absorber: true}, 0.46 * 22000, "overhand"},
	} {
		m := &Map{q: MapQuestion{WhatIf: c.w.withDefaults()}, s: &surface{fine: contour.Grid{X: []float64{0, 1}, Y: []float64{0, 1}, V: []float64{0, 1, 2, 3}}}}
		if err := m.part(context.Background()); err != nil {
			t.Fatal(err)
		}
		if math.Abs(m.Parting.Force.SI()-c.want.SI()) > 1e-6 || m.Parting.What != c.what {
			t.Errorf("%+v: %v of %s, want %v of %s", c.w, m.Parting.Force, m.Parting.What, c.want, c.what)
		}
	}
}

func TestMapRefusals(t *testing.T) {
	for want, q := range map[string]MapQuestion{
		"is no quantity of a map":               {Across: MapAxis{Quantity: "colour"}},
		"chosen for both directions":            {Across: MapAxis{Quantity: MapMass}, Up: MapAxis{Quantity: MapMass}},
		"both say how high the fall is":         {Across: MapAxis{Quantity: MapSlack}, Up: MapAxis{Quantity: MapFall}},
		"is no range":                           {Across: axis(MapFactor, 1, 1)},
		"is outside 0 to 20":                    {Across: axis(MapFactor, 0, 50)},
		"is outside 50.0 mm to":                 {Up: axis(MapLength, 0, 1)},
		"there are no starting values for":      {WhatIf: WhatIf{Material: "spider silk"}},
		"knot: ":                                {WhatIf: WhatIf{Knot: "granny"}},
		"fall height: 160.0 m is outside":       {Across: axis(MapFactor, 0, 20), Up: axis(MapLength, 1, 8)},
		`"lid" is not known here`:               {Limits: []string{"lid"}},
		"own rating: -1.000 N is negative":      {Own: &OwnLimit{"x", -1}},
		"fall factor: NaN":                      {Across: axis(MapFactor, math.NaN(), 1)},
		"mass: 0 kg to 1.00 kg is outside 1.00": {Across: axis(MapMass, 0, 1)},
	} {
		_, err := AskMap(context.Background(), &look.Access{}, q)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%+v: %v, want %q", q, err, want)
		}
	}
}

func TestMapDropsOfAMaterial(t *testing.T) {
	mk := func(material, construction, knot string) drop.Drop {
		return drop.Drop{Specimen: drop.Specimen{Material: material, Construction: construction, Knot: knot}}
	}
	for _, c := range []struct {
		set, knot string
		d         drop.Drop
		want      bool
	}{
		{"polyester-webbing", "", mk("polyester", "webbing 25 mm", "sewn eyes"), true},
		{"polyester-webbing", "", mk("Polyester", "", ""), true},
		{"polyester-webbing", "", mk("polyester-webbing", "", ""), true},
		{"polyester-webbing", "", mk("polyester", "webbing", "figure-eight"), false},
		{"polyester-webbing", "figure-eight-HMPE-8-mm", mk("polyester", "webbing", "Figure-eight"), true},
		{"polyester-webbing", "overhand-HMPE-8-mm", mk("polyester", "webbing", "figure-eight"), false},
		{"polyester-webbing", "", mk("polyester", "rope 11 mm", ""), false},
		{"polyamide-webbing", "", mk("polyester", "webbing", ""), false},
		{"dynamic-rope", "", mk("polyamide", "dynamic rope 10 mm", ""), true},
		{"dynamic-rope", "", mk("polyamide", "semi-static rope", ""), false},
		{"semi-static-rope", "", mk("polyamide", "rope, semi-static", "spliced"), true},
		{"hmpe-blend-sling", "", mk("HMPE", "sling 8 mm", "sewn"), true},
		{"polyester-webbing", "", mk("polyester", "lanyard with absorber", ""), false},
	} {
		if got := (MapQuestion{WhatIf: WhatIf{Material: c.set, Knot: c.knot}}).matches(c.d); got != c.want {
			t.Errorf("%s %q against %+v: %v", c.set, c.knot, c.d.Specimen, got)
		}
	}
	check := mk("polyester", "webbing", "")
	check.Role = drop.Check
	if (MapQuestion{WhatIf: WhatIf{Material: "polyester-webbing"}}).matches(check) {
		t.Error("a check drop counts")
	}
}

// By hand: a square with a place inside, places on a line, one place, none.
func TestConvexHull(t *testing.T) {
	for _, c := range []struct {
		in   [][2]float64
		want string
	}{
		{[][2]float64{{0, 0}, {1, 1}, {0.5, 0.5}, {1, 0}, {0, 1}, {1, 0}}, "[[0 0] [1 0] [1 1] [0 1]]"},
		{[][2]float64{{0.5, 0.2}, {0.25, 0.2}, {0.75, 0.2}}, "[[0.25 0.2] [0.75 0.2]]"},
		{[][2]float64{{1, 1}, {1, 1}}, "[[1 1]]"}, {nil, "[]"},
	} {
		if got := fmt.Sprint(convexHull(c.in)); got != c.want {
			t.Errorf("%v: %s, want %s", c.in, got, c.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) [2]float64 {
			return [2]float64{float64(rapid.IntRange(0, 9).Draw(t, "x")), float64(rapid.IntRange(0, 9).Draw(t, "y"))}
		}), 1, 20).Draw(t, "p")
		h := convexHull(p)
		for _, q := range p {
			if !amid(h, 1e-9, q) {
				t.Fatalf("%v is outside its own hull %v", q, h)
			}
		}
		if amid(h, 0.5, [2]float64{20, 20}) || amid(nil, 1, p[0]) {
			t.Fatal("a place far off counts")
		}
	})
}

// Every output says that the values are starting values, and carries the cautions.
func TestMapOutputsAreMarked(t *testing.T) {
	m := mapOf(t, MapQuestion{WhatIf: WhatIf{Fall: 0.9}, Up: axis(MapRig, 0, 0)})
	js, err := json.Marshal(m)
	if err != nil {
		t.Fatal(err)
	}
	data, err := m.CSV()
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{"json": string(js), "csv": string(data), "svg": string(m.Figure(0, message.English()).SVG("map"))} {
		if !strings.Contains(text, "starting values") || !strings.Contains(text, "rating") {
			t.Errorf("%s does not say so", name)
		}
	}
	for _, c := range drop.Cautions() {
		if !strings.Contains(string(data), c) {
			t.Errorf("csv lacks %q", c)
		}
	}
	if len(m.Cautions) != len(drop.Cautions()) || !strings.Contains(string(js), `"interpolation"`) && m.Reading.Cells == 0 {
		t.Error("json lacks the cautions or how well the map is read")
	}
	if got := strings.Count(string(data), "\n") - 1 - len(drop.Cautions()); got != 1+len(m.Across.Values)*len(m.Up.Values) {
		t.Errorf("csv has %d lines", got)
	}
}

func TestFlatMapHasNoIsoLines(t *testing.T) {
	if got := isoForces(4950, 4951); got != nil {
		t.Error(got)
	}
	if got := fmt.Sprint(isoForces(1900, 29000)); got != "[2.000 kN 4.000 kN 6.000 kN 8.000 kN 10.00 kN 12.00 kN 14.00 kN 16.00 kN 18.00 kN 20.00 kN 22.00 kN 24.00 kN 26.00 kN 28.00 kN]" {
		t.Error(got)
	}
}

func BenchmarkMap(b *testing.B) {
	for name, w := range map[string]WhatIf{"plain": {Fall: 0.9}, "knot": {Fall: 0.9, Material: "hmpe-blend-sling", Knot: "overhand-HMPE-8-mm"}, "absorber": {Fall: 0.9, Absorber: true}} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				mapOf(b, MapQuestion{WhatIf: w})
			}
		})
	}
}

// The line at which the specimen is predicted to part is held against what the drops did.
func TestPartingAgainstDrops(t *testing.T) {
	d := func(parts bool, o drop.Outcome) MapDrop { return MapDrop{Parts: parts, Outcome: o} }
	for _, c := range []struct {
		drops []MapDrop
		want  string
	}{
		{nil, ""}, {[]MapDrop{d(true, drop.Broke), d(false, drop.Held)}, ""},
		{[]MapDrop{d(true, drop.Broke), d(true, drop.Held), d(false, drop.Held), d(true, drop.Slipped)}, "2 did as predicted, 1 held where the specimen was predicted to part, and 0 broke where it was predicted to hold."},
		{[]MapDrop{d(false, drop.Broke), d(true, drop.Held)}, "0 did as predicted, 1 held where the specimen was predicted to part, and 1 broke where it was predicted to hold: the line at which it is predicted to part is not on the safe side"},
	} {
		got := (&Map{Parting: &MapParting{}, Drops: c.drops}).parted()
		if (c.want == "") != (got == "") || !strings.Contains(got, c.want) {
			t.Errorf("%+v: %q, want %q", c.drops, got, c.want)
		}
	}
	if got := (&Map{Drops: []MapDrop{d(false, drop.Broke)}}).parted(); got != "" {
		t.Error(got)
	}
}
