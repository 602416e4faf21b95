package ensemble

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/num/censor"
)

// Percentile is a quantile of the peak with the interval that the number of drops leaves open.
type Percentile struct {
	P          float64 `json:"p"`
	Value      float64 `json:"value_N"`
	Lo         float64 `json:"lo_N"` // 95 % Monte Carlo interval by order statistics
	Hi         float64 `json:"hi_N"`
	FewerThan5 bool    `json:"-"` // fewer than five drops lie beyond: not to be relied on
}

// Percentiles takes quantiles of the peaks, in whatever order these are. The interval runs between the
// order statistics at n p -+ 1.96 sqrt(n p (1-p)) (David and Nagaraja, Order Statistics, 3rd ed., 7.1;
// recalled). It panics where there are no peaks.
func Percentiles(drops []Outcome, ps ...float64) []Percentile {
	n := float64(len(drops))
	place := func(k float64) int { return int(math.Max(0, math.Min(n-1, k))) }
	places := make([]int, 0, 3*len(ps))
	for _, p := range ps {
		half := 1.959963984540054 * math.Sqrt(n*p*(1-p))
		places = append(places, place(math.Floor(n*p)), place(math.Floor(n*p-half)), place(math.Ceil(n*p+half)))
	}
	at := ranks(drops, places)
	out := make([]Percentile, len(ps))
	for i, p := range ps {
		out[i] = Percentile{P: p, Value: at[places[3*i]], Lo: at[places[3*i+1]], Hi: at[places[3*i+2]], FewerThan5: n*math.Min(p, 1-p) < 5}
	}
	return out
}

// Breaks counts breaks, in all and by place in the chain, with the exact interval of the probability.
func Breaks(out []Outcome, elements int) (all censor.Binomial, by []int, err error) {
	by = make([]int, elements)
	k := 0
	for _, o := range out {
		if o.Broke >= 0 {
			k++
			by[int(o.Broke)]++
		}
	}
	all, err = censor.ExactBinomial(k, len(out), 0.95)
	return all, by, err
}

// Index is the share of the variance of the peak that one input explains: what to measure better.
type Index struct {
	Parameter string  `json:"parameter"` // of the input
	First     float64 `json:"first_order"`
	FirstSE   float64 `json:"first_order_se"` // Monte Carlo standard error
	Total     float64 `json:"total"`
	TotalSE   float64 `json:"total_se"`
}

// Sobol estimates first-order and total indices from rows of f(a), f(b), f(ab_1), ...:
//
//	S_i = mean(f(b) (f(ab_i) - f(a)))/V, T_i = mean((f(a) - f(ab_i))^2)/(2 V)
//
// Source: Saltelli et al., Comput. Phys. Commun. 181 (2010) 259-270, table 2 (recalled). Values of f
// are centred first. nil when the peak does not vary.
func Sobol(rows [][]Outcome) []Index {
	if len(rows) < 2 {
		return nil
	}
	k := len(rows[0]) - 2
	mean, n := 0.0, float64(len(rows))
	for _, r := range rows {
		mean += (r[0].Peak + r[1].Peak) / (2 * n)
	}
	v := 0.0
	for _, r := range rows {
		v += ((r[0].Peak-mean)*(r[0].Peak-mean) + (r[1].Peak-mean)*(r[1].Peak-mean)) / (2 * n)
	}
	if !(v > 0) {
		return nil
	}
	out := make([]Index, k)
	for i := range k {
		var s, ss, t, tt float64
		for _, r := range rows {
			x := (r[1].Peak - mean) * (r[2+i].Peak - r[0].Peak) / v
			y := (r[0].Peak - r[2+i].Peak) * (r[0].Peak - r[2+i].Peak) / (2 * v)
			s += x
			ss += x * x
			t += y
			tt += y * y
		}
		s, t = s/n, t/n
		out[i] = Index{First: s, Total: t, FirstSE: math.Sqrt(math.Max(ss/n-s*s, 0) / n), TotalSE: math.Sqrt(math.Max(tt/n-t*t, 0) / n)}
	}
	return out
}
