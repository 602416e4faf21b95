package censor

import (
	"bufio"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// recorded are the answers of R's survival package by case and quantity; the script and the versions stand
// in bench/survival/reference.R and in the file's first line.
func recorded(t *testing.T) map[string]float64 {
	t.Helper()
	f, err := os.Open("testdata/survival.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	all := map[string]float64{}
	for s := bufio.NewScanner(f); s.Scan(); {
		line := s.Text()
		if strings.HasPrefix(line, "#") {
			continue
		}
		cut := strings.LastIndexByte(line, ',')
		x, err := strconv.ParseFloat(line[cut+1:], 64)
		if err != nil {
			t.Fatal(err)
		}
		all[line[:cut]] = x
	}
	return all
}

// mixed has all kinds of censoring.
func mixed() []Value {
	return []Value{Exact(12.1), Exact(14.3), Exact(9.8), AtLeast(15), AtLeast(17), AtMost(11), Between(10, 12), Between(13, 14.5), Exact(16.2), AtLeast(11)}
}

func counted() []Value {
	v := mixed()
	for i, n := range []int{1, 2, 1, 3, 1, 2, 1, 4, 1, 2} {
		v[i].Count = n
	}
	return v
}

func bounds() []Value {
	return []Value{AtLeast(1), AtLeast(1.2), AtMost(1.1), AtLeast(1.1), AtMost(1.2), AtLeast(1.3), AtMost(1.4)}
}

func TestFitsAgreeWithSurvreg(t *testing.T) {
	ref := recorded(t)
	for name, values := range map[string][]Value{"handbook": handbook(), "mixed": mixed(), "counted": counted(), "bounds": bounds()} {
		for f := Weibull; f <= Exponential; f++ {
			at := name + "," + f.String() + "."
			if _, ok := ref[at+"b0"]; !ok {
				continue
			}
			m, err := Fit(values, f)
			if err != nil {
				t.Errorf("%s: %v", at, err)
				continue
			}
			near(t, at+"loglik", m.LogLik, ref[at+"loglik"], 1e-10, 0)
			b, sigma := ref[at+"b0"], ref[at+"sigma"]
			seB, seSigma := ref[at+"se0"], ref[at+"selogsigma"]*sigma
			switch f {
			case Weibull:
				near(t, at+"shape", m.Params[0].Value, 1/sigma, 1e-8, 0)
				near(t, at+"scale", m.Params[1].Value, math.Exp(b), 1e-8, 0)
				near(t, at+"se shape", m.Params[0].SE, ref[at+"selogsigma"]/sigma, 1e-6, 0)
				near(t, at+"se scale", m.Params[1].SE, seB*math.Exp(b), 1e-6, 0)
			case Exponential:
				near(t, at+"scale", m.Params[0].Value, math.Exp(b), 1e-8, 0)
				near(t, at+"se scale", m.Params[0].SE, seB*math.Exp(b), 1e-6, 0)
			default:
				near(t, at+"mu", m.Params[0].Value, b, 1e-8, 0)
				near(t, at+"sigma", m.Params[1].Value, sigma, 1e-8, 0)
				near(t, at+"se mu", m.Params[0].SE, seB, 1e-6, 0)
				near(t, at+"se sigma", m.Params[1].SE, seSigma, 1e-6, 0)
			}
		}
	}
}

func TestProfileAgreesWithSurvreg(t *testing.T) {
	ref := recorded(t)
	for _, f := range []Family{Weibull, Lognormal} {
		m, err := Fit(handbook(), f)
		if err != nil {
			t.Fatal(err)
		}
		v, err := m.QuantileInterval(.05, .95)
		if err != nil {
			t.Fatal(err)
		}
		at := "handbook," + f.String() + ".q05"
		near(t, at, m.Quantile(.05), ref[at], 1e-8, 0)
		near(t, at+" lo", v.Lo, ref[at+"lo"], 1e-7, 0)
		near(t, at+" hi", v.Hi, ref[at+"hi"], 1e-7, 0)
	}
}

func regressionData() (values []Value, design [][]float64, names []string) {
	lo := []float64{21.3, 19.8, 22, 23.5, 20.1, 22, 14.2, 16.1, 13.3, 15.7, 12, 17}
	hi := []float64{21.3, 19.8, math.Inf(1), 23.5, 20.1, math.Inf(1), 14.2, 16.1, 13.3, 15.7, 14, math.Inf(1)}
	for i := range lo {
		values = append(values, Value{Lo: lo[i], Hi: hi[i]})
		design = append(design, []float64{1, float64(i / 6), .3 * float64(i%3+1)})
	}
	return values, design, []string{"intercept", "knot", "length"}
}

func TestRegressionsAgreeWithSurvreg(t *testing.T) {
	ref := recorded(t)
	values, design, names := regressionData()
	for f := Weibull; f <= Exponential; f++ {
		at := "regression," + f.String() + "."
		r, err := Regress(values, design, names, f)
		if err != nil {
			t.Errorf("%s: %v", at, err)
			continue
		}
		for j := range names {
			k := strconv.Itoa(j)
			near(t, at+"b"+k, r.Coefficients[j], ref[at+"b"+k], 1e-7, 0)
			near(t, at+"se"+k, r.SE[j], ref[at+"se"+k], 1e-6, 0)
		}
		near(t, at+"sigma", r.Sigma, ref[at+"sigma"], 1e-7, 0)
		near(t, at+"loglik", r.LogLik, ref[at+"loglik"], 1e-10, 0)
		if f != Exponential {
			near(t, at+"se sigma", r.SigmaSE, ref[at+"selogsigma"]*r.Sigma, 1e-6, 0)
		}
		// The likelihood ratio against the fit without knot belongs to an interval of knot that ends at 0.
		without := make([][]float64, len(design))
		for i, row := range design {
			without[i] = []float64{row[0], row[2]}
		}
		n, err := Regress(values, without, []string{"intercept", "length"}, f)
		if err != nil {
			t.Fatal(err)
		}
		lr, err := LikelihoodRatio(n, r)
		if err != nil {
			t.Fatal(err)
		}
		v, err := r.CoefInterval("knot", 1-lr.P)
		if err != nil {
			t.Fatal(err)
		}
		near(t, at+" end", v.Hi, 0, 0, 1e-6)
		// A contrast of one coefficient is that coefficient.
		c, se, err := r.Contrast([]float64{0, 1, 0}, 1-lr.P)
		if err != nil {
			t.Fatal(err)
		}
		near(t, at+" contrast", c.Lo, v.Lo, 1e-9, 0)
		near(t, at+" contrast se", se, r.SE[1], 1e-12, 0)
	}
}

func TestProductLimitAgreesWithSurvfit(t *testing.T) {
	ref := recorded(t)
	var values []Value
	for _, x := range []float64{10, 32, 56, 98, 122, 181} {
		values = append(values, Exact(x))
	}
	for _, x := range []float64{50, 100, 125, 150} {
		values = append(values, AtLeast(x))
	}
	values = append(values, Value{Lo: 200, Hi: math.Inf(1), Count: 10})
	k, err := KaplanMeier(values, .95)
	if err != nil {
		t.Fatal(err)
	}
	// The same values by self-consistency: Greenwood's formula must come out of the information.
	u, err := Turnbull(values, .95)
	if err != nil {
		t.Fatal(err)
	}
	// NIST/SEMATECH e-Handbook 8.2.1.5 (first two printed).
	for i, want := range []float64{.95, .90, .847059, .794118, .737395, .670359} {
		near(t, "handbook", k.Points[i].Survival, want, 0, 5e-7)
	}
	for name, c := range map[string]*Curve{"kaplan-meier": k, "turnbull": u} {
		for i, p := range c.Points {
			at := strconv.Itoa(i + 1)
			near(t, name+" S"+at, p.Survival, ref["km,s"+at], 1e-9, 0)
			near(t, name+" se"+at, p.SE, ref["km,se"+at], 1e-8, 0)
			near(t, name+" lo"+at, p.Lo, ref["km,plain.lo"+at], 1e-8, 0)
			near(t, name+" hi"+at, p.Hi, ref["km,plain.hi"+at], 1e-8, 0)
			near(t, name+" log-log lo"+at, p.LogLogLo, ref["km,log-log.lo"+at], 1e-8, 0)
			near(t, name+" log-log hi"+at, p.LogLogHi, ref["km,log-log.hi"+at], 1e-8, 0)
		}
	}
}

// The values are those of the self-consistency equations iterated 200 000 times in R; survfit itself stops
// earlier, within 1e-3 of them.
func TestTurnbullAgreesWithSelfConsistency(t *testing.T) {
	ref := recorded(t)
	c, err := Turnbull([]Value{Between(0, 3), Between(2, 4), Between(4, 7), Exact(5), Between(6, 9), AtLeast(8), Between(3, 6), Exact(7)}, .95)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []float64{3, 4, 5, 6, 7, 9} {
		at := strconv.FormatFloat(x, 'g', -1, 64)
		near(t, "S("+at+")", c.Survival(x), ref["turnbull,at"+at], 1e-9, 1e-12)
		near(t, "survfit S("+at+")", c.Survival(x), ref["turnbull,survfit.at"+at], 0, 1e-3)
	}
}
