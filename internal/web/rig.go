package web

import (
	"net/http"

	"hardcatch/internal/app"
)

type rigPage struct {
	*app.RigView
	File string
}

// showRig is tower, load cell, mass and calibration, with the days that the certificate still holds.
func (s *Server) showRig(w http.ResponseWriter, r *http.Request) error {
	v, err := s.s.Rig(r.Context())
	if err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, "rig", rigPage{v, s.s.Path()})
}

func (s *Server) apiRig(w http.ResponseWriter, r *http.Request) error {
	v, err := s.s.Rig(r.Context())
	if err != nil {
		return err
	}
	s.json(w, http.StatusOK, v)
	return nil
}
