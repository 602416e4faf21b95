package compare

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/message"
)

// CountP is how often as many of n drops or more, or as few or fewer, whichever is rarer, would break where each of the probabilities is as plausible as the others,
// doubled: the two-sided p-value of a predictive check (Gelman, Meng and Stern, Statistica Sinica 6 (1996) 733-807; recalled). 1 without drops or probabilities. A fit
// that was made with the same drops explains them too well rather than too badly, so that a small value is rarer than it says.
func CountP(broke, n int, probabilities []float64) float64 {
	if n <= 0 || len(probabilities) == 0 {
		return 1
	}
	ways := make([]float64, n+1) // logarithms of the numbers of ways
	all, _ := math.Lgamma(float64(n + 1))
	for k := range ways {
		b, _ := math.Lgamma(float64(k + 1))
		c, _ := math.Lgamma(float64(n - k + 1))
		ways[k] = all - b - c
	}
	atMost, atLeast := 0.0, 0.0
	for _, p := range probabilities {
		for k := range n + 1 {
			w := binomialShare(k, n, p, ways[k])
			if k <= broke {
				atMost += w
			}
			if k >= broke {
				atLeast += w
			}
		}
	}
	return math.Min(1, 2*math.Min(atMost, atLeast)/float64(len(probabilities)))
}

// binomialShare is the probability of k of n, of which there are exp(ways) orders.
func binomialShare(k, n int, p, ways float64) float64 {
	if p <= 0 || p >= 1 { // never, or always
		if (p <= 0) == (k == 0) && (p >= 1) == (k == n) {
			return 1
		}
		return 0
	}
	return math.Exp(ways + float64(k)*math.Log(p) + float64(n-k)*math.Log1p(-p))
}

// CountContradicts tells that a count is too far from what was predicted for both to be printed as true.
func CountContradicts(p float64) bool { return p < SignificanceLevel }

// hold holds a break probability by the fits against the count of its cell. Where they contradict each other the interval is widened to hold both, and no single number
// is said.
func (x *CellInterference) hold(c Cell, confidence float64) {
	i := x.Interference
	x.CountP = CountP(x.Broke, x.N, i.draws)
	if !CountContradicts(x.CountP) {
		x.Statement = message.Say("%s: by both fits %s of such drops break (%s %% to %s %%, %g %% confidence); %d of %d did.", message.Names(x.Cell), few(i.Probability), RoundOutward(100*i.Lo, math.Floor), RoundOutward(100*i.Hi, math.Ceil), 100*confidence, c.Broke, c.N)
		return
	}
	x.Contradicted = true
	i.Lo, i.Hi = math.Min(i.Lo, *c.BreakLo), math.Max(i.Hi, *c.BreakHi)
	x.Statement = message.Say("%s: %d of %d broke, which the fits of arrest force and strength do not explain (p = %s): no one number is given; between %s %% and %s %% of such drops break, which holds the fits and the count (%g %% confidence each). Look at the specimens, and whether they are of one kind.",
		message.Names(x.Cell), c.Broke, c.N, probability(x.CountP), RoundOutward(100*i.Lo, math.Floor), RoundOutward(100*i.Hi, math.Ceil), 100*confidence)
}
