package compare

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/num/uncert"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// a = 9, 11 (mean 10, variance 2), b = 19, 21 (mean 20, variance 2): s^2 = 2, t(2) = 4.302653 (table), g = t^2 s^2/(nb mb^2) =
// 18.51282 x 1/400 = 0.0462821. The ends solve (400 - 18.51282) rho^2 - 400 rho + (100 - 18.51282) = 0:
// rho = (200 -+ sqrt(40000 - 381.48718 x 81.48718))/381.48718 = (200 -+ 94.4206...)/381.48718.
func TestFiellerByHand(t *testing.T) {
	f, err := FiellerRatio([]float64{9, 11}, []float64{19, 21}, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	root := math.Sqrt(40000 - 381.48718*81.48718)
	for _, c := range [][2]float64{{f.Ratio, 0.5}, {f.Lo, (200 - root) / 381.48718}, {f.Hi, (200 + root) / 381.48718}} {
		if math.Abs(c[0]/c[1]-1) > 1e-6 {
			t.Errorf("got %g, want %g", c[0], c[1])
		}
	}
	if _, err := FiellerRatio([]float64{1, 2}, []float64{-1, 1}, 0.95); err == nil || !strings.Contains(err.Error(), "cannot be told from 0") {
		t.Error(err)
	}
	if _, err := FiellerRatio([]float64{1}, []float64{2}, 0.95); err == nil {
		t.Error("two specimens gave an interval")
	}
}

func TestKindsPoolTheFallsAndRatios(t *testing.T) {
	in := entriesOf(
		cellData{"overhand", 0.45, nil, []float64{9000, 9400}}, cellData{"overhand", 0.9, nil, []float64{9200, 9100}},
		cellData{"sewn", 0.45, []float64{12000, 12100}, nil}, cellData{"sewn", 0.9, []float64{17000}, []float64{17500, 18400}})
	kinds, err := SpecimenKinds(in, StrengthOptions{Confidence: 0.95})
	if err != nil || len(kinds) != 2 || kinds[0].N != 4 || kinds[0].Broke != 4 || kinds[1].N != 5 || kinds[1].Broke != 2 || kinds[0].Fit == nil || kinds[1].Fit == nil {
		t.Fatalf("%+v %v", kinds, err)
	}
	r := StrengthRatios(kinds, Against{}, 0.95)
	if len(r) != 1 || r[0].B != "overhand" || r[0].Ratio == nil || !strings.HasPrefix(r[0].Statement.String(), "knot efficiency of overhand, over sewn") {
		t.Fatalf("%+v", r)
	}
	// The same by the regression itself.
	two, err := RatioOf(kinds[0].values, kinds[1].values, censor.Weibull, 0.5, 0.95)
	if err != nil || *r[0].Ratio != two.Estimate || *r[0].Hi != *two.Hi || *r[0].P != two.PValue {
		t.Errorf("%v %v", *r[0].Ratio, two)
	}
	held, err := SpecimenKinds(entriesOf(cellData{"sewn", 0.9, []float64{10000, 11000}, nil}), StrengthOptions{Confidence: 0.95})
	if err != nil || held[0].Fit != nil || !strings.Contains(held[0].Statement.String(), "all 2 held at least 10") {
		t.Errorf("%+v %v", held, err)
	}
	// Shares of cells: knotted ones that never held have no arrest force.
	cells, err := Cells(in, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	x, err := Interferences(cells, kinds, 0.95, 1)
	if err != nil || len(x) != 4 {
		t.Fatalf("%+v %v", x, err)
	}
	for _, c := range x {
		if strings.Contains(c.Cell, "overhand") != (c.Interference == nil) {
			t.Errorf("%+v", c)
		}
		if c.Interference != nil && !(c.Lo <= c.Probability && c.Probability <= c.Hi) {
			t.Errorf("%s: %+v", c.Cell, c.Interference)
		}
	}
}

// Two cells of two peaks each, one peak a day: on the second day both are e^0.1 higher. Residuals -0.05, -0.05 | 0.05, 0.05:
// within 0, between groups of two: the mean square between is 0.01, so s_L^2 = 0.01/2.
func TestRepeatByHand(t *testing.T) {
	in := entriesOf(cellData{"a", 0.9, []float64{10000, 10000 * math.Exp(0.1)}, nil}, cellData{"b", 0.9, []float64{8000, 8000 * math.Exp(0.1)}, nil})
	for i := range in {
		in[i].Drop.Taken = []string{"2026-03-02", "2026-03-03"}[i%2]
	}
	cells, err := Cells(in, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	r := AnalyseRepeatability(in, cells)
	if len(r) != 1 || r[0].By != "day" || r[0].N != 4 || r[0].WithinSD > 1e-8 || math.Abs(r[0].BetweenSD-math.Sqrt(0.005)) > 1e-9 {
		t.Errorf("%+v", r)
	}
}

// 10, 11, 10, 11, 10 kN and then 20: the five others have mean 10.4 kN and standard deviation sqrt(1.2/4) = 0.5477 kN, so that the last lies
// 9.6/(0.5477 sqrt 1.2) = 16 of them away, where 1 % over four rules and six drops allows t(4) at 0.01/4/6/2 = 10.9 (by the incomplete beta function).
func TestCheckChartByHand(t *testing.T) {
	var in []Entry
	for i, p := range []float64{10, 11, 10, 11, 10, 20} {
		e := entry(string(rune('a'+i)), "", drop.Held, 1000*p)
		e.Drop.Role, e.Drop.Order, e.Expanded = drop.Check, i+1, 0
		in = append(in, e)
	}
	c := ChartChecks(in)
	if math.Abs(c.Centre-10400) > 1e-9 || c.Upper >= 20000 || math.Abs((c.UpperEach[5]-10400)/(547.7226*math.Sqrt(1.2))+uncert.StudentQuantile(0.01/48, 4)) > 1e-4 {
		t.Errorf("%+v", c)
	}
	if got := strings.Join(message.Texts(c.Violations), "|"); !strings.Contains(got, "drop f: outside the limits that the other drops set") {
		t.Error(got)
	}
	if none := ChartChecks(nil); !strings.Contains(none.Statement.String(), "nothing shows that the rig stayed the same") {
		t.Error(none.Statement)
	}
}

// Draws of a cell whose peaks are all alike cannot move; the same seed and part give the same numbers.
func TestBootstrap(t *testing.T) {
	cells := cellsOf(t, cellData{"overhand", 0.9, []float64{8000, 8000, 8000}, nil}, cellData{"sewn", 0.9, []float64{9000, 10000, 11000}, nil})
	b := NewBootstrap(cells, nil, Against{})
	draws := make([][]float64, 2000)
	for i := range draws {
		draws[i] = make([]float64, b.Figures())
	}
	b.Part(1, 0, draws)
	again := make([][]float64, len(draws))
	for i := range again {
		again[i] = make([]float64, b.Figures())
	}
	b.Part(1, 0, again)
	for i := range draws {
		for j := range draws[i] {
			if draws[i][j] != again[i][j] {
				t.Fatal("the same seed and part gave other numbers")
			}
		}
	}
	out, warnings := b.SumUp(draws, 0.95)
	if len(out) != 3 || len(warnings) != 1 {
		t.Fatalf("%+v %v", out, warnings)
	}
	if f := out[0]; math.Abs(*f.Lo/8000-1) > 1e-9 || math.Abs(*f.Hi/8000-1) > 1e-9 {
		t.Errorf("%+v", f)
	}
	// All three draws the lowest: 1 in 27, more than the 2.5 % tail, so the lower end is 9000 itself; likewise above.
	if f := out[1]; math.Abs(*f.Lo/9000-1) > 1e-9 || math.Abs(*f.Hi/11000-1) > 1e-9 || !(f.Value > 9000 && f.Value < 11000) {
		t.Errorf("%+v", f)
	}
}

func BenchmarkBootstrapPart(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 1))
	var in []Entry
	for i := range 48 {
		o := drop.Held
		if i%3 == 0 {
			o = drop.Broke
		}
		e := entry(string(rune('a'+i)), []string{"overhand", "sewn"}[i%2], o, 10000+1000*rng.Float64())
		e.Drop.Fall = quantity.Length(0.3 * float64(1+i/12))
		in = append(in, e)
	}
	cells, err := Cells(in, 0.95)
	if err != nil {
		b.Fatal(err)
	}
	kinds, err := SpecimenKinds(in, StrengthOptions{Confidence: 0.95})
	if err != nil {
		b.Fatal(err)
	}
	boot := NewBootstrap(cells, kinds, Against{})
	out := make([][]float64, 100)
	for i := range out {
		out[i] = make([]float64, boot.Figures())
	}
	b.ResetTimer()
	for i := range b.N {
		boot.Part(1, uint64(i), out)
	}
}
