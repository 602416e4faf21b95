package probit

import (
	"errors"
	"math"
	"strings"
	"testing"
)

// Q(6) and Q(7) of the normal distribution: 9.865876450376946e-10 and 1.279812543885835e-12; Q(8) = 6.220960574271786e-16 (R 4.2.2, pnorm).
// ln(1 - q) = -q - q^2/2. phi(40)/Q(40) by its continued fraction (Abramowitz and Stegun, 26.2.14), z + 1/(z + 2/(z + 3/(z + 4/(z + 5/z)))),
// whose next term changes it by less than 1e-14.
func TestUpperTail(t *testing.T) {
	for _, c := range []struct{ z, q float64 }{{5.5, 1.898956246588772e-08}, {6, 9.865876450376946e-10}, {7, 1.279812543885835e-12}, {8, 6.220960574271786e-16}} {
		if got, want := LogPhi(c.z), -c.q-c.q*c.q/2; math.Abs(got-want) > 1e-12*c.q {
			t.Errorf("ln Phi(%g): %.16g, want %.16g", c.z, got, want)
		}
	}
	z := 40.0
	near(t, "Mills(-40)", Mills(-z), z+1/(z+2/(z+3/(z+4/(z+5/z)))), 1e-10)
}

// The derivatives are those of the sum of logarithms: central differences with h = 1e-4, whose error is h^2/6 times the third or h^2/12
// times the fourth derivative, below 1e-7 here, and for the second 4 times its rounding 1e-15 over h^2, 4e-7.
func TestDerivatives(t *testing.T) {
	for _, v := range []Level{{Broke: 2}, {Held: 3}, {Broke: 2, Held: 3}} {
		for _, z := range []float64{-2, -0.3, 0, 1.4} {
			l := func(z float64) float64 { return float64(v.Broke)*LogPhi(z) + float64(v.Held)*LogPhi(-z) }
			const h = 1e-4
			first, second := derivatives(z, v)
			near(t, "first derivative", first, (l(z+h)-l(z-h))/(2*h), 1e-6)
			near(t, "second derivative", second, (l(z+h)-2*l(z)+l(z-h))/(h*h), 1e-5)
		}
	}
}

// Two levels are met exactly by a line, whatever their shares: Sigma = (x2 - x1)/(q2 - q1) and Mu = x1 - q1 Sigma with q the normal quantiles of
// the shares. With 1 of 38661 against 1 of 1433 a full Newton step overshoots, and the search has to halve it.
func TestSharesFarFromHalf(t *testing.T) {
	q1, q2 := quantile(1.0/38661), quantile(1.0/1433)
	f := fit(t, Level{65.1, 1, 1432}, Level{1, 1, 38660})
	sigma := (65.1 - 1) / (q2 - q1)
	near(t, "sigma", f.Sigma, sigma, 1e-9)
	near(t, "mu", f.Mu, 1-q1*sigma, 1e-9)
	near(t, "l", f.LogLik, constant(1, 38660)+constant(1, 1432), 1e-12)
}

// Levels are told apart to twelve figures of the greatest of all, wherever it stands.
func TestFiguresOfTheGreatest(t *testing.T) {
	for _, c := range []struct {
		levels []Level
		want   Identification
	}{
		{[]Level{{1, 0, 1}, {1.000000000004, 1, 0}}, Touching},
		{[]Level{{1, 0, 1}, {1.00000000002, 1, 0}}, Separated},
		{[]Level{{100, 1, 0}, {1.00000000005, 1, 0}, {1, 0, 1}}, Touching},
		{[]Level{{1, 0, 1}, {1.00000000005, 1, 0}, {-100, 0, 1}}, Touching},
	} {
		if f := fit(t, c.levels...); f.State != c.want {
			t.Errorf("%v: state %d, want %d", c.levels, f.State, c.want)
		}
	}
}

// What is no count at a place is refused, and a series without a result is no series.
func TestRefusals(t *testing.T) {
	for _, l := range []Level{{math.Inf(1), 1, 0}, {math.Inf(-1), 1, 0}, {1, -1, 1}, {1, 1, -1}} {
		if _, err := New([]Level{{1, 1, 1}, l}); err == nil || !strings.Contains(err.Error(), "a level is a finite number with counts from 0") {
			t.Errorf("%v: %v", l, err)
		}
	}
	if _, err := New([]Level{{1, 0, 0}, {2, 0, 0}}); !errors.Is(err, ErrNoData) {
		t.Errorf("levels without a result: %v", err)
	}
	f := fit(t, Level{1, 0, 1}, Level{2, 1, 0})
	for _, c := range [][2]float64{{0, .95}, {1, .95}, {-0.1, .95}, {1.2, .95}, {.5, 0}, {.5, 1}, {.5, -0.1}, {.5, 1.2}, {math.NaN(), .95}, {.5, math.NaN()}} {
		if v, err := f.Interval(c[0], c[1]); err == nil {
			t.Errorf("quantile %g at confidence %g: %+v", c[0], c[1], v)
		}
	}
}

