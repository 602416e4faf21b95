package web

import (
	"net/http"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
)

// withdraw takes the last decision back by a new one.
func (s *Server) withdraw(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return err
	}
	if _, _, err := app.Withdraw(r.Context(), s.app, s.s.Path(), r.PathValue("id"), r.PostForm.Get("by")); err != nil {
		return err
	}
	return back(w, r, "withdrawn")
}

type withdrawn struct {
	look.Receipt
	Decision drop.Decision `json:"decision"` // the one entered
}

type who struct {
	By string `json:"by"`
}

func (s *Server) apiWithdraw(w http.ResponseWriter, r *http.Request) error {
	var asked who
	if err := ask(r, &asked); err != nil {
		return err
	}
	rec, d, err := app.Withdraw(r.Context(), s.app, s.s.Path(), r.PathValue("id"), asked.By)
	if err != nil {
		return err
	}
	s.json(w, http.StatusOK, withdrawn{rec, d})
	return nil
}
