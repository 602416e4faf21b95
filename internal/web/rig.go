package web

import (
	"math"
	"net/http"

	"github.com/hardcatch/hardcatch/internal/view"
)

type rigPage struct {
	*view.RigView
	File string
}

// ShownDigits is how many decimals show the largest reading with seven digits; a column with equal decimals can be
// read down.
func (p rigPage) ShownDigits() int {
	top := 0.0
	for _, r := range p.Readings {
		top = math.Max(top, math.Abs(r.Shown))
	}
	return decimalsFor(top, 7)
}

// ResidualDigits is the same for two digits of the largest residual.
func (p rigPage) ResidualDigits() int {
	top := 0.0
	for _, r := range p.Readings {
		if r.Residual != nil {
			top = math.Max(top, math.Abs(r.Residual.SI()))
		}
	}
	return decimalsFor(top, 2)
}

// decimalsFor is the number of decimals with which a value has that many digits.
func decimalsFor(v float64, digits int) int {
	if !(v > 0) || math.IsInf(v, 0) {
		return 0
	}
	return min(max(digits-1-int(math.Floor(math.Log10(v))), 0), 12)
}

// showRig is tower, load cell, mass and calibration, with the days that the certificate still holds.
func (s *Server) showRig(w http.ResponseWriter, r *http.Request) error {
	v, err := view.Rig(r.Context(), s.s)
	if err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, "rig", rigPage{v, s.s.Path()})
}

func (s *Server) apiRig(w http.ResponseWriter, r *http.Request) error {
	v, err := view.Rig(r.Context(), s.s)
	if err != nil {
		return err
	}
	s.json(w, http.StatusOK, v)
	return nil
}
