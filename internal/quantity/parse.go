package quantity

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Parse reads "22 kN", "22kN", "1,2 m" (decimal comma) or a bare SI number as a quantity of
// dimension D. A unit of another dimension is an error that names both.
func Parse[D dimension](text string) (Of[D], error) {
	var d D
	v, u, bare, err := ParseAny(text)
	if err != nil {
		return 0, err
	}
	if !bare && u.Dim != d.dim() {
		return 0, fmt.Errorf("%q is %s, but %s is wanted here; give it in %s", text, u.Dim, d.dim(), unitHint(d.dim()))
	}
	return Of[D](v), nil
}

// ParseAny reads a number with or without a unit and returns it in SI with the unit it was written
// in. bare tells that no unit stood there.
func ParseAny(text string) (si float64, u Unit, bare bool, err error) {
	s := strings.TrimSpace(text)
	if len(s) > longest {
		return 0, Unit{}, false, fmt.Errorf("a text of %d characters is no number with a unit; write for example 22 kN", len(s))
	}
	n := numberEnd(s)
	if n == 0 {
		return 0, Unit{}, false, fmt.Errorf("%q does not start with a number; write for example 22 kN", text)
	}
	if ambiguousComma(s[:n]) {
		plain := strings.Replace(s[:n], ",", "", 1)
		return 0, Unit{}, false, fmt.Errorf("%q: it is not clear whether %s means %s or %s; write one of them", text, s[:n], plain, strings.Replace(s[:n], ",", ".", 1))
	}
	v, err := strconv.ParseFloat(strings.Replace(s[:n], ",", ".", 1), 64)
	if err != nil || math.IsNaN(v) || math.Abs(v) > Largest {
		return 0, Unit{}, false, fmt.Errorf("%q is too large to be used; look at the number, and write for example 22 kN", s[:n])
	}
	name := strings.TrimSpace(s[n:])
	if name == "" {
		return v, Unit{Factor: 1}, true, nil
	}
	u, err = ParseUnit(name)
	if err != nil {
		return 0, Unit{}, false, fmt.Errorf("%q: %w", text, err)
	}
	if si = v * u.Factor; !(math.Abs(si) <= Largest) {
		return 0, Unit{}, false, fmt.Errorf("%q is too large to be used; look at the number and its unit, and write for example 22 kN", text)
	}
	return si, u, false, nil
}

// Largest is the largest quantity that is read, in SI units: none of a drop is as large, and sums, squares and products of a
// few such are still numbers.
const Largest = 1e30

// longest is how many characters a quantity may have.
const longest = 200

// ambiguousComma tells that a comma may part thousands as well as decimals: one to three digits that do not start
// with 0, a comma, and exactly three digits.
func ambiguousComma(s string) bool {
	s = strings.TrimLeft(s, "+-")
	i := strings.IndexByte(s, ',')
	return i >= 1 && i <= 3 && s[0] != '0' && len(s)-i-1 == 3 && strings.Trim(s[i+1:], "0123456789") == ""
}

// numberEnd is the length of the longest prefix that reads as a decimal number.
func numberEnd(s string) int {
	i, digits, mark := 0, 0, false
	if i < len(s) && (s[i] == '+' || s[i] == '-') {
		i++
	}
	for ; i < len(s); i++ {
		switch c := s[i]; {
		case c >= '0' && c <= '9':
			digits++
		case (c == '.' || c == ',') && !mark:
			mark = true
		default:
			goto exponent
		}
	}
exponent:
	if digits == 0 {
		return 0
	}
	if i < len(s) && (s[i] == 'e' || s[i] == 'E') {
		j := i + 1
		if j < len(s) && (s[j] == '+' || s[j] == '-') {
			j++
		}
		k := j
		for k < len(s) && s[k] >= '0' && s[k] <= '9' {
			k++
		}
		if k > j {
			i = k
		}
	}
	return i
}

func unitHint(d Dim) string {
	switch d {
	case DimForce:
		return "N, kN, kgf or lbf"
	case DimMass:
		return "kg, g or lb"
	case DimLength:
		return "m, mm, ft or in"
	case DimDuration:
		return "s, ms or us"
	case DimFrequency:
		return "Hz or kHz"
	case DimRatio:
		return "a plain number or %"
	}
	return d.Unit()
}

// ParseFrequency is Parse for a frequency.
func ParseFrequency(text string) (Frequency, error) { return Parse[frequency](text) }
