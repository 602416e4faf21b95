// Next sets the advice of `hardcatch next` against three simple rules: any drop by chance, all in turn, and always the highest fall. Simulated campaigns of four
// scenarios spend the same budget, in specimens, by each rule, and it prints how wide the interval of what is asked is at the end.
//
//	go run ./bench/next -runs 200
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

// kind is a kind of specimen: strengths Weibull of a shape of 12, arrest forces lognormal with a scatter of 6 %, growing with the root of the fall.
type kind struct {
	material        string
	scaleN, perRoot float64
}

// scenario is what is asked, with what was dropped before: for each kind the falls in m.
type scenario struct {
	name   string
	kinds  []kind
	before [][]float64
	ask    compare.NextQuestion
	budget float64
}

var (
	polyester = kind{"polyester", 15000, 11000}
	aramid    = kind{"aramid", 20000, 15000}
)

var scenarios = []scenario{
	{"5 % quantile of the strength of one kind", []kind{polyester}, [][]float64{{0.5, 0.5, 1, 1, 1.5, 1.5}}, compare.NextQuestion{Goal: compare.NextStrength, Quantile: 0.05}, 6},
	{"strength of two kinds, one of which was dropped often", []kind{polyester, aramid}, [][]float64{{1, 1, 2, 2, 2, 2, 2, 2}, {1, 2}}, compare.NextQuestion{Goal: compare.NextEffect, Factor: "material"}, 6},
	{"fall at which the arrest force passes 9 kN", []kind{polyester}, [][]float64{{0.5, 0.5, 1, 1, 2}}, compare.NextQuestion{Goal: compare.NextSlack, Limit: 9000}, 6},
	{"arrest force of two kinds, high falls of which break", []kind{polyester, aramid}, [][]float64{{0.5, 1, 2}, {0.5, 1, 2}}, compare.NextQuestion{Goal: compare.NextEffect, Factor: "material", Peak: true}, 6},
}

// wide stands for an interval that does not close: the logarithm of a factor of 20.
var wide = math.Log(20)

func main() {
	runs := flag.Int("runs", 20, "campaigns for each scenario")
	draws := flag.Int("draws", 40, "outcomes drawn for each candidate")
	reRig := flag.Float64("rerig", 0.25, "cost of going to another fall, in specimens")
	seed := flag.Uint64("seed", 1, "of the draws")
	flag.Parse()
	fmt.Println("| scenario | next | by chance | in turn | highest fall | next better than the best of these |")
	fmt.Println("|---|---|---|---|---|---|")
	for n, s := range scenarios {
		s.ask.Family, s.ask.Draws, s.ask.Ahead, s.ask.ReRig, s.ask.Capacity = censor.Weibull, *draws, 2, *reRig, 30000
		var sum, squares [4]float64
		for run := range *runs {
			for rule := range 4 {
				w, err := s.campaign(rule, *seed+uint64(1000*n+run))
				if err != nil {
					fmt.Fprintln(os.Stderr, err)
					os.Exit(1)
				}
				sum[rule] += w
				squares[rule] += w * w
			}
		}
		best := math.Inf(1)
		fmt.Printf("| %s ", s.name)
		for rule := range 4 {
			k := float64(*runs)
			m := sum[rule] / k
			fmt.Printf("| %.3f ± %.3f ", m, math.Sqrt(math.Max(0, squares[rule]/k-m*m)/math.Max(1, k-1)))
			if rule > 0 {
				best = math.Min(best, m)
			}
		}
		fmt.Printf("| %.0f %% |\n", 100*(1-sum[0]/float64(*runs)/best))
	}
}

// campaign spends the budget by a rule and gives the width at the end. The same specimen of a kind has the same strength and stiffness by every rule.
func (s scenario) campaign(rule int, seed uint64) (float64, error) {
	chance := rand.New(rand.NewPCG(seed, 99))
	sources := make([]*rand.Rand, len(s.kinds))
	for k := range sources {
		sources[k] = rand.New(rand.NewPCG(seed, uint64(k)))
	}
	var entries []compare.Entry
	add := func(k int, fallM float64) {
		a, u := sources[k].NormFloat64(), sources[k].Float64()
		force, strength := s.kinds[k].perRoot*math.Sqrt(fallM)*math.Exp(0.06*a), s.kinds[k].scaleN*math.Pow(-math.Log1p(-u), 1./12)
		id := fmt.Sprint(s.kinds[k].material, len(entries))
		e := compare.Entry{Drop: drop.Drop{ID: id, Role: drop.Trial, Fall: quantity.Length(fallM), Specimen: drop.Specimen{ID: id, Material: s.kinds[k].material}}, Outcome: drop.Held, Decided: true, Trusted: true, Peak: quantity.Force(math.Min(force, strength))}
		if strength < force {
			e.Outcome = drop.Broke
		}
		entries = append(entries, e)
	}
	for k, falls := range s.before {
		for _, h := range falls {
			add(k, h)
		}
	}
	falls := []float64{0.5, 1, 1.5, 2, 2.5}
	spent, turn := 0.0, 0
	for {
		last := entries[len(entries)-1].Drop.Fall.SI()
		k, h := 0, 0.0
		switch rule {
		case 0:
			q := s.ask
			q.Seed = seed + uint64(len(entries))
			r, err := compare.SuggestNext(entries, q)
			if err != nil {
				return 0, err
			}
			if len(r.Choices) == 0 {
				k, h = turn%len(s.kinds), falls[len(falls)-1]
				break
			}
			h = r.Choices[0].Fall.SI()
			for i, x := range s.kinds {
				if x.material == r.Choices[0].Kind {
					k = i
				}
			}
		case 1:
			k, h = chance.IntN(len(s.kinds)), falls[chance.IntN(len(falls))]
		case 2:
			k, h = turn%len(s.kinds), falls[(turn/len(s.kinds))%len(falls)]
		case 3:
			k, h = turn%len(s.kinds), falls[len(falls)-1]
		}
		turn++
		cost := 1.0
		if math.Abs(h-last) > 1e-3 {
			cost += s.ask.ReRig
		}
		if spent+cost > s.budget+1e-9 {
			break
		}
		spent += cost
		add(k, h)
	}
	return s.width(entries)
}

// width is of the interval at the end, at most wide.
func (s scenario) width(entries []compare.Entry) (float64, error) {
	q := s.ask
	q.Draws, q.Ahead = 10, 1
	r, err := compare.SuggestNext(entries, q)
	if err != nil {
		return 0, err
	}
	if len(r.Choices) == 0 || r.Choices[0].Now == nil {
		return wide, nil
	}
	return math.Min(wide, *r.Choices[0].Now), nil
}
