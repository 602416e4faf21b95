package reduce

import (
	"fmt"
	"math"
	"strings"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Known is the measure of a name, and whether there is one.
func (r *Reduction) Known(name string) (Measure, bool) {
	for _, m := range r.Measures {
		if m.Name == name {
			return m, true
		}
	}
	return Measure{}, false
}

// PeakWords say how the peak is known where the record does not show it; empty where it does.
func (r *Reduction) PeakWords() string {
	switch r.PeakBound {
	case AtLeast:
		return fmt.Sprintf("the record does not show the peak (%s): it is at least %s", r.PeakReason, r.Peak)
	case Between:
		return fmt.Sprintf("the record does not show the peak (%s): rebuilt from the motion of the mass it lies between %s and %s; at least %s was measured", r.PeakReason, down(r.PeakInterval[0]), up(r.PeakInterval[1]), r.Peak)
	}
	return ""
}

// MostStretches is how many stretches that were not measured are told one by one.
const MostStretches = 12

// UnmeasuredWords tell which stretches of the record were not measured, the first of them one by one.
func (r *Reduction) UnmeasuredWords() []string {
	var out []string
	for i, s := range r.Unmeasured {
		if i == MostStretches {
			return append(out, fmt.Sprintf("and %d more", len(r.Unmeasured)-i))
		}
		out = append(out, fmt.Sprintf("%s from %.4f s to %.4f s", s.Is, s.FromTime.SI(), s.ToTime.SI()))
	}
	return out
}

// Outward rounds an interval of forces outward to three digits, so that its words hold what it holds.
func Outward(i [2]quantity.Force) (lo, hi string) { return down(i[0]).Text(3), up(i[1]).Text(3) }

// down and up round an interval outward to three digits.
func down(f quantity.Force) quantity.Force { return outward(f, math.Floor) }
func up(f quantity.Force) quantity.Force   { return outward(f, math.Ceil) }

func outward(f quantity.Force, round func(float64) float64) quantity.Force {
	v := f.SI()
	if !(v > 0) {
		return f
	}
	step := math.Pow(10, math.Floor(math.Log10(v))-2)
	return quantity.Force(round(v/step) * step)
}

// Text is the measure as it is printed, in SI: a value, a bound, an interval, or that nothing is known.
func (m Measure) Text() string {
	unit := func(s string) string { return strings.TrimSpace(s + " " + m.Unit) }
	switch m.Bound {
	case AtLeast:
		return "≥ " + unit(quantity.Significant(m.Value, 4))
	case AtMost:
		return "≤ " + unit(quantity.Significant(m.Value, 4))
	case Between:
		return unit(quantity.Significant(m.Interval[0], 4) + " … " + quantity.Significant(m.Interval[1], 4))
	case Nothing:
		return "–"
	}
	return unit(quantity.Significant(m.Value, 4))
}
