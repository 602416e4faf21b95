package tobit

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"github.com/hardcatch/hardcatch/internal/num/censor"
)

func values(y []float64, seen []bool) []censor.Value {
	out := make([]censor.Value, len(y))
	for i := range y {
		if out[i] = censor.Exact(y[i]); !seen[i] {
			out[i] = censor.AtLeast(y[i])
		}
	}
	return out
}

func near(t *testing.T, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)+1e-12) {
		t.Errorf("%.14g, want %.14g", got, want)
	}
}

// Without bounds the gain is n ln(SS in common/SS within): 1, 3 against 5, 7 have 20 and 4, so that it is 4 ln 5.
func TestByHand(t *testing.T) {
	g, err := LikelihoodGain(values([]float64{1, 3}, []bool{true, true}), values([]float64{5, 7}, []bool{true, true}))
	if err != nil {
		t.Fatal(err)
	}
	near(t, g, 4*math.Log(5), 1e-11)
}

// R 4.2.2, survreg of survival 3.5.3: bench/power/reference.R.
func TestAgainstR(t *testing.T) {
	g, err := LikelihoodGain(values([]float64{1, 1.3, 1.2}, []bool{true, true, false}), values([]float64{1.5, 1.9, 1.6}, []bool{true, true, false}))
	if err != nil {
		t.Fatal(err)
	}
	near(t, g, 5.30964619202, 1e-9)
	g, err = LikelihoodGain(values([]float64{9.1, 9.4, 8.8, 9}, []bool{true, true, false, false}),
		values([]float64{9.6, 9.3, 9.9, 9.2, 9.5}, []bool{true, false, true, false, false}))
	if err != nil {
		t.Fatal(err)
	}
	near(t, g, 7.02908640963, 1e-9)
}

func TestNothingToTell(t *testing.T) {
	one, bound := censor.Exact(1), censor.AtLeast(0.5)
	for _, c := range [][2][]censor.Value{
		{{bound, bound}, {one, censor.Exact(2)}},
		{{one, bound}, {censor.Exact(2), bound}}, // two means meet all
		{{one, one}, {one, one}},
		{nil, {one}},
	} {
		if g, err := LikelihoodGain(c[0], c[1]); !errors.Is(err, ErrNothing) || !math.IsNaN(g) {
			t.Errorf("%v: %g %v", c, g, err)
		}
	}
	// A bound above the one exact value keeps the scatter from going to 0.
	if g, err := LikelihoodGain([]censor.Value{one, censor.AtLeast(1.5)}, []censor.Value{censor.Exact(2), bound}); err != nil || !(g >= 0) {
		t.Errorf("%g %v", g, err)
	}
	for _, bad := range []censor.Value{censor.AtMost(1), censor.Between(1, 2), censor.Exact(math.NaN())} {
		if _, err := LikelihoodGain([]censor.Value{bad, one}, []censor.Value{one, one}); err == nil || errors.Is(err, ErrNothing) {
			t.Errorf("%v: %v", bad, err)
		}
	}
}

// The gain does not depend on origin, unit and which group comes first, and no move of a mean makes it negative.
func TestGainProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) []censor.Value {
			// On a grid, as measured values are: a scatter of a millionth of the range is lost in rounding.
			y := make([]float64, rapid.IntRange(2, 6).Draw(t, name+" size"))
			for i := range y {
				y[i] = float64(rapid.IntRange(-40, 40).Draw(t, name)) / 20
			}
			seen := rapid.SliceOfN(rapid.Bool(), len(y), len(y)).Draw(t, name+" seen")
			return values(y, seen)
		}
		a, b := draw("a"), draw("b")
		g, err := LikelihoodGain(a, b)
		h, err2 := LikelihoodGain(b, a)
		if (err == nil) != (err2 == nil) || err == nil && (g < 0 || math.Abs(g-h) > 1e-6*(1+g)) {
			t.Fatalf("%g %v, exchanged %g %v", g, err, h, err2)
		}
		move := func(v []censor.Value) []censor.Value {
			out := make([]censor.Value, len(v))
			for i := range v {
				out[i] = censor.Value{Lo: 4*v[i].Lo + 8, Hi: 4*v[i].Hi + 8}
			}
			return out
		}
		if k, err3 := LikelihoodGain(move(a), move(b)); err == nil && err3 == nil && math.Abs(g-k) > 1e-6*(1+g) {
			t.Fatalf("%g, moved %g", g, k)
		}
	})
}

func BenchmarkGain(b *testing.B) {
	x := values([]float64{9.1, 9.4, 8.8, 9}, []bool{true, true, false, false})
	y := values([]float64{9.6, 9.3, 9.9, 9.2, 9.5}, []bool{true, false, true, false, false})
	b.ReportAllocs()
	for b.Loop() {
		if _, err := LikelihoodGain(x, y); err != nil {
			b.Fatal(err)
		}
	}
}
