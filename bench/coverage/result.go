package main

import (
	"math"

	"github.com/hardcatch/hardcatch/bench/truth"
	"github.com/hardcatch/hardcatch/internal/num/uncert"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

// This file alone reads a result of the reduction.

// form is how a measure stands in a result.
type form string

const (
	plain    form = "value"       // value +- U
	atLeast  form = "lower bound" // >= Lo
	atMost   form = "upper bound" // <= Hi
	interval form = "interval"    // Lo to Hi, which is no value +- U
	nothing  form = "nothing"     // refused or left out
)

// reading is a measure as a result gives it. Lo and Hi hold U.
type reading struct {
	Form  form    `json:"form"`
	Value float64 `json:"value"`
	Lo    float64 `json:"lo"`
	Hi    float64 `json:"hi"`
	U     float64 `json:"U"` // expanded, at the result's coverage
}

func (r reading) holds(fact float64) bool {
	switch r.Form {
	case plain, interval:
		return fact >= r.Lo && fact <= r.Hi
	case atLeast:
		return fact >= r.Lo
	case atMost:
		return fact <= r.Hi
	}
	return false
}

// off is how far a truth lies from a plain value, in expanded uncertainties.
func (r reading) off(fact float64) float64 { return math.Abs(r.Value-fact) / r.U }

func around(value, u float64) reading {
	return reading{Form: plain, Value: value, Lo: value - u, Hi: value + u, U: u}
}

// quantities are what is held against the truth, in order.
var quantities = []struct {
	name string
	of   func(truth.Truth) float64
	in   func(*reduce.Reduction) reading
}{
	{"peak", func(t truth.Truth) float64 { return t.Peak }, peakOf},
	{"impulse", func(t truth.Truth) float64 { return t.Impulse }, measured("impulse")},
	{"energy", func(t truth.Truth) float64 { return t.Energy }, measured("energy absorbed")},
	{"elongation", func(t truth.Truth) float64 { return t.Elongation }, measured("largest elongation")},
	{"duration", func(t truth.Truth) float64 { return t.Duration }, measured("arrest duration")},
}

// peakOf: after a break the largest force at the load cell is known; only the arrest force, that would have been, is bounded by it.
// A record that is cut off bounds the peak itself.
func peakOf(r *reduce.Reduction) reading {
	out := around(r.Peak.SI(), r.PeakExpanded.SI())
	switch r.PeakBound {
	case reduce.AtLeast:
		out.Form = atLeast
	case reduce.Between:
		out.Form, out.Lo, out.Hi = interval, r.PeakInterval[0].SI(), r.PeakInterval[1].SI()
	}
	return out
}

func measured(name string) func(*reduce.Reduction) reading {
	return func(r *reduce.Reduction) reading {
		for _, m := range r.Measures {
			if m.Name == name {
				out := around(m.Value, uncert.CoverageFactor(r.Coverage, float64(m.DoF))*m.U)
				switch m.Bound {
				case reduce.AtLeast:
					out.Form = atLeast
				case reduce.AtMost:
					out.Form = atMost
				case reduce.Between:
					out.Form, out.Lo, out.Hi = interval, m.Interval[0], m.Interval[1]
				case reduce.Nothing:
					out.Form = nothing
				}
				return out
			}
		}
		return reading{Form: nothing}
	}
}

// said is what the audit says of a record.
func said(r *reduce.Reduction) (verdict string, checks map[string]string) {
	checks = map[string]string{}
	for _, c := range r.Audit {
		checks[c.Name] = string(c.Verdict)
	}
	return string(r.AuditVerdict), checks
}
