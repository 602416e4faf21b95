package drop

import (
	"strings"
	"testing"
)

// A certificate holds on its date and on its last day, and on no day outside.
func TestCertificateStanding(t *testing.T) {
	c := CalibrationData{Date: "2026-01-19", Expires: "2027-01-18"}
	for _, k := range []struct {
		day         string
		left        int
		early, over bool
	}{
		{"2026-01-18", 365, true, false},
		{"2026-01-19", 364, false, false},
		{"2026-01-20", 363, false, false},
		{"2027-01-17", 1, false, false},
		{"2027-01-18", 0, false, false},
		{"2027-01-19", -1, false, true},
		{"2027-03-01", -42, false, true}, // 13 days of January, 28 of February, 1 of March
	} {
		s, err := c.StandingOn(k.day)
		if want := (CertificateStanding{Ends: true, Left: k.left, Early: k.early}); err != nil || s != want || s.Over() != k.over {
			t.Errorf("%s: %+v, over %v (%v)", k.day, s, s.Over(), err)
		}
	}
	if s, err := (CalibrationData{}).StandingOn("2027-01-19"); err != nil || s != (CertificateStanding{}) || s.Over() {
		t.Errorf("nothing stated: %+v %v", s, err)
	}
	for want, bad := range map[string][3]string{
		`the day of the drop "" is not a date`: {c.Date, c.Expires, ""},
		`calibration date "May" is not a date`: {"May", c.Expires, "2026-05-01"}, `calibration expiry "2027-02-29" is not a date; write it as 2026-03-31`: {c.Date, "2027-02-29", "2026-05-01"},
	} {
		if _, err := (CalibrationData{Date: bad[0], Expires: bad[1]}).StandingOn(bad[2]); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v: %v", bad, err)
		}
	}
}
