package casefile

import (
	"context"
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/arrest"
)

func withTextile(text string) string {
	return "mass: 80 kg\nfall: 1.2 m\nchain:\n  - rig: {stiffness: 2 MN/m}\n  - textile: {name: a, length: 1.2 m, " + text + "}\n"
}

// The products are done by hand: wet polyamide 1.1, 0.9, 0.85; polyester loses 0.3 x 6/12 in half a year; 24 months of 36 take 0.55 x 24/36
// of polyamide.
func TestCondition(t *testing.T) {
	set := func(name string) arrest.Textile { s, _ := arrest.StartingSet(name); return s }
	for text, want := range map[string][4]float64{ // E1, branch, friction, degradation
		"material: dynamic-rope, condition: wet":                                                                           {10e3 * 1.1, 7e3 * 1.1, 0.18 * 0.9, 0.85},
		"material: polyester-webbing, condition: {state: aged, months: 6}":                                                 {120e3, 15e3, 0.06, 0.85},
		"material: polyamide-webbing, condition: [wet, {state: aged, months: 24}]":                                         {80e3 * 1.1, 20e3 * 1.1, 0.08 * 0.9, 0.85 * (1 - 0.55*24/36)},
		"material: polyamide-webbing, condition: {state: wet, strength: 0.7, stiffness: 0.5, friction: 2}":                 {40e3, 10e3, 0.16, 0.7},
		"E1: 50 kN, friction: 0.1, strength: 9 kN, maxwell: [{E: 2 kN, tau: 1 s}], condition: {state: wet, fibre: aramid}": {50e3, 2e3, 0.1, 0.95},
		"material: hmpe-blend-sling, condition: wet":                                                                       {100e3, 15e3, 0.06, 0},
	} {
		c, err := Read("c.yaml", strings.NewReader(withTextile(text)))
		if err != nil {
			t.Errorf("%s: %v", text, err)
			continue
		}
		x := c.Chain[1].Textile
		for i, got := range []float64{x.E1.SI(), x.Maxwell[0].E.SI(), x.Friction.SI(), x.Degradation.SI()} {
			if math.Abs(got-want[i]) > 1e-9*(1+want[i]) {
				t.Errorf("%s: value %d is %g, want %g", text, i, got, want[i])
			}
		}
	}
	if s := set("dynamic-rope"); s.E1 != 10e3 || s.Maxwell[0].E != 7e3 {
		t.Error("the starting set itself was changed")
	}
	for text, want := range map[string]string{
		"material: steel-wire, condition: wet":                              "wet has no meaning for steel",
		"material: dynamic-rope, condition: dry":                            `state "dry" is not known; say wet or aged`,
		"material: dynamic-rope, condition: aged":                           "aged needs the months outdoors",
		"material: dynamic-rope, condition: {state: aged, months: 40}":      "figures for up to 36 months",
		"material: dynamic-rope, condition: {state: wet, months: 4}":        "months belong to aged",
		"material: dynamic-rope, condition: [wet, wet]":                     "wet stands twice",
		"material: dynamic-rope, degradation: 0.8, condition: wet":          "degradation and condition both say",
		"material: dynamic-rope, condition: {state: wet, fibre: polyester}": "does not fit material dynamic-rope, which is polyamide",
		"E1: 50 kN, condition: wet":                                         "no starting values without a fibre",
		"E1: 50 kN, condition: {state: wet, fibre: silk}":                   `no starting values for fibre "silk"`,
		"material: dynamic-rope, condition: {state: wet, strength: 1.1}":    "share of strength left",
		"material: dynamic-rope, condition: {state: wet, colour: red}":      `key "colour" is not known`,
	} {
		if _, err := Read("c.yaml", strings.NewReader(withTextile(text))); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", text, err, want)
		}
	}
}

// A wet dynamic rope: the peak of a fall changes by -5 to +10 % (common practice, no source), and the result says what was assumed.
func TestWetRope(t *testing.T) {
	peak := map[string]float64{}
	for _, text := range []string{"material: dynamic-rope", "material: dynamic-rope, condition: wet"} {
		c, err := Read("c.yaml", strings.NewReader(withTextile(text)))
		if err != nil {
			t.Fatal(err)
		}
		r, err := arrest.Run(context.Background(), c, arrest.Options{})
		if err != nil {
			t.Fatal(err)
		}
		peak[text] = r.PeakForce.SI()
		said := ""
		for _, w := range r.Warnings {
			said += w.String() + "\n"
		}
		if wet := strings.Contains(text, "wet"); strings.Contains(said, "a is computed wet: strength times 0.85") != wet || strings.Contains(said, "stand for new dry specimens") == wet {
			t.Errorf("%s: %s", text, said)
		}
	}
	if k := peak["material: dynamic-rope, condition: wet"] / peak["material: dynamic-rope"]; k < 0.95 || k > 1.10 || k == 1 {
		t.Errorf("wet over dry %g", k)
	}
}
