package compare

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// large is a campaign of 500 drops: two materials, four knots, four falls, about 16 of each; strengths of shape 15 and peaks that grow with the fall.
func large() []Entry {
	r := rand.New(rand.NewPCG(5, 5))
	var in []Entry
	for i := range 500 {
		material, knot, fall := i%2, i/2%4, i/8%4
		strength := 22000 * (1 - 0.1*float64(knot)) * (1 - 0.05*float64(material)) * math.Pow(-math.Log1p(-r.Float64()), 1.0/15)
		force := 11000 * math.Sqrt(1+0.6*float64(fall)) * math.Exp(0.03*r.NormFloat64())
		e := entry(fmt.Sprint("x", i), []string{"sewn", "bowline", "overhand", "reef"}[knot], drop.Held, min(strength, force))
		if strength < force {
			e.Outcome = drop.Broke
		}
		e.Drop.Specimen.Material = []string{"aramid", "polyester"}[material]
		e.Drop.Fall = quantity.Length(0.45 * float64(1+fall))
		in = append(in, e)
	}
	return in
}

func BenchmarkCompareLarge(b *testing.B) {
	in := large()
	cells, err := Cells(in, 0.95)
	if err != nil {
		b.Fatal(err)
	}
	kinds, err := SpecimenKinds(in, StrengthOptions{Confidence: 0.95})
	if err != nil {
		b.Fatal(err)
	}
	for name, work := range map[string]func() error{
		"cells": func() error { _, err := Cells(in, 0.95); return err },
		"kinds": func() error { _, err := SpecimenKinds(in, StrengthOptions{Confidence: 0.95}); return err },
		"kinds, goodness": func() error {
			_, err := SpecimenKinds(in, StrengthOptions{Confidence: 0.95, Source: rand.New(rand.NewPCG(1, 1))})
			return err
		},
		"contrasts":    func() error { _, err := Contrasts(cells, Against{}, 1); return err },
		"peak effects": func() error { _, err := PeakEffects(in, Against{}, 0.95); return err },
		"effects":      func() error { _, err := StrengthEffects(in, censor.Weibull, Against{}, 0.95); return err },
		"ratios":       func() error { StrengthRatios(kinds, Against{}, 0.95); return nil },
		"interference": func() error { _, err := Interferences(cells, kinds, 0.95, 1); return err },
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if err := work(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
