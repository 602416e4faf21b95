package view

import (
	"context"
	"errors"
	"math"
	"time"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
)

// RigView is the rig as it stands, with its calibration held against today.
type RigView struct {
	Rig         *drop.Rig             `json:"rig"` // null when none is entered
	Gravity     quantity.Acceleration `json:"gravity_mps2"`
	GravityFrom string                `json:"gravity_from"`
	Frequency   quantity.Frequency    `json:"frequency_Hz"`
	Expiry      Expiry                `json:"calibration_expiry"`
	Degree      int                   `json:"degree"`
	From        quantity.Force        `json:"from_N"` // calibrated range
	To          quantity.Force        `json:"to_N"`
	Readings    []FittedReading       `json:"readings"`
	Stale       int                   `json:"stale"` // drops reduced with an earlier rig
	Revisions   int                   `json:"revisions"`
	Warnings    []message.Sentence    `json:"warnings"`
	Cautions    []string              `json:"cautions"`
}

// Expiry tells how the certificate stands on a day.
type Expiry struct {
	State string `json:"state"` // "not stated", "valid", "soon", "expired"
	On    string `json:"on,omitempty"`
	Days  int    `json:"days"` // left, negative when over
}

// soonDays is how long before its end a certificate is warned of.
const soonDays = 30

// FittedReading is one calibration point with what the fitted curve says at it.
type FittedReading struct {
	Applied  quantity.Force  `json:"applied_N"`
	Shown    float64         `json:"shown"`
	Residual *quantity.Force `json:"residual_N"` // force by the curve, less applied; null where the curve has none
}

// Rig shows the rig that stands.
func Rig(ctx context.Context, s *look.Campaign) (*RigView, error) {
	st, err := s.Moment(ctx)
	if err != nil {
		return nil, err
	}
	v := &RigView{Rig: st.Rig, Expiry: Expiry{State: "not stated"}, Readings: []FittedReading{}, Warnings: []message.Sentence{}, Cautions: drop.Cautions()}
	if st.Rig == nil {
		return v, nil
	}
	hist, err := s.S.RigHistory(ctx)
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return nil, err
	}
	v.Revisions = len(hist)
	g, from := st.Rig.G()
	v.Gravity, v.GravityFrom, v.Frequency = g, from, st.Rig.NodeFrequency()
	for _, d := range st.Drops {
		if d.Stale {
			v.Stale++
		}
	}
	cal := st.Rig.LoadCell.Calibration
	v.Expiry = expiryOn(cal, s.Access.Now())
	if len(cal.Readings) == 0 {
		v.Warnings = append(v.Warnings, message.Say("no calibration readings are given: peaks carry no uncertainty of the force scale"))
		return v, nil
	}
	fit, warnings, err := reduce.FitCalibration(cal)
	if err != nil {
		v.Warnings = append(v.Warnings, message.Why(err))
		return v, nil
	}
	v.Warnings = append(v.Warnings, message.TellAll(warnings)...)
	v.Degree, v.From, v.To = len(fit.Fit.C)-1, fit.ForceMin, fit.ForceMax
	for _, r := range cal.Readings {
		f := FittedReading{Applied: r.Applied, Shown: r.Shown}
		if by := fit.ForceAt(r.Shown); !math.IsNaN(by.SI()) {
			residual := by - r.Applied
			f.Residual = &residual
		}
		v.Readings = append(v.Readings, f)
	}
	return v, nil
}

func expiryOn(c drop.CalibrationData, now time.Time) Expiry {
	on, err := c.StandingOn(now.Format("2006-01-02"))
	if err != nil || !on.Ends {
		return Expiry{State: "not stated", On: c.Expires}
	}
	e := Expiry{State: "valid", On: c.Expires, Days: on.Left}
	switch {
	case on.Over():
		e.State = "expired"
	case e.Days <= soonDays:
		e.State = "soon"
	}
	return e
}
