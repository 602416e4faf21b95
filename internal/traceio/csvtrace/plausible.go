package csvtrace

import (
	"fmt"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// What a record of a drop is believed to be when its times have no unit: common practice, no source. From surely on, nobody doubts
// that a time is in seconds.
const (
	leastRate, surely, mostRate   = 20.0, 100.0, 5e5 // Hz
	shortestRecord, longestRecord = 0.02, 600.0      // s
)

// unitless is a time column without a unit: which of the units it may be in makes a record of a drop.
type unitless struct {
	column  string
	line    int
	finding int // of the warning among those of the finder; -1 = the unit is known
}

// settleUnit finds the unit of times that have none from the step and the span that they have, in the unit of the column. Seconds are
// taken, as csv/1 did, unless only another unit makes a record of a drop; where several do, the person is asked.
func (r *reader) settleUnit(step, span float64) error {
	if r.unitless.finding < 0 || r.old || !(step > 0) {
		return nil
	}
	var fit []timeScale
	for _, name := range []string{"s", "ms", "us"} {
		u, _ := timeUnit(name)
		rate, length := u.perSecond(1/step), u.seconds(span)
		if rate < leastRate || rate > mostRate*(1+1e-9) || length < shortestRecord || length > longestRecord {
			continue
		}
		if fit = append(fit, u); name == "s" && rate >= surely*(1-1e-9) {
			break
		}
	}
	makes := func(u timeScale) string {
		return fmt.Sprintf("%s would make %s over %s", u.text, quantity.Frequency(u.perSecond(1/step)).Text(3), quantity.Duration(u.seconds(span)).Text(3))
	}
	switch {
	case len(fit) > 1:
		return fmt.Errorf("%s:%d: the time column %q has no unit: %s, %s; state the unit, for example --time-unit %s", r.f.name, r.unitless.line, r.unitless.column, makes(fit[0]), makes(fit[1]), fit[len(fit)-1].text)
	case len(fit) == 1 && fit[0].text != "s":
		s := r.plan.time
		r.plan.time = fit[0]
		r.f.all[r.unitless.finding].Fact = fmt.Sprintf("the time column %q has no unit; %s were taken, as %s, and %s", r.unitless.column, fit[0].text, makes(fit[0]), makes(s))
	}
	return nil
}
