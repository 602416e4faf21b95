package exact

import (
	"fmt"
	"math"
	"testing"
)

// 3 of 3 against 0 of 3: of C(6,3) = 20 equally likely ways to deal 3 events, one gives this table and
// one its mirror image: 2/20, 1/20, 20/20. The lower limit w of the odds ratio solves
// w^3/(1 + 9 w + 9 w^2 + w^3) = 0.025.
func TestFisherByHand(t *testing.T) {
	f, err := Fisher(3, 0, 0, 3, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "two-sided", f.TwoSided, 0.1, 1e-14)
	near(t, "greater", f.Greater, 0.05, 1e-14)
	near(t, "less", f.Less, 1, 1e-14)
	near(t, "margins", f.SmallestMargins, 0.1, 1e-14)
	near(t, "design", f.SmallestDesign, 0.1, 1e-14)
	w := f.Lo
	near(t, "lower limit", w*w*w/(1+9*w+9*w*w+w*w*w), 0.025, 1e-12)
	if !math.IsInf(f.Hi, 1) || !math.IsInf(f.OddsRatio, 1) {
		t.Errorf("odds ratio %g up to %g, want no upper bound", f.OddsRatio, f.Hi)
	}
	// 1 of 2 against 0 of 1, one event: tables 1|0 with 2/3 and 0|1 with 1/3.
	f, _ = Fisher(1, 1, 0, 1, 0.95)
	near(t, "two-sided", f.TwoSided, 1, 1e-14)
	near(t, "greater", f.Greater, 2./3, 1e-14)
	near(t, "margins", f.SmallestMargins, 1./3, 1e-14)
	near(t, "design", f.SmallestDesign, 1./3, 1e-14)
	// Symmetric 1 2 / 2 1: the estimate is 1 by symmetry.
	f, _ = Fisher(2, 2, 2, 2, 0.95)
	near(t, "odds ratio", f.OddsRatio, 1, 1e-12)
	near(t, "interval is symmetric", f.Lo*f.Hi, 1, 1e-11)
}

func TestFisherAgainstR(t *testing.T) {
	for _, c := range reference(t, "fisher") {
		f, err := Fisher(int(c.args[0]), int(c.args[1]), int(c.args[2]), int(c.args[3]), 0.95)
		if err != nil {
			t.Fatal(err)
		}
		name := fmt.Sprint(c.args)
		// R's own p-values carry errors of its log-gammas, about 1e-13 here.
		for i, got := range []float64{f.TwoSided, f.Greater, f.Less} {
			near(t, name+" p", got, c.want[i], 1e-11)
		}
		for i, got := range []float64{f.OddsRatio, f.Lo, f.Hi} {
			near(t, name+" odds ratio", got, c.want[3+i], 1e-9)
		}
	}
}

// The closed form of the smallest value for two group sizes, against all tables of these sizes.
func TestSmallestFisherAgainstAllTables(t *testing.T) {
	for m := 1; m <= 7; m++ {
		for n := 1; n <= 7; n++ {
			least := 1.0
			for a := 0; a <= m; a++ {
				for c := 0; c <= n; c++ {
					f, err := Fisher(a, m-a, c, n-c, 0.9)
					if err != nil {
						t.Fatal(err)
					}
					least = math.Min(least, f.TwoSided)
					if f.TwoSided < f.SmallestMargins*(1-1e-12) {
						t.Errorf("%d of %d against %d of %d: p %g below the smallest of its margins %g", a, m, c, n, f.TwoSided, f.SmallestMargins)
					}
				}
			}
			near(t, fmt.Sprintf("%d against %d", m, n), smallestFisher(m, n), least, 1e-12)
		}
	}
}

func TestFisherSaysWhy(t *testing.T) {
	_, err := Fisher(-1, 2, 3, 4, 0.95)
	says(t, err, "negative")
	_, err = Fisher(0, 0, 3, 4, 0.95)
	says(t, err, "no specimen")
	_, err = Fisher(1, 2, 3, 4, 95)
	says(t, err, "confidence")
	_, err = Fisher(1<<62, 1<<62, 1<<62, 4, 0.95)
	says(t, err, "large samples")
	for _, all := range [][4]int{{0, 3, 0, 3}, {3, 0, 4, 0}} {
		f, err := Fisher(all[0], all[1], all[2], all[3], 0.95)
		if err != nil || f.TwoSided != 1 || len(f.Warnings) != 1 || !math.IsNaN(f.OddsRatio) || f.Lo != 0 {
			t.Errorf("%v: %+v, %v", all, f, err)
		}
	}
}

func BenchmarkFisher(b *testing.B) {
	for _, c := range [][4]int{{3, 0, 1, 2}, {300, 700, 550, 450}} {
		b.Run(fmt.Sprint(c), func(b *testing.B) {
			for b.Loop() {
				if _, err := Fisher(c[0], c[1], c[2], c[3], 0.95); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
