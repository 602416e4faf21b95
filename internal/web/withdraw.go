package web

import (
	"net/http"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
)

// withdraw takes the last decision back by a new one.
func (s *Server) withdraw(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return err
	}
	if _, _, err := app.Withdraw(r.Context(), s.app, s.s.Path(), r.PathValue("id"), r.PostForm.Get("by"), r.PostForm.Get("reason")); err != nil {
		return s.dropPage(w, r, statusOf(err), message.Why(err), decision{})
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

// takeBack is who takes a decision back, and why.
type takeBack struct {
	who
	Reason string `json:"reason"`
}

func (s *Server) apiWithdraw(w http.ResponseWriter, r *http.Request) error {
	var asked takeBack
	if err := ask(r, &asked); err != nil {
		return err
	}
	rec, d, err := app.Withdraw(r.Context(), s.app, s.s.Path(), r.PathValue("id"), asked.By, asked.Reason)
	if err != nil {
		return err
	}
	s.json(w, http.StatusOK, withdrawn{rec, d})
	return nil
}
