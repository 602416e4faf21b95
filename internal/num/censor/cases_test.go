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
