package compare

import (
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/num/censor"
)

func broke(x ...float64) []censor.Value {
	var v []censor.Value
	for _, f := range x {
		v = append(v, censor.Exact(f))
	}
	return v
}

// Three lognormal strengths: mean less 7.656 standard deviations of the logarithms (ISO 16269-6, content and confidence 95 %, recalled).
func TestLowerBoundOfThree(t *testing.T) {
	x := []float64{20, 23, 21}
	var logs []float64
	for _, v := range x {
		logs = append(logs, math.Log(v))
	}
	i, _ := meanInterval(logs, 0.95)
	b, err := LowerBound(broke(x...), censor.Lognormal, 0.05, 0.95)
	if err != nil || b.Lo == nil || b.N != 3 || b.Broke != 3 || b.Held != 0 {
		t.Fatalf("%+v %v", b, err)
	}
	if want := math.Exp(i.mean - 7.656*i.sd); math.Abs(*b.Lo/want-1) > 1e-4 {
		t.Errorf("bound %g, want %g", *b.Lo, want)
	}
}

// 59 are the fewest of which the least lies below the 5 % quantile at 95 % confidence: 1 - 0.95^59 = 0.9515, with 58 it is 0.949.
func TestLowerBoundWithoutADistribution(t *testing.T) {
	held := func(n int) []censor.Value { return []censor.Value{{Lo: 15e3, Hi: math.Inf(1), Count: n}} }
	b, err := LowerBound(held(59), censor.Weibull, 0.05, 0.95)
	if err != nil || b.Lo == nil || *b.Lo != 15e3 || b.Method != leastValue || b.Estimate != nil || b.Held != 59 {
		t.Errorf("%+v %v", b, err)
	}
	if b, err = LowerBound(held(58), censor.Weibull, 0.05, 0.95); err != nil || b.Lo != nil || !strings.Contains(b.Why.String(), "held") {
		t.Errorf("%+v %v", b, err)
	}
	one := []censor.Value{censor.Exact(20.94e3), {Lo: 21e3, Hi: math.Inf(1), Count: 11}}
	if b, err = LowerBound(one, censor.Weibull, 0.05, 0.95); err != nil || b.Lo != nil || b.Estimate == nil || !strings.Contains(b.Why.String(), "too few values") {
		t.Errorf("one break of twelve: %+v %v", b, err)
	}
	for _, bad := range [][2]float64{{5, 0.95}, {0.05, 95}, {0.05, 0.3}} {
		if _, err := LowerBound(one, censor.Weibull, bad[0], bad[1]); err == nil {
			t.Errorf("%g at %g was not refused", bad[0], bad[1])
		}
	}
}

// The bound is the lower end of the two-sided interval that leaves the same doubt below.
func TestLowerBoundAgreesWithTheInterval(t *testing.T) {
	x := append(broke(20, 23, 21, 22, 24), censor.AtLeast(22))
	b, err := LowerBound(x, censor.Weibull, 0.05, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	s, err := FitStrength(x, StrengthOptions{Family: censor.Weibull, Confidence: 0.9, Quantiles: []float64{0.05}})
	if err != nil {
		t.Fatal(err)
	}
	if q := s.Quantiles[0]; q.Lo == nil || math.Abs(*q.Lo / *b.Lo - 1) > 1e-6 || q.Value != *b.Estimate {
		t.Errorf("%+v and %+v", q, b)
	}
}

// The ratio of a kind ten per cent weaker in every value is 0.9; turned round, 1/0.9.
func TestRatioOfKinds(t *testing.T) {
	x := []float64{20, 23, 21, 22, 24}
	var y []float64
	for _, v := range x {
		y = append(y, 0.9*v)
	}
	for _, f := range []censor.Family{censor.Weibull, censor.Lognormal} {
		for _, p := range []float64{0.05, 0.5} {
			r, err := RatioOf(broke(y...), broke(x...), f, p, 0.95)
			if err != nil || math.Abs(r.Estimate-0.9) > 1e-6 || r.P != p || r.Confidence != 0.95 {
				t.Fatalf("%+v %v", r, err)
			}
			s, err := RatioOf(broke(x...), broke(y...), f, p, 0.95)
			if err != nil || math.Abs(*s.Lo**r.Hi-1) > 1e-4 || math.Abs(s.PValue-r.PValue) > 1e-4 {
				t.Errorf("%+v against %+v %v", r, s, err)
			}
			if (r.PValue < 0.05) != (*r.Hi < 1) {
				t.Errorf("p = %g, interval up to %g", r.PValue, *r.Hi)
			}
		}
	}
	a, err := RatioOf(broke(y...), broke(x...), censor.Normal, 0.5, 0.95)
	b, err2 := RatioOf(broke(y...), broke(x...), censor.Weibull, 0.5, 0.95)
	if err != nil || err2 != nil || *a.Lo != *b.Lo {
		t.Error("a normal distribution has no ratio; Weibull stands in for it")
	}
	if _, err := RatioOf(broke(20), nil, censor.Weibull, 0.5, 0.95); err == nil {
		t.Error("nothing was set against something")
	}
}
