package censor

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

func pooledPair(a, b []Value, f Family) (*Pooled, error) {
	var design [][]float64
	var group []int
	for range a {
		design, group = append(design, []float64{1, 0}), append(group, 0)
	}
	for range b {
		design, group = append(design, []float64{0, 1}), append(group, 1)
	}
	return RegressPooled(append(append([]Value{}, a...), b...), design, []string{"a", "b"}, group, f)
}

func mustPool(t *testing.T, a, b []Value, f Family) *Pooled {
	t.Helper()
	m, err := pooledPair(a, b, f)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// Of complete normal values the location is normal once the scatters are given, so that the probability of the contrast below v is a sum over two log sigmas:
// weight sigma_a^(1-na) exp(-SSa/2 sigma_a^2), likewise b, times exp(-(sa - sb)^2/(4 spread^2)).
// The adjusted root leaves 5.7 % where 5 % are meant; what that does to the coverage is in docs/coverage.md.
func TestPooledContrastByTheSumOverScatters(t *testing.T) {
	a, b := []float64{3, 3.2, 3.1, 3.4}, []float64{2.2, 3.9, 2.7, 3.6, 3.1, 2.4}
	m := mustPool(t, exacts(a...), exacts(b...), Normal)
	below := func(v, z float64) float64 {
		all, sum := 0.0, 0.0
		ma, sa := moments(a)
		mb, sb := moments(b)
		na, nb := float64(len(a)), float64(len(b))
		for x := -8.0; x < 8; x += 0.05 {
			for y := -8.0; y < 8; y += 0.05 {
				w := math.Exp((1-na)*x - (na-1)*sa*sa*math.Exp(-2*x)/2 + (1-nb)*y - (nb-1)*sb*sb*math.Exp(-2*y)/2 - (x-y)*(x-y)/(4*spreadOfLogs*spreadOfLogs))
				sd := math.Sqrt(math.Exp(2*x)/na + math.Exp(2*y)/nb)
				all += w
				sum += w * normalCumulative((v-(ma-mb)-z*(math.Exp(x)-math.Exp(y)))/sd)
			}
		}
		return sum / all
	}
	for _, p := range []float64{0.5, 0.05} {
		z := normalQuantile(p)
		v, pValue, err := m.Contrast([]float64{1, -1}, []float64{z, -z}, 0.9)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "below the lower end", below(v.Lo, z), 0.05, 0.15, 0)
		near(t, "below the upper end", below(v.Hi, z), 0.95, 0.01, 0)
		exact := below(0, z)
		near(t, "p-value", pValue, 2*min(exact, 1-exact), 0.15, 0)
	}
	if got, want := m.Coefficients[0], 3.175; math.Abs(got-want) > 1e-6 {
		t.Errorf("the median of the first is %g, its mean is %g", got, want)
	}
	if !(m.Sigmas[0] < 0.2 && m.Sigmas[1] > 0.5) {
		t.Errorf("scatters %g: the values are spread by 0.17 and 0.67", m.Sigmas)
	}
}

