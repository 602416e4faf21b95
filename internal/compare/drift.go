package compare

import (
	"math"
	"time"

	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/uncert"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Drift is how the peaks of check drops change with time. A change of the gain moves every peak of the campaign by the same share.
type Drift struct {
	PerDay     float64 `json:"per_day"` // relative change of the peak a day
	Lo         float64 `json:"lo"`
	Hi         float64 `json:"hi"`
	Days       int     `json:"days"` // from the first check drop to the last
	Over       float64 `json:"over_the_days"`
	Confidence float64 `json:"confidence"`
}

// driftAlarms is the share of steady charts in which a drift is claimed: that of the whole chart's other rules.
const driftAlarms = 0.01

// drift is the slope of the logarithms of the peaks over days by least squares with Student's interval:
//
//	b = sum (t - t0) ln F / sum (t - t0)^2, s^2 = residual sum of squares/(n - 2), b -+ t(n - 2) s/sqrt(sum (t - t0)^2)
//
// It needs three dated peaks on two days; otherwise the sentence says what is missing.
func drift(taken []string, peaks []float64, confidence float64) (*Drift, message.Sentence) {
	var x, y []float64
	var first time.Time
	for i, day := range taken {
		d, err := time.Parse(time.DateOnly, day)
		if err != nil || !(peaks[i] > 0) {
			continue
		}
		if len(x) == 0 {
			first = d
		}
		x, y = append(x, d.Sub(first).Hours()/24), append(y, math.Log(peaks[i]))
	}
	switch {
	case len(x) < 3:
		return nil, message.Say("Whether the gain drifts cannot be told from fewer than three dated check drops.")
	case x[0] == x[len(x)-1]:
		return nil, message.Say("All check drops are of one day: whether the gain drifts from day to day cannot be told; take one at the start and one at the end of every day.")
	}
	n := float64(len(x))
	mx, my := 0.0, 0.0
	for i := range x {
		mx, my = mx+x[i]/n, my+y[i]/n
	}
	sxx, sxy := 0.0, 0.0
	for i := range x {
		sxx, sxy = sxx+(x[i]-mx)*(x[i]-mx), sxy+(x[i]-mx)*(y[i]-my)
	}
	b := sxy / sxx
	rest := 0.0
	for i := range x {
		r := y[i] - my - b*(x[i]-mx)
		rest += r * r
	}
	half := uncert.StudentQuantile(0.5+confidence/2, n-2) * math.Sqrt(rest/(n-2)/sxx)
	d := &Drift{PerDay: b, Lo: b - half, Hi: b + half, Days: int(x[len(x)-1]), Over: math.Expm1(b * x[len(x)-1]), Confidence: confidence}
	pct := func(v float64) string { return quantity.Significant(100*v, 2) + " %" }
	says := message.Say("From the first check drop to the last (%d {day|days}) the peak changes by %s (%s a day, %s to %s at %g %% confidence): ", d.Days, pct(d.Over), pct(b), pct(d.Lo), pct(d.Hi), 100*confidence)
	if d.Days == 1 {
		says = message.Say("From the first check drop to the last (1 day) the peak changes by %s (%s to %s at %g %% confidence): ", pct(d.Over), pct(d.Lo), pct(d.Hi), 100*confidence)
	}
	if d.Lo <= 0 && d.Hi >= 0 {
		return d, says.Say("no drift of the gain is shown; a drift inside that interval is not excluded.")
	}
	if sure := half * uncert.StudentQuantile(1-driftAlarms/2, n-2) / uncert.StudentQuantile(0.5+confidence/2, n-2); math.Abs(b) <= sure {
		return d, says.Say("a drift may be there; steady check drops show one like it in up to %g %% of charts, and the chart alarms at %g %%: take more before acting.", math.Round(1e6*(1-confidence))/1e4, 100*driftAlarms)
	}
	return d, says.Say("the gain of the force chain, the mass, the fall height or the reference element has drifted; the peaks of the trial drops have moved by the same share if it is the gain.")
}
