package reduce

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/lsq"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Calibration turns what the load cell showed into force.
type Calibration struct {
	Fit      *lsq.Polynomial // shown (SI of the input unit) as a polynomial of the applied force, N
	Lack     lsq.LackOfFit
	Unit     quantity.Unit // of the readings
	ForceMin quantity.Force
	ForceMax quantity.Force
	Data     drop.CalibrationData
}

// FitCalibration fits shown = P(applied) of the certificate's degree (1 when not given) by least squares.
// It fails when the readings do not determine the model. Warnings say when a straight line or the
// chosen degree is the wrong model.
func FitCalibration(d drop.CalibrationData) (*Calibration, []string, error) {
	label := ""
	if d.Certificate != "" {
		label = " " + d.Certificate
	}
	degree := d.Degree
	if degree == 0 {
		degree = 1
	}
	if degree < 0 || degree > 5 {
		return nil, nil, fmt.Errorf("calibration%s: a polynomial of degree %d is not used; choose 1 to 5", label, degree)
	}
	c := &Calibration{Data: d, Unit: quantity.Unit{Name: d.Input, Factor: 1}}
	if !isCounts(d.Input) {
		u, err := quantity.ParseUnit(d.Input)
		if err != nil {
			return nil, nil, fmt.Errorf("calibration%s, input: %w", label, err)
		}
		c.Unit = u
	}
	x, y := make([]float64, len(d.Readings)), make([]float64, len(d.Readings))
	for i, r := range d.Readings {
		x[i], y[i] = r.Applied.SI(), r.Shown*c.Unit.Factor
	}
	fit, err := lsq.FitPolynomial(x, y, degree)
	if err != nil {
		return nil, nil, fmt.Errorf("calibration%s: %w", label, err)
	}
	c.Fit, c.ForceMin, c.ForceMax = fit, quantity.Force(fit.XMin), quantity.Force(fit.XMax)
	// The curve must rise or fall over the whole range, else a reading has two forces.
	sign := fit.Slope(fit.XMin)
	for i := 0; i <= 50; i++ {
		if s := fit.Slope(fit.XMin + float64(i)/50*(fit.XMax-fit.XMin)); !(s*sign > 0) {
			return nil, nil, fmt.Errorf("calibration%s: the fitted curve turns back inside its range, so that one reading would mean two forces; check the readings or lower the degree", label)
		}
	}
	var warnings []string
	c.Lack = lsq.TestLackOfFit(fit, x, y, 0.01)
	if c.Lack.Significant {
		warnings = append(warnings, fmt.Sprintf("calibration%s: a polynomial of degree %d is the wrong model for these readings (%s); choose degree %d, or calibrate over a smaller range",
			label, degree, lackText(c.Lack), degree+1))
	}
	return c, warnings, nil
}

func lackText(l lsq.LackOfFit) string {
	text := ""
	if l.NextDegree < l.Level {
		text = fmt.Sprintf("one degree more fits better, p = %.2g", l.NextDegree)
	}
	if l.PureError < l.Level {
		if text != "" {
			text += "; "
		}
		text += fmt.Sprintf("the scatter of repeated readings is too small for it, p = %.2g", l.PureError)
	}
	return text
}

func isCounts(unit string) bool {
	return unit == "counts" || unit == "count" || unit == "adc" || unit == ""
}

// apply turns what the load cell showed (SI of the input unit) into force, in place, and counts the
// samples that mean no force, which become NaN. Straight lines are inverted in closed form and lose none.
func (c *Calibration) apply(x []float64) (lost int) {
	if len(c.Fit.C) == 2 {
		a, b := c.Fit.C[0], 1/c.Fit.C[1]
		for i, v := range x {
			x[i] = (v - a) * b
		}
		return 0
	}
	for i, v := range x {
		x[i] = c.invert(v)
		if math.IsNaN(x[i]) {
			lost++
		}
	}
	return lost
}

// ForceAt is the force at which the load cell shows what a reading says, in the readings' own unit. NaN where there
// is none on the branch of the calibrated range.
func (c *Calibration) ForceAt(shown float64) quantity.Force {
	return quantity.Force(c.invert(shown * c.Unit.Factor))
}

// invert is the force that makes the load cell show v, by Newton steps from the straight line through the ends of the
// range, to a relative 1e-12. NaN where there is no such force on the branch of the calibrated range.
func (c *Calibration) invert(v float64) float64 {
	lo, hi := c.Fit.XMin, c.Fit.XMax
	ylo, yhi := c.Fit.At(lo), c.Fit.At(hi)
	f := lo + (v-ylo)/(yhi-ylo)*(hi-lo)
	rising := yhi > ylo
	for range 30 {
		slope := c.Fit.Slope(f)
		if slope == 0 || slope > 0 != rising {
			return math.NaN()
		}
		d := (c.Fit.At(f) - v) / slope
		f -= d
		if math.Abs(d) <= 1e-12*math.Max(math.Abs(f), 1) {
			if s := c.Fit.Slope(f); s == 0 || s > 0 != rising {
				return math.NaN()
			}
			return f
		}
	}
	return math.NaN()
}

// U is the standard uncertainty of a force read off the curve: sqrt(u_fit^2 + s^2)/|P'|, the fitted
// curve's own and the scatter of a single reading about it, with the residual degrees of freedom.
func (c *Calibration) U(f quantity.Force) (u quantity.Force, dof float64) {
	x := f.SI()
	return quantity.Force(math.Hypot(c.Fit.U(x), c.Fit.ResidualSD) / math.Abs(c.Fit.Slope(x))), float64(c.Fit.DoF)
}

// Expiry says in a sentence when the certificate does not cover the day of the drop; empty when it does
// or no dates are given.
func Expiry(d drop.CalibrationData, taken string) (string, error) {
	if d.Date == "" && d.Expires == "" {
		return "", nil
	}
	if taken == "" {
		return fmt.Sprintf("the day of the drop is not given, so that the expiry of certificate %s (%s) cannot be checked", d.Certificate, d.Expires), nil
	}
	on, err := d.StandingOn(taken)
	switch {
	case err != nil:
		return "", err
	case on.Over():
		return fmt.Sprintf("certificate %s expired on %s, %d days before the drop; recalibrate, or show that the load cell has not changed by check drops", d.Certificate, d.Expires, -on.Left), nil
	case on.Early:
		return fmt.Sprintf("certificate %s is dated %s, after the drop (%s); give the certificate that was valid then", d.Certificate, d.Date, taken), nil
	}
	return "", nil
}