// The same values twice: ratio 1, p = 1, and exchanging the two turns the interval round.
func TestPooledRatioOfTheSame(t *testing.T) {
	x := append(exacts(20, 22, 23, 21), AtLeast(22))
	m := mustPool(t, x, x, Weibull)
	v, p, err := m.QuantileRatio([]float64{1, -1}, 0, 1, 0.05, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "ratio", v.Estimate, 1, 1e-6, 0)
	near(t, "p", p, 1, 1e-3, 0)
	near(t, "ends", v.Lo*v.Hi, 1, 1e-4, 0)
	y := append(exacts(15, 19, 12, 16), Between(14, 17), AtMost(18))
	v, p, err = mustPool(t, x, y, Weibull).QuantileRatio([]float64{1, -1}, 0, 1, 0.5, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	w, q, err := mustPool(t, y, x, Weibull).QuantileRatio([]float64{1, -1}, 0, 1, 0.5, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "lower end", v.Lo, 1/w.Hi, 1e-4, 0)
	near(t, "upper end", v.Hi, 1/w.Lo, 1e-4, 0)
	near(t, "p turned", p, q, 1e-4, 0)
	if (p < 0.05) != (v.Lo > 1 || v.Hi < 1) {
		t.Errorf("p = %g, interval %g to %g", p, v.Lo, v.Hi)
	}
}

// slopesOfPooled checks the second derivatives along the held surface by differences, with every kind of value.
func TestPooledSlopes(t *testing.T) {
	x := append(exacts(20, 22, 23), AtLeast(22), Between(19, 24))
	y := append(exacts(15, 19, 12), Between(14, 17), AtMost(18), Between(15.5, 15.50001))
	for _, f := range []Family{Weibull, Lognormal} {
		m := mustPool(t, x, y, f)
		tr := m.trailOf([]float64{1, -1}, []float64{0.7, -1.1})
		c := tr.c
		c.v = tr.estimate + tr.se
		phi := append([]float64{}, tr.start...)
		phi[1], phi[2], phi[3] = phi[1]+0.1, phi[2]-0.2, phi[3]+0.15
		at := func(j, k int, e, h float64) float64 {
			q := append([]float64{}, phi...)
			q[j] += e
			q[k] += h
			c.place(q)
			return c.value(q, false)
		}
		c.place(phi)
		c.value(phi, true)
		g, h := append([]float64{}, c.g...), append([]float64{}, c.h...)
		const e = 1e-4
		for j := 1; j < 4; j++ {
			near(t, f.String()+" slope", g[j], (at(j, j, e, 0)-at(j, j, -e, 0))/(2*e), 1e-6, 1e-6)
			for k := 1; k < 4; k++ {
				near(t, f.String()+" curvature", -h[j*4+k], (at(j, k, e, e)-at(j, k, e, -e)-at(j, k, -e, e)+at(j, k, -e, -e))/(4*e*e), 1e-4, 1e-4)
			}
		}
	}
}

// Shapes 25 and 5 in groups of 4 and 8 and of 12 and 4, median ratio 1 and 5 % quantile ratio 0.645: the intervals hold the truth in 93 % at least, within three
// binomial standard errors; a common shape held it in half of them.
func TestPooledCoverage(t *testing.T) {
	r := rand.New(rand.NewPCG(31, 32))
	replicates := 1000
	if testing.Short() {
		replicates = 250
	}
	draw := func(n int, shape float64) []Value {
		v := make([]Value, n)
		for i := range v {
			v[i] = Exact(math.Pow(-math.Log1p(-r.Float64())/math.Ln2, 1/shape))
		}
		return v
	}
	for _, c := range []struct{ na, nb int }{{4, 8}, {12, 4}} {
		var held [2]int
		for range replicates {
			m, err := pooledPair(draw(c.na, 5), draw(c.nb, 25), Weibull)
			if err != nil {
				t.Fatal(err)
			}
			for k, p := range []float64{0.05, 0.5} {
				v, _, err := m.QuantileRatio([]float64{1, -1}, 0, 1, p, 0.95)
				if err != nil {
					t.Fatal(err)
				}
				truth := math.Pow(-math.Log1p(-p)/math.Ln2, 1.0/5-1.0/25)
				if v.Lo <= truth && truth <= v.Hi {
					held[k]++
				}
			}
		}
		for k := range held {
			if got, se := float64(held[k])/float64(replicates), math.Sqrt(0.93*0.07/float64(replicates)); got < 0.93-3*se {
				t.Errorf("%d and %d values, quantile %d: coverage %.1f %%", c.na, c.nb, k, 100*got)
			}
		}
	}
}

func TestPooledRefusals(t *testing.T) {
	x := exacts(20, 22)
	if _, err := pooledPair(append([]Value{AtLeast(20), AtLeast(21)}, x...), append([]Value{AtLeast(30)}, AtLeast(31)), Weibull); !errors.Is(err, ErrNotIdentified) {
		t.Error(err)
	}
	if _, err := pooledPair([]Value{Exact(20), AtLeast(21)}, []Value{Exact(23), AtLeast(24)}, Weibull); !errors.Is(err, ErrNotIdentified) || !strings.Contains(err.Error(), "too few to tell 2 medians and a scatter from") {
		t.Error(err)
	}
	if _, err := pooledPair(x, exacts(23, 25), Exponential); !errors.Is(err, ErrArgument) {
		t.Error(err)
	}
	if _, err := RegressPooled(x, [][]float64{{1}, {1}}, []string{"all"}, []int{0}, Weibull); !errors.Is(err, ErrArgument) {
		t.Error(err)
	}
	if _, err := RegressPooled(x, [][]float64{{1}, {1}}, []string{"all"}, []int{0, -1}, Weibull); !errors.Is(err, ErrArgument) {
		t.Error(err)
	}
	m := mustPool(t, exacts(20, 22, 23), exacts(21, 25), Normal)
	if _, _, err := m.QuantileRatio([]float64{1, -1}, 0, 1, 0.5, 0.95); !errors.Is(err, ErrArgument) {
		t.Error(err)
	}
	m = mustPool(t, exacts(20, 22, 23), exacts(21, 25), Weibull)
	for _, err := range []error{
		third(m.QuantileRatio([]float64{1, -1}, 0, 1, 5, 0.95)), third(m.QuantileRatio([]float64{1, -1}, 0, 2, 0.5, 0.95)), third(m.QuantileRatio([]float64{1, -1}, 0, 1, 0.5, 95)),
	} {
		if !errors.Is(err, ErrArgument) {
			t.Error(err)
		}
	}
}

func third[A, B any](_ A, _ B, err error) error { return err }
