// Answers measures how often the answer to a question is wrong where that is most likely: with what is asked about lying at the bound itself, a yes is wrong just
// below it and a no just above. It prints the table of docs/coverage.md.
package main

import (
	"context"
	"flag"
	"fmt"
	"os"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/foresee"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// row is one question with its scatter.
type row struct {
	written drop.Written
	cv      float64
	broken  float64 // share of the specimens that breaks; 0 = all
}

func main() {
	runs := flag.Int("runs", 2000, "simulated campaigns for each row and number of specimens")
	seed := flag.Uint64("seed", 1, "of the draws")
	flag.Parse()
	if err := measure(*runs, *seed); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func rows() []row {
	strength := drop.Written{ID: "5 % quantile of strength, at least", Of: "strength", AtLeast: "15 kN"}
	ratio := drop.Written{ID: "ratio of median strengths, at least", Of: "strength ratio", Where: map[string]string{"k": "a"}, Against: map[string]string{"k": "b"}, AtLeast: "0.5"}
	peak := drop.Written{ID: "95 % quantile of peak, at most", Of: "peak force", AtMost: "6 kN"}
	peaks := drop.Written{ID: "ratio of median peaks, at most", Of: "peak ratio", Where: map[string]string{"k": "a"}, Against: map[string]string{"k": "b"}, AtMost: "0.9"}
	breaks := drop.Written{ID: "break probability, at most 20 %", Of: "break probability", AtMost: "20 %"}
	return []row{
		{strength, 0.05, 0}, {strength, 0.2, 0}, {strength, 0.08, 0.5}, {strength, 0.08, 0.2},
		{ratio, 0.05, 0}, {ratio, 0.2, 0}, {ratio, 0.08, 0.5},
		{peak, 0.03, 0}, {peak, 0.1, 0}, {peaks, 0.03, 0}, {breaks, 0.1, 0},
	}
}

func measure(runs int, seed uint64) error {
	fmt.Println("| asked | scatter | broke | n | wrong yes % | wrong no % | Monte Carlo error % |")
	fmt.Println("|---|---|---|---|---|---|---|")
	for _, r := range rows() {
		q, err := r.written.Read()
		if err != nil {
			return err
		}
		for _, n := range []int{2, 3, 5, 10, 20} {
			a, err := foresee.AnswerSizeFor(context.Background(), &look.Access{}, foresee.AnswerSizeOptions{
				Question: q, Questions: 1, Suppose: q.Bound, CV: r.cv, Break: r.broken, N: n, Power: 1e-9, Runs: runs, Seed: seed,
			})
			if err != nil {
				return err
			}
			broke := "all"
			if r.broken > 0 {
				broke = quantity.Percent(r.broken)
			}
			fmt.Printf("| %s | %s | %s | %d | %.1f | %.1f | %.1f |\n", r.written.ID, quantity.Percent(r.cv), broke, n, 100*a.At.Yes, 100*a.At.No, 100*a.At.MCError)
		}
	}
	return nil
}
