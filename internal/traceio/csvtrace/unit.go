package csvtrace

import (
	"math"
	"strings"

	"github.com/hardcatch/hardcatch/internal/num/decimal"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// unit is what one unit written in a header means.
type unit struct {
	text   string // as written
	dim    quantity.Dim
	factor float64 // SI units in one of it
	shift  int     // the power of ten that factor is, when it is one
	scale  float64 // what is left of factor beside the power of ten
	kind   string  // what the dimension leaves open: "acceleration", "ratio", "counts", "unitless", "other"
	doubt  string  // what was assumed of an ambiguous unit
}

// plainUnits are the units that are recognised without brackets too, with how package quantity spells them.
var plainUnits = map[string]string{
	"N": "N", "kN": "kN", "MN": "MN", "mN": "mN", "kgf": "kgf", "kp": "kp", "gf": "gf", "lbf": "lbf", "klbf": "klbf",
	"V": "V", "mV": "mV", "uV": "uV", "µV": "uV", "μV": "uV", "mV/V": "mV/V", "V/V": "V/V", "uV/V": "uV/V", "µV/V": "uV/V", "μV/V": "uV/V",
	"G": "gn", "g": "gn", "gn": "gn", "m/s2": "m/s2", "m/s^2": "m/s2", "m/s²": "m/s2", "m/s/s": "m/s2",
	"newton": "N", "newtons": "N", "kilonewton": "kN", "kilonewtons": "kN", "volt": "V", "volts": "V", "millivolt": "mV", "millivolts": "mV",
	"kips": "klbf", "kip": "klbf", "pounds-force": "lbf", "lb-f": "lbf", "kg-f": "kgf",
}

// masses are units of mass that displays of load cells show for a force.
var masses = map[string]string{"kg": "kgf", "kgs": "kgf", "lb": "lbf", "lbs": "lbf", "pounds": "lbf"}

var countUnits = map[string]bool{
	"count": true, "counts": true, "cts": true, "raw": true, "adc": true, "lsb": true, "digits": true, "adc counts": true, "raw counts": true, "bits": true,
}

// timeUnits are seconds in one.
var timeUnits = map[string]string{
	"s": "s", "sec": "s", "secs": "s", "second": "s", "seconds": "s", "sek": "s", "ms": "ms", "msec": "ms", "millisecond": "ms", "milliseconds": "ms",
	"us": "us", "µs": "us", "μs": "us", "usec": "us", "microseconds": "us", "ns": "ns", "nanoseconds": "ns", "min": "min", "minutes": "min", "h": "h", "hr": "h", "hours": "h",
}

// plainUnit looks a unit up that may stand without brackets. Case counts, unless only one reading is left
// without it.
func plainUnit(text string) (unit, bool) {
	if countUnits[strings.ToLower(text)] {
		return unit{text: text, factor: 1, scale: 1, kind: "counts"}, true
	}
	if text == "daN" || text == "dan" {
		return newUnit(text, quantity.DimForce, 10), true
	}
	spelled, ok := plainUnits[text]
	if !ok {
		for k, v := range plainUnits {
			if strings.EqualFold(k, text) && k != "MN" && k != "mN" && (len(k) > 1 || k == "V") {
				spelled, ok = v, true
				break
			}
		}
	}
	if !ok {
		for k, v := range masses {
			if strings.EqualFold(k, text) {
				u, found := plainUnit(v)
				u.text, u.doubt = text, "the unit "+text+" is a mass; it was taken as the force "+v
				return u, found
			}
		}
		return unit{}, false
	}
	q, err := quantity.ParseUnit(spelled)
	if err != nil {
		return unit{}, false
	}
	return newUnit(text, q.Dim, q.Factor), true
}

// anyUnit looks up a unit that stands in brackets, in a line of units or in the options: every unit of
// package quantity besides.
func anyUnit(text string) (unit, bool) {
	if u, ok := plainUnit(text); ok {
		return u, true
	}
	if text == "" || text == "-" {
		return unit{text: text, factor: 1, scale: 1, kind: "unitless"}, true
	}
	q, err := quantity.ParseUnit(text)
	if err != nil {
		return unit{text: text, factor: 1, scale: 1, kind: "other"}, false
	}
	return newUnit(text, q.Dim, q.Factor), true
}

func newUnit(text string, dim quantity.Dim, factor float64) unit {
	u := unit{text: text, dim: dim, factor: factor, scale: factor, kind: "other"}
	switch dim {
	case quantity.DimForce, quantity.DimVoltage:
		u.kind = ""
	case quantity.DimAcceleration:
		u.kind = "acceleration"
	case quantity.DimRatio:
		u.kind = "ratio"
	}
	for e := -9; e <= 9; e++ {
		p := decimal.Pow10(max(e, -e))
		if e < 0 {
			p = 1 / p
		}
		if math.Abs(factor-p) <= 1e-15*p {
			u.shift, u.scale = e, 1
		}
	}
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