// Equal steps of the logarithm with equal counts on both sides of the middle have no slope, whatever the rounding of the logarithms says of
// counts in the hundreds. All levels alike have none either: the sum is 0, and 0 is not above 0.
func TestFlatInLogarithms(t *testing.T) {
	for first := 1.0; first < 40; first++ {
		for _, ratio := range []float64{1.5, 2, 2.5, 3, 7} {
			for _, counts := range [][4]int{{300, 200, 100, 101}, {299, 201, 77, 5}, {3, 2, 1, 1}} {
				f, err := NewLog([]Level{{first, counts[0], counts[1]}, {first * ratio, counts[2], counts[3]}, {first * ratio * ratio, counts[0], counts[1]}})
				if err != nil || f.State != Flat {
					t.Errorf("from %g by %g, %v: state %d, %v", first, ratio, counts, f.State, err)
				}
			}
		}
	}
	if f, err := NewLog([]Level{{1, 1, 1}, {2, 1, 1}}); err != nil || f.State != Flat {
		t.Errorf("%+v, %v", f, err)
	}
}

// One height alone fixes the probability there and nothing else. 8 of 10 broke at 1: for a 5 % quantile x above 1 the probability at 1 is at most
// 5 %, and 8 ln .05 + 2 ln .95 = -24.1 is far below the greatest, 8 ln .8 + 2 ln .2 = -5.0; for x below 1 it may be 80 %. So the interval is all up to 1.
// The other way round for 2 of 10 and a 90 % quantile.
func TestOneHeight(t *testing.T) {
	v, err := fit(t, Level{1, 8, 2}).Interval(.05, .95)
	if err != nil || !math.IsInf(v.Lo, -1) || !(math.Abs(v.Hi-1) <= 1e-5) {
		t.Errorf("%+v, %v", v, err)
	}
	v, err = fit(t, Level{1, 2, 8}).Interval(.9, .95)
	if err != nil || !math.IsInf(v.Hi, 1) || !(math.Abs(v.Lo-1) <= 1e-5) {
		t.Errorf("%+v, %v", v, err)
	}
}

// Without a slope the greatest likelihood is that of one share for all, and every level alike is one of its lines. 2 of 4 broke: for a 5 % quantile far
// below every level the share may be a half; far above it is at most 5 %, 2 ln .05 + 2 ln .95 = -6.0940 against 4 ln .5 = -2.7726, which 95 % does not
// bear (half of 3.8415) and 99.9 % does (half of 10.8276). With 300 of 1200 and p = .3 it is 300 ln .3 + 900 ln .7 = -682.2 against -674.8.
func TestOpenByHand(t *testing.T) {
	two := func(broke, held int) *Fit { return fit(t, Level{1, broke, held}, Level{2, broke, held}) }
	for _, c := range []struct {
		f             *Fit
		p, confidence float64
		low, high     bool
	}{
		{two(1, 1), .05, .95, true, false},
		{two(1, 1), .05, .999, true, true},
		{two(1, 1), .95, .95, false, true},
		{two(1, 1), .95, .999, true, true},
		{two(1, 1), .5, .95, true, true},
		{two(150, 450), .3, .95, false, true},
		{two(150, 450), .2, .95, true, false},
		// 3 of 12: 3 ln .3 + 9 ln .7 = -6.82 against 3 ln .25 + 9 ln .75 = -6.75.
		{fit(t, Level{1, 3, 9}), .3, .95, true, true},
	} {
		if low, high := c.f.Open(c.p, c.confidence); low != c.low || high != c.high {
			t.Errorf("%d of %d, p = %g at %g: open %v and %v, want %v and %v", c.f.broke, c.f.broke+c.f.held, c.p, c.confidence, low, high, c.low, c.high)
		}
	}
}

// Profiles with closed forms. Through the middle of a falling pair the best line is level: 1 of 1 at 1, 0 of 1 at 2, p = 1/2: -2 ln 2. 1 of 2, 2 of 4 and 2 of 3 at
// equal steps, p = 1/2 in the middle: 3 ln Phi(b) + 2 ln Phi(-b) - 4 ln 2, greatest at Phi(b) = 3/5. Through the estimate itself the profile is the greatest likelihood.
func TestProfileByHand(t *testing.T) {
	near(t, "rising", fit(t, Level{1, 1, 1}, Level{1.2, 2, 2}, Level{1.4, 2, 1}).Profile(.5, 1.2), 3*math.Log(.6)+2*math.Log(.4)-4*math.Ln2, 1e-13)
	near(t, "level", fit(t, Level{1, 1, 0}, Level{2, 0, 1}).Profile(.5, 1.5), -2*math.Ln2, 1e-13)
	for _, f := range []*Fit{
		fit(t, Level{1.2, 2, 1}, Level{1.0, 1, 2}),
		fit(t, Level{1, 9, 11}, Level{1.4, 10, 10}), // shallow: 1/Sigma well below the inverse span
		fit(t, Level{1, 1, 99}, Level{1.4, 99, 1}),  // steep
		fit(t, Level{4, 2, 7}, Level{5, 5, 5}, Level{7, 6, 1}),
		// A slope of the likelihood below 1 is still one.
		fit(t, Level{1, 1, 1}, Level{1.2, 2, 2}, Level{1.4, 2, 1}),
	} {
		for _, p := range []float64{.05, .5, .9} {
			near(t, "at the estimate", f.Profile(p, f.Quantile(p)), f.LogLik, 1e-12)
		}
	}
}

