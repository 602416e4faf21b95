package compare

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// CommonOdds is the odds ratio of breaking at A over B that is common to pairs of cells, conditional on how many broke in each pair, so that
// cells that are unlike are never added up.
type CommonOdds struct {
	Ratio      *float64         `json:"ratio"` // null where it is 0 or without end, and where Missing says why
	Lo         *float64         `json:"lo"`    // null sides are not bounded by the data
	Hi         *float64         `json:"hi"`
	Confidence float64          `json:"confidence"`
	Pairs      int              `json:"pairs"` // that say something: not all of a pair ended alike
	Missing    message.Sentence `json:"missing,omitempty"`
}

// commonOdds is the likeliest common odds ratio, and the exact interval that cuts half the doubt from either tail. Sources: Gart, Biometrika
// 57 (1970) 471-475; Mehta, Patel and Gray, J. Am. Stat. Assoc. 80 (1985) 969-973 (recalled).
func commonOdds(pairs []cellPair, confidence float64) CommonOdds {
	d := CommonOdds{Confidence: confidence}
	p := []float64{1} // of the number broken at A, from its least on, at a ratio of 1
	at, least := 0, 0
	for _, q := range pairs {
		lo, more := splits(q.a.N, q.b.N, q.a.Broke+q.b.Broke)
		p = convolved(p, more)
		least += lo
		at += q.a.Broke
		if len(more) > 1 {
			d.Pairs++
		}
	}
	at -= least
	if len(p) == 1 {
		d.Missing = message.Say("all ended alike, so that their odds cannot be set against each other")
		return d
	}
	tail := (1 - confidence) / 2
	upper := func(log float64) float64 { return shareFrom(p, log, at, len(p)) }
	lower := func(log float64) float64 { return shareFrom(p, log, 0, at+1) }
	if at > 0 {
		lo := math.Exp(crossing(func(x float64) bool { return upper(x) > tail }))
		d.Lo = &lo
	}
	if at < len(p)-1 {
		hi := math.Exp(crossing(func(x float64) bool { return lower(x) < tail }))
		d.Hi = &hi
	}
	if d.Lo != nil && d.Hi != nil {
		ratio := math.Exp(crossing(func(x float64) bool { return expected(p, x) > float64(at) }))
		d.Ratio = &ratio
	}
	return d
}

// say words the odds, the lower bound rounded down and the upper one up.
func (d CommonOdds) say() message.Sentence {
	switch {
	case d.Ratio != nil:
		return message.Say("the odds of breaking are %s times as high (%s to %s, %g %% confidence, exact, over all pairs)", quantity.Significant(*d.Ratio, 3), quantity.Below(*d.Lo, 3), quantity.Above(*d.Hi, 3), 100*d.Confidence)
	case d.Lo != nil:
		return message.Say("the odds of breaking are at least %s times as high (%g %% confidence, exact, over all pairs)", quantity.Below(*d.Lo, 3), 100*d.Confidence)
	case d.Hi != nil:
		return message.Say("the odds of breaking are at most %s times as high (%g %% confidence, exact, over all pairs)", quantity.Above(*d.Hi, 3), 100*d.Confidence)
	}
	return message.Say("the break counts say nothing (%s)", d.Missing)
}

// odds is commonOdds as a difference.
func (d *Difference) odds(pairs []cellPair) {
	c := commonOdds(pairs, d.Confidence)
	d.Ratio, d.Lo, d.Hi, d.Pairs, d.Missing = c.Ratio, c.Lo, c.Hi, c.Pairs, c.Missing
	d.Method = message.Say("common odds ratio of the pairs, conditional likelihood, exact interval")
}

// splits is how likely it is that lo, lo+1, ... of broke specimens stand among the first m of m+n when every one is as likely to: the
// hypergeometric distribution.
func splits(m, n, broke int) (lo int, p []float64) {
	lo = max(0, broke-n)
	logs, at := []float64{0}, 0.0
	for x := lo; x < min(m, broke); x++ {
		at += math.Log(float64(m-x) * float64(broke-x) / (float64(x+1) * float64(n-broke+x+1)))
		logs = append(logs, at)
	}
	return lo, summedToOne(logs)
}

// summedToOne turns logarithms of weights into shares.
func summedToOne(logs []float64) []float64 {
	top := math.Inf(-1)
	for _, v := range logs {
		top = math.Max(top, v)
	}
	out, sum := make([]float64, len(logs)), 0.0
	for i, v := range logs {
		out[i] = math.Exp(v - top)
		sum += out[i]
	}
	for i := range out {
		out[i] /= sum
	}
	return out
}

func convolved(a, b []float64) []float64 {
	out := make([]float64, len(a)+len(b)-1)
	for i, x := range a {
		for j, y := range b {
			out[i+j] += x * y
		}
	}
	return out
}

// tilted is p(t) exp(t log) made to sum to 1.
func tilted(p []float64, log float64) []float64 {
	logs := make([]float64, len(p))
	for t, v := range p {
		logs[t] = math.Log(v) + float64(t)*log
	}
	return summedToOne(logs)
}

func shareFrom(p []float64, log float64, from, to int) float64 {
	sum := 0.0
	for _, v := range tilted(p, log)[from:to] {
		sum += v
	}
	return sum
}

func expected(p []float64, log float64) float64 {
	sum := 0.0
	for t, v := range tilted(p, log) {
		sum += float64(t) * v
	}
	return sum
}

// crossing is where a condition that holds from some logarithm of an odds ratio on begins to hold.
func crossing(holds func(float64) bool) float64 {
	lo, hi := -60.0, 60.0
	for range 100 {
		mid := (lo + hi) / 2
		if holds(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return (lo + hi) / 2
}
