// Dependence measures how often the interval of the 5 % quantile of strength holds the truth when the force of a fall and the strength of its specimen go
// together, which the fit takes as independent: simulated campaigns of one kind of specimen.
//
//	go run ./bench/dependence -runs 2000
package main

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

const (
	shape, scaleN = 12, 15000 // of the strength, Weibull
	scatter       = 0.08      // of the logarithm of the arrest force
	perRootMetre  = 12000     // median arrest force at a fall of 1 m, growing with the root of the fall
)

// designs are the falls of a campaign: three of which the highest breaks most, and one at which a third breaks.
var designs = []struct {
	name  string
	falls []float64
}{{"three falls", []float64{0.9, 1.4, 2}}, {"one fall", []float64{1.2}}}

func main() {
	runs := flag.Int("runs", 400, "campaigns for each row")
	seed := flag.Uint64("seed", 1, "of the draws")
	flag.Parse()
	fmt.Println("| campaign | n | correlation | held | taken as 0 | 0.5 | 0.8 | from 0.8 to 0 | correlation told | told interval holds |")
	fmt.Println("|---|---|---|---|---|---|---|---|---|---|")
	for i, d := range designs {
		for _, n := range []int{12, 24, 48, 200} {
			for _, rho := range []float64{0, 0.5, 0.8, 0.95} {
				fmt.Printf("| %s ", d.name)
				if err := row(d.falls, n, rho, *runs, *seed+uint64(i)); err != nil {
					fmt.Fprintln(os.Stderr, err)
					os.Exit(1)
				}
			}
		}
	}
}

// tally counts intervals and those that hold the truth; missed above are truths below the interval, on the unsafe side.
type tally struct{ n, holds, unsafe int }

func (t *tally) add(lo, hi *float64, truth float64) {
	t.n++
	switch {
	case lo != nil && truth < *lo:
		t.unsafe++
	case hi == nil || truth <= *hi:
		t.holds++
	}
}

func (t tally) String() string {
	if t.n == 0 {
		return "–"
	}
	return fmt.Sprintf("%.1f (%.1f)", 100*float64(t.holds)/float64(t.n), 100*float64(t.unsafe)/float64(t.n))
}

func row(falls []float64, n int, rho float64, runs int, seed uint64) error {
	truth := scaleN * math.Pow(-math.Log(0.95), 1./shape)
	var at [3]tally
	var over, told tally
	held, drops := 0, 0
	for run := range runs {
		rng := rand.New(rand.NewPCG(seed, uint64(n)*1e9+uint64(1000*rho)*1e6+uint64(run)))
		entries, h := campaign(rng, falls, n, rho)
		held, drops = held+h, drops+n
		kinds, err := compare.SpecimenKinds(entries, compare.StrengthOptions{Family: censor.Weibull, Confidence: 0.95})
		if err != nil {
			return err
		}
		for _, d := range compare.Dependences(entries, kinds) {
			if len(d.At) < 3 {
				continue
			}
			var lows [3]compare.Quantile
			for i, a := range d.At {
				for _, q := range a.Quantiles {
					if q.P == 0.05 {
						lows[i] = q
						at[i].add(q.Lo, q.Hi, truth)
					}
				}
			}
			over.add(lows[2].Lo, lows[0].Hi, truth)
			if d.Correlation != nil {
				told.add(d.Lo, d.Hi, rho)
			}
		}
	}
	holds := "–"
	if told.n > 0 {
		holds = fmt.Sprintf("%.1f", 100*float64(told.holds)/float64(told.n))
	}
	fmt.Printf("| %d | %g | %.0f | %v | %v | %v | %v | %.0f | %s |\n", n, rho, 100*float64(held)/float64(drops), at[0], at[1], at[2], over, 100*float64(told.n)/math.Max(1, float64(at[0].n)), holds)
	return nil
}

// campaign draws specimens whose normal scores of force and strength have the correlation.
func campaign(rng *rand.Rand, falls []float64, n int, rho float64) (entries []compare.Entry, held int) {
	for i := range n {
		fall := falls[i%len(falls)]
		a := rng.NormFloat64()
		z := rho*a + math.Sqrt(1-rho*rho)*rng.NormFloat64()
		force := perRootMetre * math.Sqrt(fall) * math.Exp(scatter*a)
		strength := scaleN * math.Pow(-math.Log(math.Erfc(z/math.Sqrt2)/2), 1./shape)
		e := compare.Entry{Drop: drop.Drop{ID: fmt.Sprint("d", i), Role: drop.Trial, Fall: quantity.Length(fall), Specimen: drop.Specimen{ID: fmt.Sprint("s", i)}}, Outcome: drop.Held, Decided: true, Trusted: true, Peak: quantity.Force(min(force, strength))}
		if strength < force {
			e.Outcome = drop.Broke
		} else {
			held++
		}
		entries = append(entries, e)
	}
	return entries, held
}
