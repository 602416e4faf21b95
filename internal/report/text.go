package report

import (
	"math"
	"strconv"
	"strings"

	"hardcatch/internal/drop"
	"hardcatch/internal/quantity"
)

const none = "–"

// kN prints a force in kilonewtons without the unit, which stands in the head of the column.
func kN(f *quantity.Force) string {
	if f == nil || !usable(f.SI()) {
		return none
	}
	return decimals(f.SI()/1000, 2)
}

func usable(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

func decimals(v float64, n int) string {
	s := strconv.FormatFloat(v, 'f', n, 64)
	if s[0] == '-' {
		if strings.Trim(s, "-0.") == "" {
			return s[1:]
		}
		return "\u2212" + s[1:]
	}
	return s
}

// peak prints a peak with its expanded uncertainty, marked as a lower bound when it is one.
func peak(p, u *quantity.Force, lower bool) string {
	if p == nil || !usable(p.SI()) {
		return none
	}
	s := p.Text(4)
	if u != nil && *u > 0 && usable(u.SI()) {
		s = quantity.WithU(*p, *u)
	}
	if lower {
		s = "≥ " + s
	}
	return s
}

func percent(share float64) string {
	return strconv.FormatFloat(100*share, 'g', 4, 64) + "\u00a0%"
}

// breakRange prints a break probability outward: never narrower than it is.
func breakRange(lo, hi *float64) string {
	if lo == nil || hi == nil || !usable(*lo) || !usable(*hi) {
		return none
	}
	return strconv.Itoa(int(math.Floor(100**lo+1e-9))) + " to " + strconv.Itoa(int(math.Ceil(100**hi-1e-9))) + "\u00a0%"
}

// sign is the glyph of an outcome; its word always stands beside it.
func sign(o drop.Outcome) string {
	switch o {
	case drop.Held:
		return "●"
	case drop.Broke:
		return "▷"
	case drop.Slipped:
		return "◇"
	case drop.Void:
		return "×"
	}
	return "○"
}

func word(o drop.Outcome) string {
	if o == "" {
		return "not decided"
	}
	return string(o)
}

// number prints a value of an audit check or budget with its unit.
func number(v *float64, unit string) string {
	if v == nil || !usable(*v) {
		return none
	}
	s := quantity.Significant(*v, 4)
	if s[0] == '-' {
		s = "\u2212" + s[1:]
	}
	if unit != "" {
		s += "\u00a0" + unit
	}
	return s
}

func plain(v float64) string { return number(&v, "") }

func dof(v float64) string {
	if math.IsInf(v, 1) {
		return "∞"
	}
	if !usable(v) {
		return none
	}
	return quantity.Significant(math.Floor(v*10)/10, 3)
}

func notStated(s string) string {
	if strings.TrimSpace(s) == "" {
		return "not stated"
	}
	return s
}

type printed interface{ Text(digits int) string }

// stated prints a quantity with three digits, or says that it is not stated.
func stated(v float64, q printed) string {
	if v == 0 || !usable(v) {
		return "not stated"
	}
	return q.Text(3)
}

// ratio prints how many standard uncertainties lie between found and expected.
func (c Check) ratio() (float64, bool) {
	if c.Expected == nil || c.Found == nil || c.U == nil || !(*c.U > 0) {
		return 0, false
	}
	z := math.Abs(*c.Found-*c.Expected) / *c.U
	return z, usable(z)
}
