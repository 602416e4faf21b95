package reduce

import "github.com/hardcatch/hardcatch/internal/message"

// Kinds of records of which intervals hold the truth less often than they say, as measured against simulated arrests: docs/reduction-coverage.md.
const (
	slowRate  = 500.0  // Hz: the row of 200 Hz
	fairRate  = 2000.0 // Hz: the row of 1 kHz
	slackNode = 220.0  // Hz: the row of 150 Hz
)

// Covers tells how often intervals of records of this kind held the truth, where that was measured to deviate from 92 to 98 %; none elsewhere.
func (r *Reduction) Covers() []message.Sentence {
	var out []message.Sentence
	rate, node := r.Rate.SI(), r.Settings.RigFrequency.SI()
	switch {
	case rate > 0 && rate < slowRate:
		out = append(out, message.Say("measured on arrests simulated at 200 Hz: the interval of the peak held the truth in %d to %d %%, of the duration in %d to %d %%, of the elongation in %d to %d %% (nominal 95 %%); sample faster, or ask this record with reduce --measure-coverage", 77, 98, 72, 98, 80, 100))
	case rate > 0 && rate < fairRate:
		out = append(out, message.Say("measured on arrests simulated at 1 kHz: the interval of the peak held the truth in %d to %d %%, of the impulse in %d to %d %%, of the elongation in %d to %d %% (nominal 95 %%); sample faster, or ask this record with reduce --measure-coverage", 73, 100, 83, 98, 77, 100))
	}
	if node > 0 && node < slackNode {
		out = append(out, message.Say("measured on arrests simulated on a rig of 150 Hz: the audit doubts %d %% of good records, and the peak lies %s %% low in the middle, within its interval; stiffen the rig, or ask this record with reduce --measure-coverage", 11, message.Own("0.7")))
	}
	return out
}
