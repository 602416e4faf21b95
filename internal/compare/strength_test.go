package compare

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/num/censor"
)

// Exponential strengths: 10 and 20 broke, 30 held. The scale is the sum over the breaks, 60/2 = 30; the log-likelihood is
// -2 ln 30 - 60/30. Kaplan-Meier: 2/3 after 10, 1/3 after 20; Greenwood after 10: sqrt((2/3)^2/(3 x 2)) = 0.27217.
func TestFitStrengthByHand(t *testing.T) {
	s, err := FitStrength([]censor.Value{censor.Exact(10), censor.Exact(20), censor.AtLeast(30)}, StrengthOptions{Family: censor.Exponential, Confidence: 0.95, Quantiles: []float64{0.5}})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range [][2]float64{
		{*s.Scale, 30}, {s.LogLik, -2*math.Log(30) - 2}, {s.AIC, 2 + 4*math.Log(30) + 4}, {s.Mean, 30}, {s.Quantiles[0].Value, 30 * math.Ln2},
		{s.KM[0].Survival, 2.0 / 3}, {s.KM[1].Survival, 1.0 / 3}, {*s.KM[0].SE, math.Sqrt(4.0 / 9 / 6)}, {s.SE["scale"], 30 / math.Sqrt2},
	} {
		if math.Abs(c[0]-c[1]) > 1e-8*math.Abs(c[1])+1e-12 {
			t.Errorf("got %.12g, want %.12g", c[0], c[1])
		}
	}
	if s.N != 3 || s.Broke != 2 || s.Held != 1 || s.Complete != nil || s.Shape != nil {
		t.Errorf("%+v", s)
	}
}

// NIST/SEMATECH e-Handbook 8.4.1.3 (printed; the scale there is 606.5280, of which other programs confirm four
// decimals less): scale 606.528, shape 1.7208, log-likelihood -75.135, AIC 154.27, lognormal 154.39.
func TestFitStrengthAgainstTheHandbook(t *testing.T) {
	var v []censor.Value
	for _, x := range []float64{54, 187, 216, 240, 244, 335, 361, 373, 375, 386} {
		v = append(v, censor.Exact(x))
	}
	v = append(v, censor.Value{Lo: 500, Hi: math.Inf(1), Count: 10})
	s, err := FitStrength(v, StrengthOptions{Family: censor.Weibull, Confidence: 0.95})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(*s.Scale-606.528) > 1e-3 || math.Abs(*s.Shape-1.7208) > 5e-5 || math.Abs(s.LogLik+75.135) > 5e-4 || math.Abs(s.AIC-154.27) > 5e-3 || s.N != 20 || s.Held != 10 {
		t.Errorf("%+v", s)
	}
	if s.Others[0].Dist != "lognormal" || math.Abs(s.Others[0].AIC-154.39) > 5e-3 {
		t.Errorf("%+v", s.Others)
	}
	for i := 1; i < len(s.Quantiles); i++ {
		if q := s.Quantiles[i]; !(*q.Lo < q.Value && q.Value < *q.Hi && q.Value > s.Quantiles[i-1].Value) {
			t.Errorf("%+v", q)
		}
	}
}

// All held: no fit. At 95 % confidence the share that holds is at least 0.05^(1/3) = 0.3684.
func TestAllHeldIsASentence(t *testing.T) {
	_, err := FitStrength([]censor.Value{censor.AtLeast(20000), censor.AtLeast(21000), censor.AtLeast(22000)}, StrengthOptions{Family: censor.Weibull, Confidence: 0.95})
	if !errors.Is(err, censor.ErrNotIdentified) || !strings.Contains(err.Error(), "all 3 held at least 20000, so that at 95 % confidence at least 36 % of such specimens hold that") {
		t.Error(err)
	}
	if _, err := FitStrength([]censor.Value{censor.Exact(1)}, StrengthOptions{Family: censor.Weibull, Confidence: 0.95}); !errors.Is(err, censor.ErrNotIdentified) {
		t.Error(err)
	}
	if _, err := FitStrength(nil, StrengthOptions{Family: censor.Weibull, Confidence: 95}); err == nil {
		t.Error("a confidence of 95 was accepted")
	}
}

// 20, 21, 22 kN, every one seen: mean 21, sd 1, so 18 kN is the mean less three standard deviations.
func TestCompleteStrengths(t *testing.T) {
	s, err := FitStrength([]censor.Value{censor.Exact(20), censor.Exact(21), censor.Exact(22)}, StrengthOptions{Family: censor.Normal, Confidence: 0.95})
	if err != nil {
		t.Fatal(err)
	}
	if c := s.Complete; c == nil || math.Abs(c.Mean-21) > 1e-12 || math.Abs(c.SD-1) > 1e-12 || math.Abs(*c.LessThreeSD-18) > 1e-9 {
		t.Errorf("%+v", s.Complete)
	}
	// One-sided factor for 95 % at 75 %, n = 3: 3.152 (recalled); on the logarithms.
	m, ss := 0.0, 0.0
	for _, x := range []float64{20, 21, 22} {
		m += math.Log(x) / 3
	}
	for _, x := range []float64{20, 21, 22} {
		ss += (math.Log(x) - m) * (math.Log(x) - m)
	}
	if want := math.Exp(m - 3.152*math.Sqrt(ss/2)); math.Abs(*s.Complete.Characteristic/want-1) > 1e-4 {
		t.Errorf("characteristic value %g, want %g", *s.Complete.Characteristic, want)
	}
}
