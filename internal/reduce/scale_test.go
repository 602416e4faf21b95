package reduce

import (
	"math"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// 2 mV/V at 50 kN with a zero of 0.01 mV/V, exactly straight: 25 kN shows 1.01 mV/V.
func TestScaleGoesBothWays(t *testing.T) {
	for degree, readings := range map[int][]drop.Reading{
		1: {{Applied: 0, Shown: 0.01}, {Applied: 20000, Shown: 0.81}, {Applied: 50000, Shown: 2.01}},
		2: {{Applied: 0, Shown: 0.01}, {Applied: 10000, Shown: 0.41}, {Applied: 30000, Shown: 1.21}, {Applied: 50000, Shown: 2.01}},
	} {
		c, _, err := FitCalibration(drop.CalibrationData{Degree: degree, Input: "mV/V", Readings: readings})
		if err != nil {
			t.Fatal(err)
		}
		if got := c.Shown(25000); math.Abs(got-1.01e-3) > 1e-12 {
			t.Errorf("degree %d: shows %v at 25 kN", degree, got)
		}
		for _, f := range []quantity.Force{0, 12345, 50000} {
			if got := c.Force(c.Shown(f)); math.Abs((got - f).SI()) > 1e-6 {
				t.Errorf("degree %d: %v came back as %v", degree, f, got)
			}
		}
	}
}

// 2 mV/V at 50 kN; 1e6 counts at 50 kN; and forces as they are.
func TestLiveScale(t *testing.T) {
	millivolts := drop.CalibrationData{Input: "mV/V", Readings: []drop.Reading{{Applied: 0, Shown: 0}, {Applied: 50000, Shown: 2}, {Applied: 25000, Shown: 1}}}
	counts := drop.CalibrationData{Input: "counts", Readings: []drop.Reading{{Applied: 0, Shown: 0}, {Applied: 50000, Shown: 1e6}, {Applied: 25000, Shown: 5e5}}}
	for _, c := range []struct {
		cal    drop.CalibrationData
		unit   string
		number float64
		want   quantity.Force
	}{{millivolts, "mV/V", 0.4, 10000}, {millivolts, "uV/V", 400, 10000}, {millivolts, "kN", 10, 10000}, {counts, "counts", 2e5, 10000}, {drop.CalibrationData{}, "N", 7, 7}} {
		force, number, ok := Scale(c.cal, c.unit)
		if !ok {
			t.Errorf("%s: no scale", c.unit)
			continue
		}
		if got := force(c.number); math.Abs((got - c.want).SI()) > 1e-6*c.want.SI() {
			t.Errorf("%s: %v, want %v", c.unit, got, c.want)
		}
		if got := number(c.want); math.Abs(got-c.number) > 1e-6*c.number {
			t.Errorf("%s: %v, want %v", c.unit, got, c.number)
		}
	}
	for unit, cal := range map[string]drop.CalibrationData{"V": millivolts, "mV/V": counts, "counts": millivolts, "": millivolts, "furlong": millivolts} {
		if _, _, ok := Scale(cal, unit); ok {
			t.Errorf("%q has a scale", unit)
		}
	}
}
