package quantity

import (
	"math"
	"strconv"
)

var shown = []struct {
	factor float64
	prefix string
}{{1e9, "G"}, {1e6, "M"}, {1e3, "k"}, {1, ""}, {1e-3, "m"}, {1e-6, "µ"}, {1e-9, "n"}}

// format prints v (SI) with a metric prefix chosen so that the mantissa is from 1 to 1000. Masses,
// ratios, speeds and accelerations keep their unit; so do lengths of a metre and more.
func format(v float64, d Dim, digits int) string {
	unit := d.Unit()
	if digits < 1 {
		digits = 1
	}
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return join(strconv.FormatFloat(v, 'g', -1, 64), unit)
	}
	switch d {
	case DimMass, DimRatio, DimSpeed, DimAcceleration, DimAngle:
		return join(Significant(v, digits), unit)
	}
	if v == 0 || d == DimForce && math.Abs(v) < 1e-4 || d == DimEnergy && math.Abs(v) < 1e-9 {
		return join(Significant(0, digits), unit) // what arithmetic leaves of nothing
	}
	r := roundTo(math.Abs(v), digits)
	for _, s := range shown {
		if s.factor > 1 && (d == DimLength || d == DimDuration) || s.factor < 1 && d == DimForce {
			continue // "mN" beside kN is read as MN
		}
		if r >= s.factor {
			return join(Significant(v/s.factor, digits), s.prefix+unit)
		}
	}
	return join(Significant(v, digits), unit)
}

func join(number, unit string) string {
	if unit == "" {
		return number
	}
	return number + " " + unit
}

func roundTo(v float64, digits int) float64 {
	r, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'e', digits-1, 64), 64)
	return r
}

// Percent prints a share as it was asked for, with at most four digits: "5 %", "99.9 %".
func Percent(share float64) string { return strconv.FormatFloat(100*share, 'g', 4, 64) + " %" }

// Significant prints v in plain decimals with the given number of significant digits; integers of
// more digits keep their size. It never prints an exponent for 1e-6 <= |v| < 1e15.
func Significant(v float64, digits int) string {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	r := roundTo(v, digits)
	abs := math.Abs(r)
	if abs < 1e-6 || abs >= 1e15 {
		return strconv.FormatFloat(v, 'e', digits-1, 64)
	}
	decimals := digits - 1 - int(math.Floor(math.Log10(abs)))
	if decimals < 0 {
		decimals = 0
	}
	return strconv.FormatFloat(r, 'f', decimals, 64)
}

// Below prints v with so many significant digits as Significant, rounded down: what is printed is never above v.
func Below(v float64, digits int) string { return outward(v, digits, math.Floor) }

// Above prints v as Below, rounded up: what is printed is never below v.
func Above(v float64, digits int) string { return outward(v, digits, math.Ceil) }

// outward takes what lies within rounding of a printed figure for that figure.
func outward(v float64, digits int, round func(float64) float64) string {
	return Significant(roundOutward(v, digits, round), digits)
}

func roundOutward(v float64, digits int, round func(float64) float64) float64 {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return v
	}
	if r := roundTo(v, digits); math.Abs(r-v) <= 1e-12*math.Abs(v) {
		return v
	}
	place := digits - 1 - int(math.Floor(math.Log10(math.Abs(v))))
	unit := math.Pow(10, float64(place))
	return round(v*unit) / unit
}

// Down prints as Text, rounded down: a lower bound is never printed higher than it is.
func (q Of[D]) Down(digits int) string {
	return Of[D](roundOutward(float64(q), digits, math.Floor)).Text(digits)
}

// Up prints as Text, rounded up.
func (q Of[D]) Up(digits int) string {
	return Of[D](roundOutward(float64(q), digits, math.Ceil)).Text(digits)
}

// WithU prints a value and its standard or expanded uncertainty in one unit, the uncertainty to two
// significant digits and the value to the same place (JCGM 100:2008, 7.2.6): "12.34 ± 0.12 kN".
func WithU[D dimension](value, u Of[D]) string {
	var d D
	v, su := float64(value), math.Abs(float64(u))
	if su == 0 || math.IsNaN(su) || math.IsInf(su, 0) || math.IsNaN(v) || math.IsInf(v, 0) {
		return value.String() + " ± " + strconv.FormatFloat(su, 'g', -1, 64) + " " + d.dim().Unit()
	}
	factor, prefix := 1.0, ""
	switch d.dim() {
	case DimMass, DimRatio, DimSpeed, DimAcceleration, DimAngle:
	default:
		for _, s := range shown {
			if s.factor > 1 && (d.dim() == DimLength || d.dim() == DimDuration) || s.factor < 1 && d.dim() == DimForce {
				continue
			}
			if math.Max(math.Abs(v), su) >= s.factor {
				factor, prefix = s.factor, s.prefix
				break
			}
		}
	}
	decimals := 1 - int(math.Floor(math.Log10(roundTo(su/factor, 2))))
	if decimals < 0 {
		decimals = 0
	}
	return join(strconv.FormatFloat(v/factor, 'f', decimals, 64)+" ± "+strconv.FormatFloat(su/factor, 'f', decimals, 64), prefix+d.dim().Unit())
}
