package main

import (
	"errors"
	"fmt"
	"io"
	"math/rand/v2"

	"github.com/hardcatch/hardcatch/internal/num/censor"
)

// quantiles prints the coverage of intervals of one kind's quantiles.
func quantiles(w io.Writer, samples int, seed uint64) error {
	if _, err := fmt.Fprint(w, `
## Quantiles of one kind

95 % intervals of the 5 % quantile and of the median, in each cell: **coverage** (truth below the interval, truth above it). "Bound" is how often the one-sided 95 % lower
bound of the 5 % quantile lies below it. Complete values of one shape are those of another on a scale of their own, so that they stand once.

| family | shape | n | held | none | 5 % quantile | median | bound |
|---|---|---|---|---|---|---|---|
`); err != nil {
		return err
	}
	for _, f := range []censor.Family{censor.Weibull, censor.Lognormal} {
		for _, n := range []int{2, 3, 4, 5, 7, 10, 20} {
			for _, held := range []float64{0, 0.3, 0.5, 0.7, 0.9} {
				shapes := []float64{3, 25}
				if held == 0 || f == censor.Lognormal {
					shapes = []float64{8}
				}
				for _, shape := range shapes {
					if err := quantileRow(w, kind{f, shape}, n, held, samples, seed); err != nil {
						return err
					}
				}
			}
		}
	}
	return nil
}

func quantileRow(w io.Writer, k kind, n int, held float64, samples int, seed uint64) error {
	r := rand.New(rand.NewPCG(seed, uint64(n)<<16+uint64(100*held)<<8+uint64(k.shape)))
	var low, median, bound tally
	for range samples {
		m, err := censor.Fit(k.draw(n, held, r), k.family)
		if errors.Is(err, censor.ErrNotIdentified) {
			continue
		}
		if err != nil {
			return err
		}
		m = m.Calibrated()
		v, err := m.QuantileInterval(0.05, 0.95)
		if err != nil {
			return err
		}
		if v.OpenLo && v.OpenHi {
			continue
		}
		low.add(v, k.quantile(0.05))
		if v, err = m.QuantileInterval(0.5, 0.95); err != nil {
			return err
		}
		median.add(v, k.quantile(0.5))
		b, err := m.LowerBound(0.05, 0.95)
		if err != nil {
			return err
		}
		bound.add(censor.Interval{Lo: b.Lo, Hi: k.quantile(1)}, k.quantile(0.05))
	}
	holds := "–"
	if bound.all >= 100 {
		holds = fmt.Sprintf("%.1f", 100-100*float64(bound.above)/float64(bound.all))
	}
	_, err := fmt.Fprintf(w, "| %s | %g | %d | %.0f %% | %.1f %% | %s | %s | %s |\n", k.family, k.shape, n, 100*held, 100-100*float64(low.all)/float64(samples), low, median, holds)
	return err
}
