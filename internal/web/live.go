package web

import (
	"context"
	"net/http"
	"strconv"
	"strings"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/day"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

// follow passes on what the capture says until it ends.
func (s *Server) follow(ctx context.Context) {
	s.day.Follow(ctx, func(v day.LiveView) { s.hub.publish("force", v) })
}

// Watch lets the server show a capture; it is called once, before the server answers. Of opts, reader, filter and By are those of every drop.
func (s *Server) Watch(ctx context.Context, live day.Live, opts day.TakeInput) error {
	today, err := day.New(ctx, s.app, s.s.Path(), live, opts, func(version int) { s.hub.publish("live", liveNow{version}) })
	if err != nil {
		return err
	}
	s.day = today
	go s.follow(ctx)
	return nil
}

// liveNow says that the page of the next drop has changed.
type liveNow struct {
	Version int `json:"version"`
}

// order is what a person at the tower asks for; what an order does not need is ignored.
type order struct {
	Item     int    `json:"item"` // number of a question, from 1
	Skip     string `json:"skip"` // why it is skipped; empty goes round its answers
	Drop     string `json:"drop"` // to which a found record belongs; empty leaves it in the spool
	decision        // whose empty outcome confirms what is proposed
}

// orders are what can be asked for, by the last part of the address.
var orders = []struct {
	name string
	do   func(context.Context, *day.Day, order) (day.State, error)
}{
	{"check", func(_ context.Context, d *day.Day, o order) (day.State, error) { return d.Toggle(o.Item, o.Skip) }},
	{"arm", func(ctx context.Context, d *day.Day, _ order) (day.State, error) { return d.Arm(ctx) }},
	{"disarm", func(_ context.Context, d *day.Day, _ order) (day.State, error) { return d.Disarm() }},
	{"fire", func(_ context.Context, d *day.Day, _ order) (day.State, error) { return d.Fire() }},
	{"finish", func(_ context.Context, d *day.Day, _ order) (day.State, error) { return d.Finish() }},
	{"onward", func(ctx context.Context, d *day.Day, _ order) (day.State, error) { return d.Onward(ctx) }},
	{"withdraw", func(ctx context.Context, d *day.Day, o order) (day.State, error) { return d.Withdraw(ctx, o.Reason) }},
	{"assign", func(ctx context.Context, d *day.Day, o order) (day.State, error) { return d.Assign(ctx, o.Drop) }},
	{"decide", func(ctx context.Context, d *day.Day, o order) (day.State, error) {
		if o.Outcome != "" {
			if _, err := drop.ParseOutcome(o.Outcome); err != nil {
				return d.Moment(), err
			}
		}
		place, err := drop.ParsePlace(o.Place)
		if err != nil {
			return d.Moment(), err
		}
		return d.Decide(ctx, drop.Outcome(o.Outcome), place, o.Reason)
	}},
}

// liveRoutes are the page of the next drop and what can be done there.
func (s *Server) liveRoutes() []route {
	out := []route{{"GET /live", s.showLive, false}, {"GET /api/live", s.apiLive, false}}
	for _, o := range orders {
		obey := func(r *http.Request, asked order) (day.State, error) {
			if s.day == nil {
				return day.State{}, noSource
			}
			s.day.Name(asked.By)
			// An order once given is carried out, even when the page that gave it goes away.
			return o.do(context.WithoutCancel(r.Context()), s.day, asked)
		}
		out = append(out, route{"POST /live/" + o.name, func(w http.ResponseWriter, r *http.Request) error {
			asked, err := orderOf(r)
			if err != nil {
				return err
			}
			if _, err := obey(r, asked); err != nil {
				return s.livePage(w, r, statusOf(err), message.Why(err))
			}
			http.Redirect(w, r, "/live", http.StatusSeeOther)
			return nil
		}, false}, route{"POST /api/live/" + o.name, func(w http.ResponseWriter, r *http.Request) error {
			var asked order
			if err := ask(r, &asked); err != nil {
				return err
			}
			st, err := obey(r, asked)
			if err != nil {
				return err
			}
			s.json(w, http.StatusOK, st)
			return nil
		}, false})
	}
	return out
}

var noSource = problem{http.StatusConflict, "no live source is open; start again with: hardcatch serve FILE --source source.yaml"}

// orderOf reads an order from a form.
func orderOf(r *http.Request) (order, error) {
	if err := r.ParseForm(); err != nil {
		return order{}, err
	}
	f := r.PostForm.Get
	o := order{Skip: f("skip"), Drop: f("drop"), decision: decision{f("outcome"), f("place"), f("reason"), f("by")}}
	if text := f("item"); text != "" {
		var err error
		if o.Item, err = strconv.Atoi(text); err != nil {
			return order{}, problem{http.StatusUnprocessableEntity, "item: write the number of the question"}
		}
	}
	return o, nil
}

// trouble is an event of the source; Over tells that it ends one.
type trouble struct {
	Text string
	Over bool
}

// livePage is the next drop, as a page.
type livePage struct {
	*day.State                  // nil without a live source
	Refused    message.Sentence // why an order was not obeyed
	File       string
	Questions  []drop.CheckQuestion
	Reasons    []string  // to void, by key from 1
	Big        string    // the peak in kN
	Loud       []trouble // what loses samples, and that it is over
	Slow       []string  // what only says that the computer was slow
	Early      string    // the provisional peak in kN
	Open       []int     // numbers of the questions not answered, from 1
	Untold     bool      // the record does not tell its outcome
	LookFirst  bool      // the audit disagrees: no key alone decides
}

func (s *Server) showLive(w http.ResponseWriter, r *http.Request) error {
	return s.livePage(w, r, http.StatusOK, nil)
}

func (s *Server) livePage(w http.ResponseWriter, r *http.Request, status int, refused message.Sentence) error {
	p := livePage{Refused: refused, File: s.s.Path(), Questions: drop.CheckQuestions(), Reasons: voidReasons}
	if s.day != nil {
		st := s.day.Moment()
		p.State = &st
		if refused == nil {
			p.Refused = st.Message
		}
		for _, e := range st.Trouble {
			if strings.HasPrefix(e, string(acquire.Behind)) {
				p.Slow = append(p.Slow, e)
			} else {
				p.Loud = append(p.Loud, trouble{e, strings.HasPrefix(e, string(acquire.Reconnected))})
			}
		}
		p.Early = earlyPeak(localeOf(r), st.Provisional)
		for i, x := range st.Items {
			if x.State == drop.CheckOpen {
				p.Open = append(p.Open, i+1)
			}
		}
		if t := st.Taken; t != nil {
			p.Big = bigPeak(localeOf(r), t)
			_, err := drop.ParseOutcome(string(t.Outcome))
			p.Untold = err != nil || t.Outcome == ""
			p.LookFirst = t.Audit == reduce.Disagrees
		}
	}
	return s.render(w, r, status, "live", p)
}

// earlyPeak is a provisional peak in kN, to what the load cell's zero and the filter leave certain.
func earlyPeak(l locale, f *quantity.Force) string {
	if f == nil {
		return ""
	}
	return "≈" + l.number(strconv.FormatFloat(f.SI()/1000, 'f', 1, 64))
}

// bigPeak is the peak in kN to 0.01 kN, as it is read from afar; the line below it has its uncertainty.
func bigPeak(l locale, t *day.Taken) string {
	if t.Peak == nil {
		return ""
	}
	text := l.number(strconv.FormatFloat(t.Peak.SI()/1000, 'f', 2, 64))
	if t.LowerBound || t.CutOff {
		text = "≥" + text
	}
	return strings.ReplaceAll(text, "-", "\u2212")
}

func (s *Server) apiLive(w http.ResponseWriter, _ *http.Request) error {
	if s.day == nil {
		return noSource
	}
	s.json(w, http.StatusOK, s.day.Moment())
	return nil
}
