package view

import (
	"fmt"
	"strings"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

// Measured is a measure that drops can be compared by.
type Measured struct {
	Key  string `json:"key"`
	Name string `json:"name"`
	Unit string `json:"unit"` // as it is drawn
	// LetGo is what a drop shows that broke or slipped: "at least", "nothing" or "all".
	LetGo string `json:"of_those_that_let_go"`

	drawn float64 // from SI to Unit
	of    func(*reduce.Reduction) (float64, bool)
}

// Shares of a measure that a drop shows which let go.
const (
	showsBound   = "at least"
	showsNothing = "nothing"
	showsAll     = "all"
)

func always[Q interface{ SI() float64 }](of func(*reduce.Reduction) Q) func(*reduce.Reduction) (float64, bool) {
	return func(r *reduce.Reduction) (float64, bool) { return of(r).SI(), true }
}

// where is a measure that not every record shows.
func where[Q interface{ SI() float64 }](of func(*reduce.Reduction) *Q) func(*reduce.Reduction) (float64, bool) {
	return func(r *reduce.Reduction) (float64, bool) {
		if q := of(r); q != nil {
			return (*q).SI(), true
		}
		return 0, false
	}
}

// measures are those that the comparison knows, the peak force first.
var measures = []Measured{
	{"peak", compare.OfPeak, "kN", showsBound, 1e-3, always(func(r *reduce.Reduction) quantity.Force { return r.Peak })},
	{"energy", "energy absorbed", "J", showsBound, 1, always(func(r *reduce.Reduction) quantity.Energy { return r.EnergyAbsorbed })},
	{"elongation", "largest elongation", "mm", showsBound, 1e3, always(func(r *reduce.Reduction) quantity.Length { return r.MaxElongation })},
	{"impulse", "impulse", "N s", showsBound, 1, always(func(r *reduce.Reduction) quantity.Impulse { return r.Impulse })},
	{"time", "time to peak", "ms", showsNothing, 1e3, always(func(r *reduce.Reduction) quantity.Duration { return r.TimeToPeak })},
	{"duration", "arrest duration", "ms", showsNothing, 1e3, always(func(r *reduce.Reduction) quantity.Duration { return r.ArrestDuration })},
	{"rise", "rise rate", "kN/s", showsNothing, 1e-3, where(func(r *reduce.Reduction) *quantity.ForceRate { return r.RiseRate })},
	{"stiffness", "secant stiffness", "kN/m", showsNothing, 1e-3, where(func(r *reduce.Reduction) *quantity.Stiffness { return r.SecantStiffness })},
	{"loss", "loss factor", "", showsNothing, 1, where(func(r *reduce.Reduction) *quantity.Ratio { return r.LossFactor })},
	{"speed", "impact speed", "m/s", showsAll, 1, always(func(r *reduce.Reduction) quantity.Speed { return r.ImpactSpeed })},
}

func measureBy(key string) (Measured, error) {
	if key == "" {
		return measures[0], nil
	}
	var keys []string
	for _, m := range measures {
		if m.Key == key {
			return m, nil
		}
		keys = append(keys, m.Key)
	}
	return Measured{}, fmt.Errorf("there is no measure %q; choose one of %s", key, strings.Join(keys, ", "))
}

// Axis is the measure with its unit, as an axis is named.
func (m Measured) Axis() string { return m.axis(message.English()) }

func (m Measured) axis(in message.Locale) string {
	name := in.Word(m.Name)
	name = look.Capital(name)
	if m.Unit == "" {
		return name
	}
	return name + " (" + m.Unit + ")"
}

// reads gives the measure of the campaign's drops, in SI.
func reads(c *look.Entered, m Measured) compare.MeasureReader {
	if m.Key == measures[0].Key {
		return compare.ReadPeak
	}
	return func(row compare.Row) (censor.Value, bool) {
		r := c.Reduction[row.Drop]
		if r == nil || row.CutOff && m.LetGo == showsNothing && m.Key != "duration" && m.Key != "loss" {
			return censor.Value{}, false
		}
		v, ok := m.of(r)
		if known, is := r.Known(m.Name); is && m.LetGo != showsAll {
			switch {
			case known.Bound == reduce.Nothing || !(v > 0) || row.Outcome == drop.Void || row.Outcome == "":
				return censor.Value{}, false
			case known.Bound == reduce.Between && row.Outcome == drop.Held:
				return censor.Between(known.Interval[0], known.Interval[1]), known.Interval[0] > 0
			case known.Bound == reduce.AtLeast && m.LetGo == showsBound:
				return censor.AtLeast(v), true
			case known.Bound == reduce.AtMost && row.Outcome == drop.Held:
				return censor.AtMost(v), true
			case known.Bound != reduce.Value:
				return censor.Value{}, false
			}
		}
		switch {
		case !ok || !(v > 0):
			return censor.Value{}, false
		case row.Outcome == drop.Held || m.LetGo == showsAll && row.Outcome != drop.Void && row.Outcome != "":
			return censor.Exact(v), true
		case m.LetGo == showsBound && (row.Outcome == drop.Broke || row.Outcome == drop.Slipped):
			return censor.AtLeast(v), true
		}
		return censor.Value{}, false
	}
}

// Drawn is a value of the measure in the unit it is drawn in.
func (m Measured) Drawn(si float64) float64 { return si * m.drawn }
