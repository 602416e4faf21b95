package foresee

import (
	"context"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
)

func askedOf(t *testing.T, w drop.Written) drop.Question {
	t.Helper()
	q, err := w.Read()
	if err != nil {
		t.Fatal(err)
	}
	return q
}

// Source: by hand. At most 50 % asked of 5 specimens is a yes when none breaks, 1 - 0.05^(1/5) = 45 %, and not when one does, 66 %: with a break probability of
// 10 % in 0.9^5 = 59.0 %. Shared with another question it takes 1 - 0.025^(1/5) = 52 %, so that 5 never say yes; 6 do in 0.9^6 = 53.1 %.
func TestSpecimensThatAQuestionNeeds(t *testing.T) {
	o := AnswerSizeOptions{Question: askedOf(t, drop.Written{ID: "b", Of: "break probability", AtMost: "50 %"}), Questions: 1, Suppose: 0.1, N: 5, Power: 0.8, Runs: 1000, Seed: 3}
	r, err := AnswerSizeFor(context.Background(), &look.Access{}, o)
	if err != nil {
		t.Fatal(err)
	}
	sd := math.Sqrt(0.59 * 0.41 / 1000)
	if math.Abs(r.At.Yes-math.Pow(0.9, 5)) > 4*sd || r.At.No > 0.005 || math.Abs(r.At.MCError-sd) > 0.001 {
		t.Errorf("5 specimens: %+v", r.At)
	}
	// 10 say yes with up to one break (2 of 10: 51 %): 73.6 %; 11 with up to two (2 of 11: 47 %): 91.0 %. Counts make the chance rise in steps.
	if r.Needed == nil || r.Needed.N != 11 || math.Abs(r.Needed.Yes-0.9104) > 4*sd {
		t.Errorf("needed: %+v", r.Needed)
	}
	o.Questions = 2
	if r, err = AnswerSizeFor(context.Background(), &look.Access{}, o); err != nil {
		t.Fatal(err)
	}
	if r.At.Yes != 0 {
		t.Errorf("5 specimens for two questions: %+v", r.At)
	}
	o.N = 6
	if r, err = AnswerSizeFor(context.Background(), &look.Access{}, o); err != nil {
		t.Fatal(err)
	}
	if math.Abs(r.At.Yes-math.Pow(0.9, 6)) > 4*sd {
		t.Errorf("6 specimens for two questions: %+v", r.At)
	}
}

// Source: G(1+2/k)/G(1+1/k)^2 - 1 by hand: k = 1 is the exponential, whose coefficient of variation is 1; k = 2 is Rayleigh's, sqrt(4/pi - 1) = 0.5227.
func TestShapeOfAScatter(t *testing.T) {
	for k, cv := range map[float64]float64{1: 1, 2: math.Sqrt(4/math.Pi - 1)} {
		if got := shapeOf(cv); math.Abs(got-k) > 1e-9*k {
			t.Errorf("shape of %g: %g", cv, got)
		}
	}
	if got := shapeOf(1e-5); got != 2000 {
		t.Errorf("shape of next to no scatter: %g", got)
	}
}

func TestAnswerSizeRefusals(t *testing.T) {
	good := AnswerSizeOptions{Question: askedOf(t, drop.Written{ID: "s", Of: "strength", AtLeast: "15 kN"}), Questions: 1, Suppose: 18000, CV: 0.08, N: 5, Power: 0.8, Runs: 200}
	for want, change := range map[string]func(*AnswerSizeOptions){
		"give --suppose":           func(o *AnswerSizeOptions) { o.Suppose = 0 },
		"coefficient of variation": func(o *AnswerSizeOptions) { o.CV = 0 },
		"break probability":        func(o *AnswerSizeOptions) { o.Break = 2 },
		"0 specimens":              func(o *AnswerSizeOptions) { o.N = 0 },
		"a power of 1":             func(o *AnswerSizeOptions) { o.Power = 1 },
		"0 questions":              func(o *AnswerSizeOptions) { o.Questions = 0 },
		"10 runs":                  func(o *AnswerSizeOptions) { o.Runs = 10 },
		"write the rating itself":  func(o *AnswerSizeOptions) { o.Question.Rating = true },
	} {
		o := good
		change(&o)
		if _, err := AnswerSizeFor(context.Background(), &look.Access{}, o); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", want, err)
		}
	}
}

// The falls break the share supposed, and the quantile of the strengths is the one supposed.
func TestSupposedStrengthIsTheOneDrawn(t *testing.T) {
	o := AnswerSizeOptions{Question: askedOf(t, drop.Written{ID: "s", Of: "strength", AtLeast: "15 kN"}), Suppose: 20000, CV: 0.1, Break: 0.4}
	n, broke, below := 20000, 0, 0
	rng := rand.New(rand.NewPCG(7, 0))
	for range n {
		o.strength(rng, o.Suppose, func(peak float64, outcome drop.Outcome) {
			if outcome == drop.Broke {
				broke++
			}
			if outcome == drop.Broke && peak < o.Suppose {
				below++
			}
		})
	}
	for what, c := range map[string][2]float64{"broke": {float64(broke) / float64(n), 0.4}, "below the 5 % quantile": {float64(below) / float64(n), 0.05}} {
		if math.Abs(c[0]-c[1]) > 4*math.Sqrt(c[1]*(1-c[1])/float64(n)) {
			t.Errorf("%s: %g, not %g", what, c[0], c[1])
		}
	}
}
