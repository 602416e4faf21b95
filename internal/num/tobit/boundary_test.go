package tobit

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/num/censor"
)

func exact(y ...float64) []censor.Value {
	var out []censor.Value
	for _, v := range y {
		out = append(out, censor.Exact(v))
	}
	return out
}

// Without bounds the gain is n ln(SS in common/SS within), in whatever order and however far from 0: 1, 3 and 5, 7 give 4 ln 5. Groups alike give 0. Groups 0, e and 1, 1 + e
// have e^2 within and 1 + e^2 in common; with e = 1e-5 the last steps of the search are below rounding.
func TestGainByHand(t *testing.T) {
	gain := func(a, b []censor.Value) float64 {
		t.Helper()
		g, err := LikelihoodGain(a, b)
		if err != nil {
			t.Fatal(err)
		}
		return g
	}
	near(t, gain(exact(3, 1), exact(7, 5)), 4*math.Log(5), 1e-11)
	near(t, gain(exact(1e6+1, 1e6+3), exact(1e6+5, 1e6+7)), 4*math.Log(5), 1e-10)
	near(t, gain(append([]censor.Value{{Lo: 5, Hi: math.Inf(1)}}, exact(1e8+1, 1e8+3)...), exact(1e8+5, 1e8+7)), 4*math.Log(5), 1e-10)
	const e = 1e-5
	near(t, gain(exact(0, e), exact(1, 1+e)), 4*math.Log((1+e*e)/(e*e)), 1e-6)
	for i := 1; i < 30; i++ {
		a := append(exact(1, 2, float64(i)/7), censor.AtLeast(float64(i)/11))
		if g := gain(a, a); !(g >= 0 && g < 1e-9) {
			t.Errorf("%v twice: %g", a, g)
		}
	}
	// A value given with a count is that many values: 1, 1, 4 against 5, 5, 8 have 6 each within, and 24 more in common: 4^2 times 3 times 3 over 6.
	near(t, gain([]censor.Value{{Lo: 1, Hi: 1, Count: 2}, censor.Exact(4)}, []censor.Value{{Lo: 5, Hi: 5, Count: 2}, censor.Exact(8)}), 6*math.Log(36.0/12), 1e-11)
}

// A bound far above every value: a full Newton step overshoots. R 4.2.2, survreg of survival 3.5.3, dist = "gaussian", rel.tolerance = 1e-13, twice the
// difference of loglik.
func TestLongStep(t *testing.T) {
	g, err := LikelihoodGain([]censor.Value{censor.AtLeast(13000), censor.Exact(18)}, []censor.Value{censor.AtLeast(11), censor.Exact(17), censor.AtLeast(10)})
	if err != nil {
		t.Fatal(err)
	}
	near(t, g, 0.12892185468749, 1e-9)
}

// What two means meet is refused before anything is searched; what only the search finds out is said with how many values were looked at.
func TestWhatSaysNothing(t *testing.T) {
	above := censor.AtLeast
	for _, c := range [][2][]censor.Value{
		{{above(1), above(2)}, exact(1, 2)},
		{exact(1, 2), {above(1), above(2)}},
		{exact(1), exact(2)},
		{append(exact(1), above(1)), append(exact(2), above(2))},
		{append(exact(1), above(0.5)), append(exact(2, 2), above(-1))},
	} {
		if _, err := LikelihoodGain(c[0], c[1]); err == nil || err.Error() != ErrNothing.Error() {
			t.Errorf("%v: %v", c, err)
		}
	}
	_, err := LikelihoodGain(exact(3), append(exact(3), above(5000), above(15000)))
	if !errors.Is(err, ErrNothing) || !strings.HasPrefix(err.Error(), "the likelihood of 2 values did not settle") {
		t.Errorf("%v", err)
	}
	for _, c := range []struct {
		bad  censor.Value
		want string
	}{
		{censor.AtMost(1), "value 3: only exact values and lower bounds are compared here"},
		{censor.Exact(math.NaN()), "value 3: "},
	} {
		for _, groups := range [][2][]censor.Value{{append(exact(1, 2), c.bad), exact(3)}, {exact(3), append(exact(1, 2), c.bad)}} {
			if _, err := LikelihoodGain(groups[0], groups[1]); err == nil || !strings.HasPrefix(err.Error(), c.want) {
				t.Errorf("%v: %v", c.bad, err)
			}
		}
	}
}

// Newton's step solves H step = -gradient of the log-likelihood, and what it promises is the gradient times the step. Both by central differences of
// the log-likelihood with d = 1e-4; their error is of the order of d^2 times the third and fourth derivatives, and of rounding 1e-14/d^2.
func TestNewtonStep(t *testing.T) {
	groups := []group{
		{seen: 2, sum: 1.5, square: 2.9, bounds: []float64{0.4, 1.7}},
		{seen: 3, sum: -2.1, square: 4.4, bounds: []float64{-0.8, 0.3, 0.9}},
	}
	at := [3]float64{0.7, 0.5, -0.3}
	l := func(x [3]float64) float64 { return value(groups, x[0], x[1:]) }
	const d = 1e-4
	var step [3]float64
	var promised float64
	step[0], promised = direction(groups, at[0], at[1:], step[1:])
	moved := func(i int, by float64) [3]float64 { x := at; x[i] += by; return x }
	rise := 0.0
	for i := range at {
		slope := (l(moved(i, d)) - l(moved(i, -d))) / (2 * d)
		rise += slope * step[i]
		product := 0.0
		for j := range at {
			pp, pm, mp, mm := moved(i, d), moved(i, d), moved(i, -d), moved(i, -d)
			pp[j], pm[j], mp[j], mm[j] = pp[j]+d, pm[j]-d, mp[j]+d, mm[j]-d
			product += (l(pp) - l(pm) - l(mp) + l(mm)) / (4 * d * d) * step[j]
		}
		near(t, product, -slope, 1e-5)
	}
	near(t, promised, rise, 1e-6)
	if v := value(groups, 0, at[1:]); !math.IsInf(v, -1) {
		t.Errorf("without scatter: %g", v)
	}
	if v := value(groups, -0.1, at[1:]); !math.IsInf(v, -1) {
		t.Errorf("with a negative scatter: %g", v)
	}
}
