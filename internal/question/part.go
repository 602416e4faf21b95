package question

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/limits"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
)

// The families by which strengths and peaks are fitted where no family was chosen.
const (
	strengthFamily = censor.Weibull
	peakFamily     = censor.Lognormal
)

// Said names a part.
func (p Part) Said() message.Sentence { return message.Say("%s", message.Names(p.Name)) }

// figure works out what a part says of a question.
func (p *Part) figure(q drop.Question) figure {
	g, share := p.of, q.Quantile.SI()
	u, newtons := scaleOf(g.upper)
	switch q.Of {
	case drop.AskStrength:
		return scaled(strengthOf(valuesOf(g.upper, compare.Entry.Strength), share), u)
	case drop.AskPeak:
		return peakOf(valuesOf(g.upper, compare.Entry.Arrest), share, newtons)
	case drop.AskBreaks:
		return shareOf(broke(g.upper), len(g.upper))
	case drop.AskStrengthRatio:
		return ratioOf(valuesOf(g.upper, compare.Entry.Strength), valuesOf(g.lower, compare.Entry.Strength), strengthFamily, share)
	case drop.AskPeakRatio:
		return ratioOf(valuesOf(g.upper, compare.Entry.Arrest), valuesOf(g.lower, compare.Entry.Arrest), peakFamily, share)
	}
	return none(message.Say("it is not known what is asked"))
}

// peaks are what peakOf takes of the peaks of a part that were all seen.
func (p *Part) peaks() (n int, mean, sd, u float64) {
	values := valuesOf(p.of.upper, compare.Entry.Arrest)
	x := make([]float64, len(values))
	for i, v := range values {
		x[i] = v.Lo
	}
	mean, sd = limits.Moments(x)
	_, u = scaleOf(p.of.upper)
	return len(x), mean, sd, u
}

func valuesOf(entries []compare.Entry, value func(compare.Entry) (censor.Value, bool)) []censor.Value {
	var out []censor.Value
	for _, e := range entries {
		if v, ok := value(e); ok {
			out = append(out, v)
		}
	}
	return out
}

// threshold is the bound that is asked about; ok is false where it is a rating that is not known, or not one.
func (p *Part) threshold(q drop.Question) (v float64, why message.Sentence, ok bool) {
	if !q.Rating {
		return q.Bound, nil, true
	}
	for _, e := range p.of.upper {
		r := e.Drop.Specimen.Rating.SI()
		switch {
		case !(r > 0):
			return 0, message.Say("no rating is entered for specimen %s", message.Own(e.Drop.Specimen.ID)), false
		case v != 0 && v != r:
			return 0, message.Say("the specimens have different ratings; ask of each kind"), false
		}
		v = r
	}
	return v, nil, v > 0
}

// judge works out the bounds of a part at the risks given and says on which side of what is asked about it lies.
func (p *Part) judge(q drop.Question, loTail, hiTail float64) {
	if p.made == nil {
		f := p.figure(q)
		p.made = &f
	}
	f := *p.made
	p.Verdict, p.Estimate, p.Lo, p.Hi, p.Threshold, p.Method, p.Why = CannotTell, nil, nil, nil, nil, f.method, f.why
	if !math.IsNaN(f.value) {
		p.Estimate = &f.value
	}
	if v, ok := f.bound(loTail, false); ok && v > 0 {
		p.Lo = &v
	}
	if v, ok := f.bound(hiTail, true); ok && !math.IsInf(v, 0) {
		p.Hi = &v
	}
	t, why, ok := p.threshold(q)
	if !ok {
		p.Why = why
		return
	}
	p.Threshold = &t
	switch {
	case p.Lo != nil && p.Hi != nil && *p.Lo > *p.Hi:
		// Bounds at unlike risks that cross say nothing.
	case q.Side == drop.AtLeast && p.Lo != nil && *p.Lo >= t, q.Side == drop.AtMost && p.Hi != nil && *p.Hi <= t:
		p.Verdict = Yes
	case q.Side == drop.AtLeast && p.Hi != nil && *p.Hi < t, q.Side == drop.AtMost && p.Lo != nil && *p.Lo > t:
		p.Verdict = No
	}
}

// nearer tells that a part decides rather than another of which the same is said: the bound by which it is said, or where it cannot be told the estimate,
// leaves less room to what is asked about, or there is none.
func (p *Part) nearer(other Part, side drop.Side) bool {
	room := func(x Part) float64 {
		v := x.Estimate
		switch atLeast := side == drop.AtLeast; {
		case x.Verdict == Yes && atLeast, x.Verdict == No && !atLeast:
			v = x.Lo
		case x.Verdict == Yes, x.Verdict == No:
			v = x.Hi
		}
		if v == nil || x.Threshold == nil {
			return math.Inf(-1)
		}
		if side == drop.AtMost {
			return -*v / *x.Threshold
		}
		return *v / *x.Threshold
	}
	return room(*p) < room(other)
}
