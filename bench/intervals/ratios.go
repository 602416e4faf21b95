package main

import (
	"errors"
	"fmt"
	"io"
	"math/rand/v2"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/num/censor"
)

// ratios prints the coverage of the ratio of two kinds whose medians are equal.
func ratios(w io.Writer, samples int, seed uint64) error {
	if _, err := fmt.Fprint(w, `
## Ratio of two kinds

95 % intervals of the ratio of medians (which is 1) and of 5 % quantiles, each kind with a scatter of its own. "p ≤ 0.05" is how often equal medians are called different
by this test alone.

| family | shapes | sizes | held | none | ratio of medians | ratio of 5 % quantiles | p ≤ 0.05 |
|---|---|---|---|---|---|---|---|
`); err != nil {
		return err
	}
	for _, f := range []censor.Family{censor.Weibull, censor.Lognormal} {
		for _, shapes := range [][2]float64{{8, 8}, {25, 5}, {5, 25}, {3, 12}} {
			for _, sizes := range [][2]int{{3, 3}, {4, 8}, {12, 4}, {5, 5}} {
				for _, held := range []float64{0, 0.3, 0.5} {
					if held > 0 && (f == censor.Lognormal || sizes == [2]int{3, 3}) {
						continue
					}
					if err := ratioRow(w, kind{f, shapes[0]}, kind{f, shapes[1]}, sizes, held, samples, seed); err != nil {
						return err
					}
				}
			}
		}
	}
	return nil
}

func ratioRow(w io.Writer, a, b kind, sizes [2]int, held float64, samples int, seed uint64) error {
	r := rand.New(rand.NewPCG(seed, uint64(sizes[0])<<32+uint64(sizes[1])<<24+uint64(a.shape)<<16+uint64(b.shape)<<8+uint64(100*held)))
	var median, low tally
	wrong := 0
	for range samples {
		fit, err := compare.FitRatio(a.draw(sizes[0], held, r), b.draw(sizes[1], held, r), a.family)
		if errors.Is(err, censor.ErrNotIdentified) {
			continue
		}
		if err != nil {
			return err
		}
		m, err := fit.Quantile(0.5, 0.95)
		if err != nil {
			return err
		}
		l, err := fit.Quantile(0.05, 0.95)
		if err != nil {
			return err
		}
		median.add(closed(m), 1)
		low.add(closed(l), a.quantile(0.05)/b.quantile(0.05))
		if m.PValue <= 0.05 {
			wrong++
		}
	}
	_, err := fmt.Fprintf(w, "| %s | %g, %g | %d, %d | %.0f %% | %.1f %% | %s | %s | %.1f %% |\n", a.family, a.shape, b.shape, sizes[0], sizes[1], 100*held,
		100-100*float64(median.all)/float64(samples), median, low, 100*float64(wrong)/float64(max(1, median.all)))
	return err
}

// closed is a ratio's interval, an open side without end.
func closed(q compare.QuantileRatio) censor.Interval {
	v := censor.Interval{Lo: 0, Hi: 1e300}
	if q.Lo != nil {
		v.Lo = *q.Lo
	}
	if q.Hi != nil {
		v.Hi = *q.Hi
	}
	return v
}