// The ends of the interval by another search: the profile over lines through (x, p) by golden section of its slope, the crossing by steps of the height. Away from
// the ends, the profile is above the limit inside and below it outside. Series of every state, away from the origin and lopsided.
func TestEndsByAnotherSearch(t *testing.T) {
	for _, c := range []struct {
		levels []Level
		p      float64
		want   Identification
	}{
		{[]Level{{10, 10, 10}, {11, 11, 11}, {14, 10, 12}}, .05, Flat},
		{[]Level{{10, 10, 10}, {11, 11, 11}, {14, 10, 12}}, .95, Flat},
		{[]Level{{10, 2, 18}, {11, 3, 19}, {14, 2, 22}}, .3, Flat},
		{[]Level{{10, 100, 300}, {11, 100, 300}, {14, 100, 301}}, .3, Flat},
		{[]Level{{10, 0, 5}, {11, 8, 2}, {19, 1, 0}}, .05, Touching},
		{[]Level{{-19, 0, 5}, {-18, 2, 8}, {-10, 1, 0}}, .7, Touching},
		{[]Level{{10, 0, 5}, {11, 2, 8}, {19, 1, 0}}, .9, Touching},
		{[]Level{{10, 0, 1}, {18, 8, 2}, {19, 5, 0}}, .3, Touching},
		{[]Level{{10, 0, 5}, {11, 5, 0}, {100, 1, 0}}, .5, Separated},
		{[]Level{{-100, 0, 1}, {10, 0, 5}, {10.5, 5, 0}}, .5, Separated},
		{[]Level{{10, 0, 6}, {11, 6, 0}, {100, 1, 0}}, .3, Separated},
		{[]Level{{.8, 0, 2}, {1.1, 2, 18}, {1.4, 18, 9}, {1.7, 10, 0}, {2, 1, 0}}, .3, Identified},
		{[]Level{{50, 8, 20}, {51, 9, 18}, {53, 15, 9}}, .3, Identified},
	} {
		f := fit(t, c.levels...)
		if f.State != c.want {
			t.Errorf("%v: state %d, want %d", c.levels, f.State, c.want)
			continue
		}
		v, err := f.Interval(c.p, .95)
		if err != nil {
			t.Errorf("%v: %v", c.levels, err)
			continue
		}
		least := f.LogLik - 3.841458820694124/2
		for _, e := range []struct{ end, outward float64 }{{v.Lo, -1}, {v.Hi, 1}} {
			if math.IsInf(e.end, 0) {
				if far := lineThrough(c.levels, c.p, e.outward*1e7); far < least {
					t.Errorf("%v: open at %g", c.levels, e.end)
				}
				continue
			}
			const d = 1e-4
			if in, out := lineThrough(c.levels, c.p, e.end-d*e.outward), lineThrough(c.levels, c.p, e.end+d*e.outward); !(in > least && out < least) {
				t.Errorf("%v, p = %g: at the end %g the profile goes from %g to %g, the limit is %g", c.levels, c.p, e.end, in, out, least)
			}
		}
		if !(v.Lo < v.Hi) || math.IsInf(v.Lo, 0) && math.IsInf(v.Hi, 0) {
			t.Errorf("%v: %+v says nothing about the search", c.levels, v)
		}
	}
}

// lineThrough is the greatest log-likelihood of the lines of rising slope through quantile p at x.
func lineThrough(levels []Level, p, x float64) float64 {
	z := quantile(p)
	at := func(lnSlope float64) float64 {
		sum := 0.0
		for _, v := range levels {
			u := z + math.Exp(lnSlope)*(v.X-x)
			if v.Broke > 0 {
				sum += float64(v.Broke) * LogPhi(u)
			}
			if v.Held > 0 {
				sum += float64(v.Held) * LogPhi(-u)
			}
		}
		return sum
	}
	golden := (math.Sqrt(5) - 1) / 2
	lo, hi := -25.0, 25.0
	for hi-lo > 1e-9 {
		if a, b := hi-golden*(hi-lo), lo+golden*(hi-lo); at(a) > at(b) {
			hi = b
		} else {
			lo = a
		}
	}
	return at((lo + hi) / 2)
}
