package reduce

import (
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Force is the applied force at which the load cell shows a value, in SI of the input unit. It is NaN where the fitted
// curve does not rise or fall to it.
func (c *Calibration) Force(shown float64) quantity.Force {
	x := []float64{shown}
	c.apply(x)
	return quantity.Force(x[0])
}

// Shown is what the load cell shows under a force, in SI of the input unit.
func (c *Calibration) Shown(f quantity.Force) float64 { return c.Fit.At(f.SI()) }

// Scale turns numbers of a live channel in the unit given into force and back, in the way in which Reduce would read
// them. It is not ok when the unit is no force and the calibration is not in it: then no force is known.
func Scale(d drop.CalibrationData, unit string) (force func(number float64) quantity.Force, number func(quantity.Force) float64, ok bool) {
	u, err := quantity.ParseUnit(unit)
	counts := isCounts(unit)
	if unit == "" || err != nil && !counts {
		return nil, nil, false
	}
	if counts {
		u = quantity.Unit{Factor: 1}
	}
	if len(d.Readings) > 0 {
		cal, _, err := FitCalibration(d)
		if err == nil && (counts && isCounts(d.Input) || !counts && !isCounts(d.Input) && u.Dim == cal.Unit.Dim) {
			return func(v float64) quantity.Force { return cal.Force(v * u.Factor) }, func(f quantity.Force) float64 { return cal.Shown(f) / u.Factor }, true
		}
	}
	if counts || u.Dim != quantity.DimForce {
		return nil, nil, false
	}
	return func(v float64) quantity.Force { return quantity.Force(v * u.Factor) }, func(f quantity.Force) float64 { return f.SI() / u.Factor }, true
}
