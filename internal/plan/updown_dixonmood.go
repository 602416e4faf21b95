package plan

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// DixonMood is the classic estimate of an up-and-down series on equal steps, with the sums it is made from.
type DixonMood struct {
	Mean     quantity.Length  `json:"mean_m"`    // height at which half break
	MeanSE   *quantity.Length `json:"mean_se_m"` // nil when the spread is refused
	Spread   *quantity.Length `json:"spread_m"`  // standard deviation of the tolerance; nil when refused
	SpreadSE *quantity.Length `json:"spread_se_m"`
	Basis    drop.Outcome     `json:"basis"` // the rarer outcome, which is counted
	N        int              `json:"n"`     // of that outcome
	A        int              `json:"a"`     // sum i n_i, i in steps above the lowest level of that outcome
	B        int              `json:"b"`     // sum i^2 n_i
	Ratio    float64          `json:"ratio"` // (N B - A^2)/N^2
	Lowest   quantity.Length  `json:"lowest_m"`
	Refused  string           `json:"spread_refused,omitempty"` // why there is no spread
}

// What the method needs. The ratio is Dixon and Mood's; the least count is common practice, no source.
const (
	leastRatio     = 0.3
	leastForSpread = 5
)

// DixonMood estimates the height at which half break and the spread of the tolerance from the rarer outcome:
//
//	mean   = lowest + step (A/N + 1/2) counting those that held, (A/N - 1/2) counting those that broke
//	spread = 1.620 step ((N B - A^2)/N^2 + 0.029), good only while the ratio is above 0.3
//
// with standard errors (6 s + d)/(7 sqrt N) and (1.1 s + 0.3 s^2/d)/sqrt N (Dixon and Massey, Introduction to Statistical
// Analysis; recalled). With as many of either the held are counted. An error says why nothing can be estimated.
// Source: Dixon and Mood, J. Am. Stat. Assoc. 43 (1948) 109-126.
func (u *UpDown) DixonMood() (*DixonMood, error) {
	if u.Held == 0 || u.Broke == 0 {
		return nil, fmt.Errorf("all %d specimens %s: the method needs both outcomes; go on", len(u.Drops), u.Drops[0].Outcome())
	}
	if !u.Equal {
		return nil, fmt.Errorf("the steps are not equal (within %g %% of %s), which the method needs; the likelihood below does not", 100*gridTolerance, u.Step.Text(3))
	}
	d := &DixonMood{Basis: drop.Held, N: u.Held}
	if u.Broke < u.Held {
		d.Basis, d.N = drop.Broke, u.Broke
	}
	lowest := math.MaxInt
	for i, v := range u.Drops {
		if v.Outcome() == d.Basis && u.Grid[i] < lowest {
			lowest = u.Grid[i]
		}
	}
	bottom, _ := u.Range()
	d.Lowest = bottom + quantity.Length(float64(lowest)*u.Step.SI())
	for i, v := range u.Drops {
		if v.Outcome() == d.Basis {
			k := u.Grid[i] - lowest
			d.A += k
			d.B += k * k
		}
	}
	n, a, b, step := float64(d.N), float64(d.A), float64(d.B), u.Step.SI()
	side := 0.5
	if d.Basis == drop.Broke {
		side = -0.5
	}
	d.Mean = d.Lowest + quantity.Length(step*(a/n+side))
	d.Ratio = (n*b - a*a) / (n * n)
	switch {
	case d.N < leastForSpread:
		d.Refused = fmt.Sprintf("only %d specimens %s: the spread is not estimated from fewer than %d of the rarer outcome", d.N, d.Basis, leastForSpread)
	case d.Ratio <= leastRatio:
		d.Refused = fmt.Sprintf("(N B - A^2)/N^2 = %.3f is not above %g: the step is too wide for the spread to be told from this series", d.Ratio, leastRatio)
	default:
		s := 1.620 * step * (d.Ratio + 0.029)
		d.Spread = new(quantity.Length(s))
		d.MeanSE = new(quantity.Length((6*s + step) / (7 * math.Sqrt(n))))
		d.SpreadSE = new(quantity.Length((1.1*s + 0.3*s*s/step) / math.Sqrt(n)))
	}
	return d, nil
}
