package web

import (
	"fmt"
	"net/http"
	"strconv"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// apiTrace gives a stretch of a record in as many columns as the page has pixels.
func (s *Server) apiTrace(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	var from, to quantity.Duration
	px := 1000
	var err error
	for name, v := range map[string]*quantity.Duration{"from": &from, "to": &to} {
		if text := q.Get(name); text != "" {
			if err := v.UnmarshalText([]byte(text)); err != nil {
				return fmt.Errorf("%s: %w", name, err)
			}
		}
	}
	if text := q.Get("px"); text != "" {
		if px, err = strconv.Atoi(text); err != nil {
			return fmt.Errorf("px: %q is not a whole number", text)
		}
	}
	win, err := s.s.Window(r.Context(), r.PathValue("id"), from, to, px)
	if err != nil {
		return err
	}
	s.json(w, http.StatusOK, win)
	return nil
}
