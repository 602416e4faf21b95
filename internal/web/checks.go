package web

import (
	"net/http"

	"github.com/hardcatch/hardcatch/internal/view"
)

type checksPage struct {
	*view.ChecksView
	File string
}

// showChecks is the chart of the check drops: whether the rig is the same every day.
func (s *Server) showChecks(w http.ResponseWriter, r *http.Request) error {
	v, err := view.Checks(r.Context(), s.s, localeOf(r).Locale)
	if err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, "checks", checksPage{v, s.s.Path()})
}

func (s *Server) apiChecks(w http.ResponseWriter, r *http.Request) error {
	v, err := view.Checks(r.Context(), s.s, localeOf(r).Locale)
	if err != nil {
		return err
	}
	s.json(w, http.StatusOK, v)
	return nil
}
