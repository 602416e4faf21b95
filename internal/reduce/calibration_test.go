package reduce

import (
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/lsq"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// The last day of a certificate counts, and so does its first.
func TestExpiry(t *testing.T) {
	c := drop.CalibrationData{Certificate: "C", Date: "2026-01-05", Expires: "2027-01-05"}
	for _, k := range []struct {
		taken, date, expires, say, fails string
	}{
		{"2027-01-05", c.Date, c.Expires, "", ""},
		{"2027-01-06", c.Date, c.Expires, "expired on 2027-01-05, 1 days before", ""},
		{"2026-01-05", c.Date, c.Expires, "", ""},
		{"2026-01-04", c.Date, c.Expires, "is dated 2026-01-05, after the drop (2026-01-04)", ""},
		{"2035-01-01", c.Date, "", "", ""},
		{"2001-01-01", "", c.Expires, "", ""},
		{"", "", "", "", ""},
		{"2026-06-01", "", "", "", ""},
		{"", c.Date, c.Expires, "is not given, so that the expiry", ""},
		{"", c.Date, "", "is not given", ""},
		{"1 June", c.Date, c.Expires, "", "the day of the drop \"1 June\" is not a date"},
		{"2026-06-01", "May", c.Expires, "", "calibration date \"May\" is not a date"},
		{"2026-06-01", c.Date, "May", "", "calibration expiry \"May\" is not a date"},
	} {
		d := c
		d.Date, d.Expires = k.date, k.expires
		got, err := Expiry(d, k.taken)
		if k.fails != "" {
			if err == nil || !strings.Contains(err.Error(), k.fails) {
				t.Errorf("%+v: %v", k, err)
			}
			continue
		}
		if err != nil || (got == "") != (k.say == "") || !strings.Contains(got, k.say) {
			t.Errorf("%+v: %q %v", k, got, err)
		}
	}
}

// A force read off the curve: sqrt(u_fit^2 + s^2)/|P'|, here u_fit = 3 (the intercept's), s = 4, P' = -0.5: 5/0.5 = 10.
func TestCalibrationU(t *testing.T) {
	c := &Calibration{Fit: &lsq.Polynomial{C: []float64{7, -0.5}, Cov: []float64{9, 0, 0, 0}, ResidualSD: 4, DoF: 6}}
	u, dof := c.U(1234)
	near(t, "u", u.SI(), 10, 1e-15, 0)
	if dof != 6 {
		t.Error(dof)
	}
}

// shown = 2 F + 0.01 F^2 up to 100 N: 10 shows 21, 100 shows 300; below -100 N the curve falls, and -100 at the least is shown.
func TestInvert(t *testing.T) {
	c := &Calibration{Fit: &lsq.Polynomial{C: []float64{0, 2, 0.01}, XMax: 100}, Unit: quantity.Unit{Factor: 1}}
	for _, k := range [][2]float64{{21, 10}, {300, 100}, {0, 0}, {-19, -10}, {416, 200 - 98.04}} {
		if k[0] == 416 {
			k[1] = -100 + math.Sqrt(1e4+41600)
		}
		near(t, "inverted", c.invert(k[0]), k[1], 1e-12, 1e-12)
	}
	if v := c.invert(-100.1); !math.IsNaN(v) {
		t.Error(v)
	}
	if v := c.invert(-100); !math.IsNaN(v) { // the slope is 0 there
		t.Error(v)
	}
	falling := &Calibration{Fit: &lsq.Polynomial{C: []float64{5, -2, -0.01}, XMax: 100}, Unit: quantity.Unit{Factor: 2}}
	near(t, "falling", falling.invert(-16), 10, 1e-12, 0)
	near(t, "in the readings' unit", falling.ForceAt(-8).SI(), 10, 1e-12, 0)
	x := []float64{21, -200, 300}
	if lost := c.apply(x); lost != 1 || !math.IsNaN(x[1]) || math.Abs(x[2]-100) > 1e-10 {
		t.Errorf("%d %v", lost, x)
	}
	straight := &Calibration{Fit: &lsq.Polynomial{C: []float64{3, 0.5}}}
	x = []float64{4, 3}
	if lost := straight.apply(x); lost != 0 || x[0] != 2 || x[1] != 0 {
		t.Errorf("%d %v", lost, x)
	}
}

func TestFitCalibrationLimits(t *testing.T) {
	readings := func(shown func(f float64) float64) []drop.Reading {
		var out []drop.Reading
		for i := range 21 {
			f := float64(i%11) * 1000
			// Repeats lie 2e-4 apart about the curve, so that nothing is too exact to test.
			out = append(out, drop.Reading{Applied: quantity.Force(f), Shown: shown(f) + 1e-4*float64(2*(i/11)-1) + 3e-5*float64(i*i%7-3)})
		}
		return out
	}
	fit := func(degree int, input string, shown func(float64) float64) (*Calibration, []string, error) {
		return FitCalibration(drop.CalibrationData{Certificate: "C", Degree: degree, Input: input, Readings: readings(shown)})
	}
	line := func(f float64) float64 { return 0.1 + 2e-4*f }
	for degree, ok := range map[int]bool{-1: false, 0: true, 1: true, 5: true, 6: false} {
		c, _, err := fit(degree, "V", line)
		if (err == nil) != ok {
			t.Errorf("degree %d: %v", degree, err)
		}
		if ok && len(c.Fit.C) != max(degree, 1)+1 {
			t.Errorf("degree %d: %v", degree, c.Fit.C)
		}
	}
	c, warnings, err := fit(1, "mV/V", line)
	if err != nil || len(warnings) > 0 || c.ForceMin != 0 || c.ForceMax != 10000 {
		t.Fatalf("%+v %v %v", c, warnings, err)
	}
	near(t, "in SI of the input", c.Fit.C[1], 2e-7, 1e-3, 0)
	_, warnings, err = fit(1, "V", func(f float64) float64 { return line(f) + 1e-10*f*f })
	if err != nil || len(warnings) != 1 || !strings.Contains(warnings[0], "one degree more fits better, p = ") || !strings.Contains(warnings[0], "choose degree 2") {
		t.Errorf("%v %v", warnings, err)
	}
	// Turning back at 9 kN within 10 kN; at 11 kN outside it is none of its business.
	turn := func(at float64) func(float64) float64 {
		return func(f float64) float64 { return 2e-4 * (f - f*f/2/at) }
	}
	if _, _, err := fit(2, "V", turn(9000)); err == nil || !strings.Contains(err.Error(), "turns back inside its range") {
		t.Error(err)
	}
	if _, _, err := fit(2, "V", turn(11000)); err != nil {
		t.Error(err)
	}
	if _, _, err := fit(2, "V", func(f float64) float64 { return -turn(11000)(f) }); err != nil {
		t.Error(err)
	}
	if _, _, err := fit(1, "furlong", line); err == nil {
		t.Error("furlongs were taken")
	}
}

func TestLackText(t *testing.T) {
	for _, c := range []struct {
		next, pure float64
		want       string
	}{
		{0.5, 0.5, ""}, {0.01, 0.01, ""}, {0.0099, 0.5, "one degree more fits better, p = 0.0099"},
		{math.NaN(), 0.0099, "the scatter of repeated readings is too small for it, p = 0.0099"},
		{0.001, 0.002, "one degree more fits better, p = 0.001; the scatter of repeated readings is too small for it, p = 0.002"},
	} {
		if got := lackText(lsq.LackOfFit{NextDegree: c.next, PureError: c.pure, Level: 0.01}); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}
