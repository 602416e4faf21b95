package main

import (
	"fmt"
	"io"
	"math/rand/v2"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// claims prints how often a campaign in which nothing differs claims that something does.
func claims(w io.Writer, samples int, seed uint64) error {
	if _, err := fmt.Fprint(w, `
## Wrong claims

Campaigns of four kinds with equal medians, the strengths of three set against the first by the regression over all factors: how often any of the three is called more than
chance would explain, after Holm's adjustment. At most 5 % is meant.

| family | shapes | specimens of each | held | wrong claims |
|---|---|---|---|---|
`); err != nil {
		return err
	}
	for _, f := range []censor.Family{censor.Weibull, censor.Lognormal} {
		for _, shapes := range [][4]float64{{8, 8, 8, 8}, {25, 5, 25, 5}, {5, 25, 25, 25}, {25, 5, 5, 5}, {3, 8, 15, 25}} {
			for _, n := range []int{3, 5} {
				for _, held := range []float64{0, 0.3} {
					if held > 0 && (n == 3 || f == censor.Lognormal) {
						continue
					}
					if err := claimRow(w, f, shapes, n, held, samples, seed); err != nil {
						return err
					}
				}
			}
		}
	}
	return nil
}

func claimRow(w io.Writer, f censor.Family, shapes [4]float64, n int, held float64, samples int, seed uint64) error {
	r := rand.New(rand.NewPCG(seed, uint64(n)<<32+uint64(shapes[0])<<16+uint64(shapes[1])<<8+uint64(100*held)))
	wrong, all := 0, 0
	for range samples {
		var entries []compare.Entry
		for k, shape := range shapes {
			for _, v := range (kind{f, shape}).draw(n, held, r) {
				e := compare.Entry{Outcome: drop.Broke, Decided: true, Trusted: true, Peak: quantity.Force(20e3 * v.Lo)}
				e.Drop.ID = fmt.Sprint(len(entries))
				e.Drop.Specimen.ID, e.Drop.Specimen.Material = e.Drop.ID, string(rune('a'+k))
				if v.Kind() != censor.Observed {
					e.Outcome = drop.Held
				}
				entries = append(entries, e)
			}
		}
		e, err := compare.StrengthEffects(entries, f, compare.Against{}, 0.95)
		if err != nil {
			return err
		}
		all++
		for _, x := range e.Effects {
			if x.PHolm <= compare.SignificanceLevel {
				wrong++
				break
			}
		}
	}
	share := float64(wrong) / float64(all)
	_, err := fmt.Fprintf(w, "| %s | %g, %g, %g, %g | %d | %.0f %% | %.1f ± %.1f %% |\n", f, shapes[0], shapes[1], shapes[2], shapes[3], n, 100*held, 100*share, 100*monteCarlo(share, all))
	return err
}
