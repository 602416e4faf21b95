package drop

import (
	"fmt"
	"time"
)

// CertificateStanding is how a calibration certificate stands on a day. It holds from its date to its expiry, both days
// included.
type CertificateStanding struct {
	Ends  bool // it states its last day
	Left  int  // days from the day to the last: 0 on the last, negative after it, 0 where none is stated
	Early bool // the day lies before its date
}

// Over tells that the day lies after the last one.
func (s CertificateStanding) Over() bool { return s.Ends && s.Left < 0 }

// StandingOn is how the certificate stands on a day, written as 2026-03-31. A day that cannot be read is an error.
func (c CalibrationData) StandingOn(day string) (CertificateStanding, error) {
	var s CertificateStanding
	on, err := dayOf("the day of the drop", day)
	if err != nil {
		return s, err
	}
	if c.Expires != "" {
		end, err := dayOf("calibration expiry", c.Expires)
		if err != nil {
			return s, err
		}
		s.Ends, s.Left = true, int(end.Sub(on).Hours()/24)
	}
	if c.Date != "" {
		start, err := dayOf("calibration date", c.Date)
		if err != nil {
			return s, err
		}
		s.Early = on.Before(start)
	}
	return s, nil
}

// dayOf is midnight of a day in UTC, so that days are 24 hours apart.
func dayOf(what, text string) (time.Time, error) {
	t, err := time.Parse("2006-01-02", text)
	if err != nil {
		return t, fmt.Errorf("%s %q is not a date; write it as 2026-03-31", what, text)
	}
	return t, nil
}
