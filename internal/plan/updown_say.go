package plan

import (
	"fmt"

	"github.com/hardcatch/hardcatch/internal/num/probit"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// UpDownAssumptions are what an up-and-down series rests on. The program cannot check them.
func UpDownAssumptions() []string {
	return []string{
		"Every specimen is dropped once: one that held is weaker or stiffer than a new one, and counts no more.",
		"All specimens are of one kind and batch, and the rig, mass and length do not change during the series.",
		"The heights at which specimens break follow the stated shape. The drops crowd round the height at which half break; a low quantile rests on the shape more than on the drops.",
	}
}

// What is thought little of. Common practice, no source.
const (
	fewReversals = 6
	fewDrops     = 40
)

// Warnings are doubts about the series. c and f may be nil.
func (u *UpDown) Warnings(c *DixonMood, f *UpDownFit) []string {
	var w []string
	n := len(u.Drops)
	if u.Held == 0 || u.Broke == 0 {
		w = append(w, fmt.Sprintf("all %d %s: one outcome only; nothing but a bound can be said", n, u.Drops[0].Outcome()))
	} else if u.Reversals < fewReversals {
		times := fmt.Sprintf("%d times", u.Reversals)
		if u.Reversals == 1 {
			times = "once"
		}
		w = append(w, fmt.Sprintf("few reversals: the outcome changed only %s; every estimate leans on few specimens", times))
	}
	if !u.Equal {
		w = append(w, fmt.Sprintf("unequal steps: not every height is a whole number of steps of %s from the others, one step at a time", u.Step.Text(3)))
	}
	for _, k := range u.Astray {
		want, _ := NextHeight(u.Drops[k-2], u.Step)
		w = append(w, fmt.Sprintf("drop %d was made at %s; after one that %s at %s the rule gives %s", k, u.Drops[k-1].Height.Text(3), u.Drops[k-2].Outcome(), u.Drops[k-2].Height.Text(3), want.Text(3)))
	}
	if c != nil && n < fewDrops {
		w = append(w, fmt.Sprintf("%d drops: the estimate of Dixon and Mood is made for %d and more; its standard errors are too small below", n, fewDrops))
	}
	if f != nil && f.State != probit.OneOutcome && n < fewDrops {
		w = append(w, fmt.Sprintf("%d drops: a profile interval holds what it claims with many; in simulated series of 20 a 95 %% interval held the truth about 9 times in 10: hardcatch staircase --simulate shows it for yours", n))
	}
	spread := quantity.Length(0)
	if f != nil && f.State == probit.Identified && f.Shape == NormalTolerance {
		spread = f.Spread
	}
	if c != nil && c.Spread != nil {
		spread = *c.Spread
	}
	if spread > 0 {
		if s := StepDoubt(u.Step, spread); s != "" {
			w = append(w, s)
		}
	}
	return w
}

// StepDoubt says when a step does not suit the spread: it should be from half to twice the standard deviation. Source:
// Dixon and Mood (1948). Empty when it does.
func StepDoubt(step, spread quantity.Length) string {
	switch r := step.SI() / spread.SI(); {
	case r > 2:
		return fmt.Sprintf("the step of %s is %s times the spread of %s: too wide to tell the spread; from half to twice the spread suits", step.Text(3), quantity.Significant(r, 2), spread.Text(2))
	case r < 0.5:
		return fmt.Sprintf("the step of %s is only %s times the spread of %s: the series wanders and tells little for its drops; from half to twice the spread suits", step.Text(3), quantity.Significant(r, 2), spread.Text(2))
	}
	return ""
}

// unsafeBias is the share of the spread by which a low quantile may lie too high before it is said. Common practice, no
// source.
const unsafeBias = 0.1

// Warnings are doubts about a planned series.
func (c *UpDownCharacter) Warnings() []string {
	var w []string
	d := c.Design
	if s := StepDoubt(d.Step, d.SD); s != "" {
		w = append(w, s)
	}
	if off := (d.Start - d.Mean).SI() / d.SD.SI(); off > 3 || off < -3 {
		w = append(w, fmt.Sprintf("the series starts %s standard deviations from the supposed mean: its first drops only walk there", quantity.Significant(off, 2)))
	}
	if c.Floored > 0 {
		w = append(w, fmt.Sprintf("in %s %% of the runs a step down would have left no height; the height was repeated", percentUp(c.Floored)))
	}
	if d.Truth(d.Quantile) <= 0 {
		w = append(w, fmt.Sprintf("the supposed tolerance puts the %g quantile at %s, which is no height: suppose a smaller spread", d.Quantile, d.Truth(d.Quantile).Text(3)))
	}
	if c.Separated > 0.2 {
		w = append(w, fmt.Sprintf("in %s %% of the runs held and broke are separated, so that the likelihood gives no spread and no low quantile: make more drops or a smaller step", percentUp(c.Separated)))
	}
	if v := c.LowIn; v.Intervals > 0 && *v.Hi < d.Confidence {
		w = append(w, fmt.Sprintf("the interval of the %g quantile holds the truth in %s %% of the runs, less than the %g %% it claims: with %d drops take it as too narrow", d.Quantile, quantity.Significant(100**v.Covered, 3), 100*d.Confidence, d.N))
	}
	if c.Low.Bias != nil && *c.Low.Bias > unsafeBias*d.SD.SI() {
		w = append(w, fmt.Sprintf("the estimate of the %g quantile lies above the truth by %s on average, which is the unsafe side: few drops make the spread look too small", d.Quantile, quantity.Length(*c.Low.Bias).Text(2)))
	}
	if v := c.HalfIn; v.Intervals > 0 && *v.Hi < d.Confidence {
		w = append(w, fmt.Sprintf("the interval of the height at which half break holds the truth in %s %% of the runs, less than the %g %% it claims", quantity.Significant(100**v.Covered, 3), 100*d.Confidence))
	}
	return w
}
