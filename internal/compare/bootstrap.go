package compare

import (
	"math"
	"math/rand/v2"
	"slices"

	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Bootstrap draws a campaign's specimens again, with replacement and cell by cell, and makes the figures of its table
// from each draw. It sees only the specimens that there were: with three or four a cell its intervals are too narrow.
type Bootstrap struct {
	figures []figure
	cells   [][]float64      // log peaks of the cells in which every specimen held
	kinds   [][]censor.Value // strengths of the kinds with a fit
}

type figure struct {
	name  message.Sentence
	unit  string
	value float64
	of    func(b *Bootstrap, means []float64, medians []float64) float64
}

// Resampled is a figure with its percentile interval.
type Resampled struct {
	Figure     message.Sentence `json:"figure"`
	Unit       string           `json:"unit"` // of Value, Lo and Hi: "N", or "" of a ratio
	Value      float64          `json:"value"`
	Lo         *float64         `json:"lo"`
	Hi         *float64         `json:"hi"`
	Draws      int              `json:"draws"`
	Failed     int              `json:"failed"` // draws that gave no number, such as those without a break
	Confidence float64          `json:"confidence"`
}

// NewBootstrap takes the mean log peak of the cells in which every specimen held (as geometric mean, N), the ratios of like
// cells, and the median strength (N) of each kind that has a fit.
func NewBootstrap(cells []Cell, kinds []SpecimenKind, against Against) *Bootstrap {
	b := &Bootstrap{}
	at := map[string]int{}
	for _, c := range cells {
		p := logPeaks(c)
		if c.MeanIsLowerBound || len(p) < 2 {
			continue
		}
		i := len(b.cells)
		at[c.Key()] = i
		b.cells = append(b.cells, p)
		b.figures = append(b.figures, figure{name: message.Say("geometric mean peak, %s", message.Names(c.Name())), unit: "N", of: func(_ *Bootstrap, means, _ []float64) float64 { return math.Exp(means[i]) }})
	}
	for _, k := range LikeForLike(cells, against) {
		var up, down []int
		for _, p := range pairsOf(cells, k.Factor, k.A, k.B) {
			x, okX := at[p.a.Key()]
			y, okY := at[p.b.Key()]
			if okX && okY {
				up, down = append(up, x), append(down, y)
			}
		}
		if len(up) == 0 {
			continue
		}
		b.figures = append(b.figures, figure{name: message.Say("peak ratio, %s over %s", message.Names(k.A), message.Names(k.B)), of: func(_ *Bootstrap, means, _ []float64) float64 {
			sum := 0.0
			for i := range up {
				sum += means[up[i]] - means[down[i]]
			}
			return math.Exp(sum / float64(len(up)))
		}})
	}
	for _, k := range kinds {
		if k.model == nil {
			continue
		}
		i := len(b.kinds)
		b.kinds = append(b.kinds, k.values)
		b.figures = append(b.figures, figure{name: message.Say("median strength, %s", message.Names(k.Name)), unit: "N", of: func(_ *Bootstrap, _, medians []float64) float64 { return medians[i] }})
	}
	means, medians := make([]float64, len(b.cells)), make([]float64, len(b.kinds))
	for i, c := range b.cells {
		means[i] = mean(c)
	}
	for i, k := range b.kinds {
		medians[i] = median(k)
	}
	for i := range b.figures {
		b.figures[i].value = b.figures[i].of(b, means, medians)
	}
	return b
}

func mean(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

func median(v []censor.Value) float64 {
	m, err := censor.Fit(v, censor.Weibull)
	if err != nil {
		return math.NaN()
	}
	return m.Quantile(0.5)
}

// Figures is how many figures there are.
func (b *Bootstrap) Figures() int { return len(b.figures) }

// Part makes the draws of one part: out[i] is draw i with one number a figure, NaN where it gave none. The numbers depend on
// seed and part only.
func (b *Bootstrap) Part(seed, part uint64, out [][]float64) {
	rng := rand.New(rand.NewPCG(seed, part))
	means, medians := make([]float64, len(b.cells)), make([]float64, len(b.kinds))
	var drawn []censor.Value
	for i := range out {
		for j, c := range b.cells {
			sum := 0.0
			for range c {
				sum += c[rng.IntN(len(c))]
			}
			means[j] = sum / float64(len(c))
		}
		for j, k := range b.kinds {
			drawn = drawn[:0]
			for range k {
				drawn = append(drawn, k[rng.IntN(len(k))])
			}
			medians[j] = median(drawn)
		}
		for j, f := range b.figures {
			out[i][j] = f.of(b, means, medians)
		}
	}
}

// SumUp takes the percentile intervals; draws that gave no number are counted, and where they are more than one in
// twenty no interval is given.
func (b *Bootstrap) SumUp(draws [][]float64, confidence float64) ([]Resampled, []message.Sentence) {
	var out []Resampled
	var warnings []message.Sentence
	small := 0
	for _, c := range b.cells {
		if len(c) < 8 {
			small++
		}
	}
	for _, k := range b.kinds {
		if len(k) < 8 {
			small++
		}
	}
	if small > 0 {
		warnings = append(warnings, message.Say("the bootstrap draws from fewer than 8 specimens in %d of %d groups: its intervals are too narrow there (common practice, no source); prefer the profile and t intervals", small, len(b.cells)+len(b.kinds)))
	}
	for j, f := range b.figures {
		var x []float64
		for _, d := range draws {
			if !math.IsNaN(d[j]) {
				x = append(x, d[j])
			}
		}
		r := Resampled{Figure: f.name, Unit: f.unit, Value: f.value, Draws: len(draws), Failed: len(draws) - len(x), Confidence: confidence}
		if r.Failed*20 > len(draws) {
			warnings = append(warnings, message.Say("%s: %s %% of the draws gave no number, so no interval is given", f.name, quantity.Significant(100*float64(r.Failed)/float64(len(draws)), 2)))
		} else {
			slices.Sort(x)
			tail := (1 - confidence) / 2
			lo, hi := x[int(tail*float64(len(x)))], x[min(len(x)-1, int(math.Ceil((1-tail)*float64(len(x)))))]
			r.Lo, r.Hi = &lo, &hi
		}
		out = append(out, r)
	}
	return out, warnings
}
