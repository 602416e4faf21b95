package csvtrace

import (
	"math"
	"strings"

	"github.com/hardcatch/hardcatch/internal/num/decimal"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/traceio"
)

// unit is what one unit written in a header means, and how its values are scaled without a rounding too many.
type unit struct {
	traceio.Unit
	shift int     // the power of ten that the factor is, when it is one
	scale float64 // what is left of the factor beside the power of ten
}

// timeUnits are seconds in one.
var timeUnits = map[string]string{
	"s": "s", "sec": "s", "secs": "s", "second": "s", "seconds": "s", "sek": "s", "ms": "ms", "msec": "ms", "millisecond": "ms", "milliseconds": "ms",
	"us": "us", "µs": "us", "μs": "us", "usec": "us", "microseconds": "us", "ns": "ns", "nanoseconds": "ns", "min": "min", "minutes": "min", "h": "h", "hr": "h", "hours": "h",
}

// anyUnit looks up a unit that stands in brackets, in a line of units or in the options.
func anyUnit(text string) (unit, bool) {
	found, ok := traceio.AnyUnit(text)
	u := unit{Unit: found, scale: found.Factor}
	for e := -9; e <= 9; e++ {
		p := decimal.Pow10(max(e, -e))
		if e < 0 {
			p = 1 / p
		}
		if math.Abs(found.Factor-p) <= 1e-15*p {
			u.shift, u.scale = e, 1
		}
	}
	return u, ok
}

// times turns an acceleration into the force on a mass.
func (u unit) times(m quantity.Mass) unit {
	u.Unit = u.Times(m)
	u.shift, u.scale = 0, u.Factor
	return u
}

// timeScale is the unit of a time column: 10^shift seconds times scale.
type timeScale struct {
	text  string
	shift int
	scale float64
}

// timeUnit looks up a unit of time.
func timeUnit(text string) (timeScale, bool) {
	spelled, ok := timeUnits[strings.ToLower(text)]
	if !ok || text == "M" {
		return timeScale{}, false
	}
	u := map[string]timeScale{"s": {"s", 0, 1}, "ms": {"ms", -3, 1}, "us": {"µs", -6, 1}, "ns": {"ns", -9, 1}, "min": {"min", 0, 60}, "h": {"h", 0, 3600}}
	return u[spelled], true
}

// seconds converts a time or a step in the column's unit.
func (u timeScale) seconds(t float64) float64 {
	if u.shift < 0 {
		return t * u.scale / decimal.Pow10(-u.shift)
	}
	return t * u.scale * decimal.Pow10(u.shift)
}

// perSecond converts a rate, samples per unit of the column, to Hz.
func (u timeScale) perSecond(r float64) float64 {
	if u.shift < 0 {
		return r / u.scale * decimal.Pow10(-u.shift)
	}
	return r / u.scale / decimal.Pow10(u.shift)
}
