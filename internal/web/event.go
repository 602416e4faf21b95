package web

import (
	"net/http"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

// moveEvents sets taut, the peak or the end of the arrest by hand; an empty field gives it back to the record.
func (s *Server) moveEvents(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return err
	}
	l := localeOf(r)
	var h reduce.EventsByHand
	err := moment(l, "taut", r.PostForm.Get("taut"), &h.Taut)
	if err == nil {
		err = moment(l, "peak", r.PostForm.Get("peak"), &h.Peak)
	}
	if err == nil {
		err = moment(l, "end of the arrest", r.PostForm.Get("slack"), &h.Slack)
	}
	if err == nil {
		err = moment(l, "from", r.PostForm.Get("from"), &h.From)
	}
	if err == nil {
		err = moment(l, "to", r.PostForm.Get("to"), &h.To)
	}
	if err == nil {
		_, err = app.MoveEvents(r.Context(), s.app, s.s.Path(), r.PathValue("id"), h, r.PostForm.Get("reason"), r.PostForm.Get("by"))
	}
	if err != nil {
		return s.dropPage(w, r, statusOf(err), message.Why(err), decision{})
	}
	return back(w, r, "moved")
}

func moment(l locale, field, text string, to **quantity.Duration) error {
	var t quantity.Duration
	if text == "" {
		return nil
	}
	if err := readInto(l, field, text, &t); err != nil {
		return err
	}
	*to = &t
	return nil
}

// withdrawEvents takes the last move back.
func (s *Server) withdrawEvents(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return err
	}
	if _, err := app.WithdrawEvents(r.Context(), s.app, s.s.Path(), r.PathValue("id"), r.PostForm.Get("by")); err != nil {
		return err
	}
	return back(w, r, "events-withdrawn")
}

type moved struct {
	Taut   *quantity.Duration `json:"taut_s"` // on the record's clock; null = as the record gives it
	Peak   *quantity.Duration `json:"peak_s"`
	Slack  *quantity.Duration `json:"slack_s"`
	From   *quantity.Duration `json:"from_s"` // the drop lies in the part of the record from here
	To     *quantity.Duration `json:"to_s"`   // to here
	Reason string             `json:"reason"`
	By     string             `json:"by"`
}

func (s *Server) apiMoveEvents(w http.ResponseWriter, r *http.Request) error {
	var asked moved
	if err := ask(r, &asked); err != nil {
		return err
	}
	rec, err := app.MoveEvents(r.Context(), s.app, s.s.Path(), r.PathValue("id"), reduce.EventsByHand{Taut: asked.Taut, Peak: asked.Peak, Slack: asked.Slack, From: asked.From, To: asked.To}, asked.Reason, asked.By)
	if err != nil {
		return err
	}
	s.json(w, http.StatusOK, rec)
	return nil
}

func (s *Server) apiWithdrawEvents(w http.ResponseWriter, r *http.Request) error {
	var asked who
	if err := ask(r, &asked); err != nil {
		return err
	}
	rec, err := app.WithdrawEvents(r.Context(), s.app, s.s.Path(), r.PathValue("id"), asked.By)
	if err != nil {
		return err
	}
	s.json(w, http.StatusOK, rec)
	return nil
}
