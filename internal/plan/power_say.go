package plan

import (
	"math"
	"strconv"

	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// CanShow says what n against n can show at most, whatever comes out: the smallest ratio of peaks that is found with the
// power given, the smallest value of an exact test, and what no break at all would still allow.
func (t PeakTest) CanShow(n int, power float64) (message.Sentence, error) {
	ratio, err := t.SmallestRatio(power, n)
	if err != nil {
		return nil, err
	}
	none, err := censor.ExactBinomial(0, n, 0.95)
	if err != nil {
		return nil, err
	}
	p := SmallestP(n)
	reach := message.Say("so that at %s neither can find anything, whatever comes out", quantity.Percent(t.Alpha))
	if p <= t.Alpha {
		reach = message.Say("and that only when all of one group lie beyond all of the other")
	}
	return message.Say("With %d against %d, all holding, and peaks that scatter by %s, the smallest ratio found with %s power is %s (t test of log peaks, two-sided, %s). "+
		"No exact two-sided test of ranks or break counts can give p below %s, %s. If none of %d breaks, a break probability of up to %s %% is still possible (95 %% confidence).",
		n, n, quantity.Percent(t.CV), quantity.Percent(power), RatioRoundedUp(ratio), quantity.Percent(t.Alpha), smallest(p), reach, n, percentUp(none.Hi)), nil
}

// RatioRoundedUp prints a ratio above 1 rounded up to hundredths.
func RatioRoundedUp(r float64) string {
	if r > 1e4 {
		return "far above 10000"
	}
	return strconv.FormatFloat(math.Ceil(100*r*(1-1e-12))/100, 'f', 2, 64)
}

// PowerRoundedDown prints a power rounded down to whole percent.
func PowerRoundedDown(p float64) string { return strconv.Itoa(int(math.Floor(100*p*(1+1e-12)))) + " %" }

func smallest(p float64) string { return quantity.Significant(p, 2) }

// PowerAssumptions are what a sample size rests on.
func PowerAssumptions() []string {
	return []string{
		"The scatter, the ratio and the break probabilities are supposed, not measured: a wrong scatter makes a wrong number. Take the scatter from drops of your own rig.",
		"Specimens are independent, of one batch in each group, dropped once and in random order.",
		"A difference that is not found is not shown to be absent.",
	}
}
