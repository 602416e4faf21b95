package compare

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/uncert"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Standing is how one held peak sits among the other held peaks of its cell.
type Standing struct {
	Others int `json:"others"` // held peaks it is set beside
	Rank   int `json:"rank"`   // 1 = highest of Others+1; ties share the better rank
	// Lo and Hi are the prediction interval from the others, null with fewer than two.
	Lo *quantity.Force `json:"lo_N"`
	Hi *quantity.Force `json:"hi_N"`
	// Outside tells that the peak lies outside the interval.
	Outside bool             `json:"outside"`
	Text    message.Sentence `json:"text"`
}

// StandingOf sets a peak beside the other held peaks of its cell. The interval is the one into which a single further
// peak falls with the confidence given when peaks are normal: mean +/- t(n-1) sd sqrt(1 + 1/n) of the n others
// (Hahn and Meeker, Statistical Intervals, 1991, section 4.7; recalled). So one sound drop in twenty lies outside at
// 0.95 by chance.
func StandingOf(peak quantity.Force, others []quantity.Force, confidence float64) (Standing, error) {
	if !(confidence > 0.5 && confidence < 1) {
		return Standing{}, fmt.Errorf("confidence %g is outside 0.5 to 1; 0.95 is usual", confidence)
	}
	s := Standing{Others: len(others), Rank: 1}
	x := make([]float64, len(others))
	for i, o := range others {
		x[i] = o.SI()
		if o > peak {
			s.Rank++
		}
	}
	n := float64(len(x))
	m, ok := meanInterval(x, confidence)
	if !ok {
		s.Text = message.Say("the first of its cell that held: nothing to set it beside")
		return s, nil
	}
	if len(x) == 1 {
		s.Text = message.Say("%s of 2 that held (the other: %s); one other shows no spread, so whether it is an outlier cannot be told", RankWords(s.Rank, 2), others[0])
		return s, nil
	}
	half := uncert.StudentQuantile(0.5+confidence/2, n-1) * m.sd * math.Sqrt(1+1/n)
	s.Lo, s.Hi = force(math.Max(m.mean-half, 0)), force(m.mean+half)
	s.Outside = math.Abs(peak.SI()-m.mean) > half
	verdict := message.Say("no outlier")
	if s.Outside {
		verdict = message.Say("an OUTLIER: look at the specimen, fall height, mass and release before the next drop; being one is no reason to void it")
	}
	s.Text = message.Say("%s of %d that held; the %d others predict %s to %s (%g %%): %s", RankWords(s.Rank, len(x)+1), len(x)+1, len(x), s.Lo, s.Hi, 100*confidence, verdict)
	if len(x) == 2 {
		s.Text = s.Text.Say("; two others hardly bound it")
	}
	return s, nil
}

// UnknownScale is the share of a peak that is allowed for a force scale of which nothing is known. Common practice, no source.
const UnknownScale = 0.05

// Range is where the peak of the drop lies, with its expanded uncertainty and what is allowed for a force scale that is not known: hi is +Inf where the arrest force
// is only known to be at least lo. ok is false for a drop that has no peak or does not count: void, without an outcome, or of a specimen that counts already.
func (r Row) Range() (lo, hi, expanded quantity.Force, ok bool) {
	if r.Peak == nil || r.Again || r.Outcome != drop.Held && r.Outcome != drop.Broke && r.Outcome != drop.Slipped {
		return 0, 0, 0, false
	}
	lo, hi, expanded = *r.Peak, *r.Peak, *r.Expanded
	if r.Rebuilt != nil {
		lo, hi = r.Rebuilt[0], r.Rebuilt[1]
	}
	if r.NoScale {
		expanded += UnknownScale * max(hi, *r.Peak)
	}
	if r.LowerBound {
		hi = quantity.Force(math.Inf(1))
	}
	return lo, hi, expanded, true
}

// Place words a rank from the top: "highest", "2nd highest", "lowest".
func RankWords(rank, of int) message.Sentence {
	switch {
	case rank == 1:
		return message.Say("highest")
	case rank == of:
		return message.Say("lowest")
	case rank%10 == 1 && rank%100 != 11:
		return message.Say("%dst highest", rank)
	case rank%10 == 2 && rank%100 != 12:
		return message.Say("%dnd highest", rank)
	case rank%10 == 3 && rank%100 != 13:
		return message.Say("%drd highest", rank)
	}
	return message.Say("%dth highest", rank)
}
