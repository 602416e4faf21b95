package traceio

import (
	"strings"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Unit is what one unit written in a record or stated for it means.
type Unit struct {
	Text   string // as written
	Dim    quantity.Dim
	Factor float64 // SI units in one of it
	Kind   string  // what the dimension leaves open: "acceleration", "ratio", "counts", "unitless", "other"
	Doubt  string  // what was assumed of an ambiguous unit
}

// Units is how an unknown unit of a channel is told what there is.
const Units = "N, kN, kgf, lbf, V, mV, mV/V, g, m/s2 or counts"

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

// PlainUnit looks a unit up that may stand without brackets. Case counts, unless only one reading is left
// without it.
func PlainUnit(text string) (Unit, bool) {
	if countUnits[strings.ToLower(text)] {
		return Unit{Text: text, Factor: 1, Kind: "counts"}, true
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
				u, found := PlainUnit(v)
				u.Text, u.Doubt = text, "the unit "+text+" is a mass; it was taken as the force "+v
				return u, found
			}
		}
		return Unit{}, false
	}
	q, err := quantity.ParseUnit(spelled)
	if err != nil {
		return Unit{}, false
	}
	return newUnit(text, q.Dim, q.Factor), true
}

// AnyUnit looks up a unit that stands in brackets, in a line of units or in the options: every unit of
// package quantity besides.
func AnyUnit(text string) (Unit, bool) {
	if u, ok := PlainUnit(text); ok {
		return u, true
	}
	if text == "" || text == "-" {
		return Unit{Text: text, Factor: 1, Kind: "unitless"}, true
	}
	q, err := quantity.ParseUnit(text)
	if err != nil {
		return Unit{Text: text, Factor: 1, Kind: "other"}, false
	}
	return newUnit(text, q.Dim, q.Factor), true
}

func newUnit(text string, dim quantity.Dim, factor float64) Unit {
	u := Unit{Text: text, Dim: dim, Factor: factor, Kind: "other"}
	switch dim {
	case quantity.DimForce, quantity.DimVoltage:
		u.Kind = ""
	case quantity.DimAcceleration:
		u.Kind = "acceleration"
	case quantity.DimRatio:
		u.Kind = "ratio"
	}
	return u
}

// Times turns an acceleration into the force on a mass.
func (u Unit) Times(m quantity.Mass) Unit {
	u.Dim, u.Factor = quantity.DimForce, u.Factor*m.SI()
	return u
}

// Accelerated is the finding that goes with Times.
const (
	AcceleratedKind   = "force-from-acceleration"
	AcceleratedWayOut = "the accelerometer must show 1 g at rest; if it shows 0, the weight of the mass is missing"
)
