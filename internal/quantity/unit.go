package quantity

import (
	"fmt"
	"math"
	"strings"
)

// Unit is a unit of measure: one of it is Factor SI units of dimension Dim.
type Unit struct {
	Name   string
	Dim    Dim
	Factor float64
}

// Exact factors. The kilogram-force and the avoirdupois pound are exact by definition (ISO 80000-4,
// NIST SP 811 appendix B.8); the pound-force is their product.
const (
	StandardGravity = 9.80665              // m/s2, 3rd CGPM 1901, exact
	pound           = 0.45359237           // kg, exact
	PoundForce      = 4.4482216152605      // N, = pound * StandardGravity, exact
	foot            = 0.3048               // m, exact
	inch            = 0.0254               // m, exact
	degree          = 0.017453292519943295 // rad, pi/180
	ton             = 1000.0               // kg
)

type baseUnit struct {
	dim    Dim
	factor float64
	prefix bool // takes metric prefixes
}

var baseUnits = map[string]baseUnit{
	"N":    {DimForce, 1, true},
	"kgf":  {DimForce, StandardGravity, false},
	"kp":   {DimForce, StandardGravity, false},
	"gf":   {DimForce, StandardGravity / 1000, false},
	"lbf":  {DimForce, PoundForce, false},
	"klbf": {DimForce, 1000 * PoundForce, false},
	"g":    {DimMass, 1e-3, true},
	"t":    {DimMass, ton, false},
	"lb":   {DimMass, pound, false},
	"m":    {DimLength, 1, true},
	"ft":   {DimLength, foot, false},
	"in":   {DimLength, inch, false},
	"s":    {DimDuration, 1, true},
	"sec":  {DimDuration, 1, true},
	"min":  {DimDuration, 60, false},
	"Hz":   {DimFrequency, 1, true},
	"J":    {DimEnergy, 1, true},
	"V":    {DimVoltage, 1, true},
	"A":    {Dim{A: 1}, 1, true},
	"Pa":   {Dim{M: -1, Kg: 1, S: -2}, 1, true},
	"rad":  {DimAngle, 1, true},
	"deg":  {DimAngle, degree, false},
	"°":    {DimAngle, degree, false},
	"%":    {DimRatio, 0.01, false},
	"1":    {DimRatio, 1, false},
	"gn":   {DimAcceleration, StandardGravity, false},
}

var prefixes = map[string]float64{
	"p": 1e-12, "n": 1e-9, "u": 1e-6, "µ": 1e-6, "μ": 1e-6, "m": 1e-3, "c": 1e-2, "d": 1e-1,
	"k": 1e3, "M": 1e6, "G": 1e9,
}

// longestUnit bounds a unit, in bytes, so that its exponents stay within their range.
const longestUnit = 40

// ParseUnit reads a unit such as "kN", "MN/m", "N s/m", "m/s2", "m/s^2" or "mV/V". Factors after
// the slash divide. "" is the unit of a ratio.
func ParseUnit(text string) (Unit, error) {
	u := Unit{Name: text, Factor: 1}
	text = strings.TrimSpace(text)
	if text == "" {
		return u, nil
	}
	if len(text) > longestUnit {
		return Unit{}, fmt.Errorf("unit %q...: more than %d characters are no unit; write for example MN/m", text[:8], longestUnit)
	}
	sign := int8(1)
	for i, part := range strings.Split(text, "/") {
		if i > 0 {
			sign = -1
		}
		part = strings.NewReplacer("*", " ", "·", " ", "(", " ", ")", " ").Replace(part)
		fields := strings.Fields(part)
		if len(fields) == 0 {
			return Unit{}, fmt.Errorf("unit %q: nothing stands beside the slash; write for example MN/m", text)
		}
		for _, f := range fields {
			dim, factor, exp, err := parseFactor(f)
			if err != nil {
				return Unit{}, err
			}
			for range exp {
				u.Dim = u.Dim.add(dim, sign)
				if sign > 0 {
					u.Factor *= factor
				} else {
					u.Factor /= factor
				}
			}
		}
	}
	return u, nil
}

func parseFactor(f string) (dim Dim, factor float64, exp int, err error) {
	name := strings.TrimRight(f, "^0123456789²³")
	switch f[len(name):] {
	case "":
		exp = 1
	case "2", "^2", "²":
		exp = 2
	case "3", "^3", "³":
		exp = 3
	default:
		if f == "1" {
			return DimRatio, 1, 1, nil
		}
		return Dim{}, 0, 0, fmt.Errorf("unit %q: the exponent is not 2 or 3; write for example m/s2", f)
	}
	if b, ok := baseUnits[name]; ok {
		return b.dim, b.factor, exp, nil
	}
	for p, scale := range prefixes {
		rest, found := strings.CutPrefix(name, p)
		if b, ok := baseUnits[rest]; found && ok && b.prefix {
			return b.dim, prefixed(b.factor, scale), exp, nil
		}
	}
	return Dim{}, 0, 0, fmt.Errorf("unit %q is not known; known are N, kN, kgf, lbf, kg, g, lb, m, mm, ft, in, s, ms, us, Hz, kHz, J, V, mV, rad, deg, %% and their products and quotients", f)
}

// prefixed multiplies without leaving a rounding error in kilogram (1e3 * 1e-3).
func prefixed(factor, scale float64) float64 {
	if factor < 1 && scale > 1 {
		return scale / math.Round(1/factor)
	}
	return factor * scale
}
