package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
)

// decision is what a person settles about a drop, as asked for.
type decision struct {
	Outcome string `json:"outcome"`
	Place   string `json:"place"`
	Reason  string `json:"reason"`
	By      string `json:"by"`
}

// voidReasons are offered; any other may be typed.
var voidReasons = drop.VoidReasons()

func (d decision) read(id string) (drop.Decision, error) {
	outcome, err := drop.ParseOutcome(d.Outcome)
	if err != nil {
		return drop.Decision{}, err
	}
	place, err := drop.ParsePlace(d.Place)
	if err != nil {
		return drop.Decision{}, err
	}
	if outcome != drop.Broke {
		place = drop.Unsaid // the form's list of places stays set when the outcome is changed
	}
	if strings.TrimSpace(d.Reason) == "" {
		return drop.Decision{}, fmt.Errorf("drop %s: a decision needs a reason; say what you saw", id)
	}
	out := drop.Decision{Drop: id, Outcome: outcome, Place: place, Reason: strings.TrimSpace(d.Reason), By: strings.TrimSpace(d.By)}
	return out, out.Check()
}

// decide enters a decision from the form.
func (s *Server) decide(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return err
	}
	typed := decision{r.PostForm.Get("outcome"), r.PostForm.Get("place"), r.PostForm.Get("reason"), r.PostForm.Get("by")}
	d, err := typed.read(r.PathValue("id"))
	if err == nil {
		_, err = app.Decide(r.Context(), s.app, s.s.Path(), d)
	}
	if err != nil {
		return s.dropPage(w, r, statusOf(err), message.Why(err), typed)
	}
	return back(w, r, "decided")
}

// back leads to the drop's page after a change, so that the back button never enters it twice.
func back(w http.ResponseWriter, r *http.Request, done string) error {
	q := url.Values{"done": {done}}
	if in := r.URL.Query().Get("in"); in != "" {
		q.Set("in", in)
	}
	http.Redirect(w, r, "/drops/"+url.PathEscape(r.PathValue("id"))+"?"+q.Encode(), http.StatusSeeOther)
	return nil
}

func (s *Server) apiDecide(w http.ResponseWriter, r *http.Request) error {
	var asked decision
	if err := ask(r, &asked); err != nil {
		return err
	}
	d, err := asked.read(r.PathValue("id"))
	if err != nil {
		return err
	}
	rec, err := app.Decide(r.Context(), s.app, s.s.Path(), d)
	if err != nil {
		return err
	}
	s.json(w, http.StatusOK, rec)
	return nil
}
