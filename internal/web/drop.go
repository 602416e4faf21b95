package web

import (
	"encoding/json"
	"net/http"
	"net/url"
	"slices"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/view"
)

type dropPage struct {
	*view.DropView
	Line              look.DropLine
	CellName          string
	Prev, Next        string
	Open              string // the next drop that nobody has decided
	In                string // end of the address of drops of the same list
	List              string // address of the list from which the drop was opened, "" = all drops
	At, Of            int    // place in that list from 1, 0 = not on it any more
	Story             []storyLine
	CanWithdraw       bool
	Standing          *drop.Decision // what a person decided and nobody took back
	LookFirst         bool           // the audit disagrees and nothing is decided: no key confirms
	CanWithdrawEvents bool
	Hand              *reduce.EventsByHand
	Refused           message.Sentence // why what was just asked for was not done
	Typed             decision         // what stood in the form then
	FromLive          bool             // a photo leads back to the page of the next drop
	Reasons           []string
	Beside            []message.Sentence // what the other drops and simulated arrests say of the numbers
}

// storyLine is an entry of the logbook in words.
type storyLine struct {
	Seq  int64
	At   string
	Kind store.Kind
	Text string
	Head string // kind of text for the catalogue
}

// showDrop is one drop: record, measures, uncertainty, audit, decisions.
func (s *Server) showDrop(w http.ResponseWriter, r *http.Request) error {
	return s.dropPage(w, r, http.StatusOK, nil, decision{})
}

func (s *Server) dropPage(w http.ResponseWriter, r *http.Request, status int, refused message.Sentence, typed decision) error {
	id := r.PathValue("id")
	st, err := view.Of(r.Context(), s.s)
	if err != nil {
		return err
	}
	i := st.Find(id)
	if i < 0 {
		return store.NoDrop(id)
	}
	v := dropPage{Line: st.Drops[i], Refused: refused, Typed: typed, Reasons: voidReasons, FromLive: r.URL.Query().Get("from") == "live"}
	if v.DropView, err = view.Drop(r.Context(), s.s, id); err != nil {
		return err
	}
	if c, ok := st.Cell(v.Line.Cell); ok {
		v.CellName = c.Name()
	}
	v.around(st, i)
	v.Beside = view.Beside(st.Moment, id)
	v.In = inList(r)
	if in, err := url.ParseQuery(r.URL.Query().Get("in")); err == nil && len(in) > 0 {
		v.Prev, v.Next, v.At, v.Of = neighbours(st, id, in)
		v.List = "/drops?" + in.Encode()
	}
	// What needs the record is asked for by the page: it shows the rest meanwhile, and when the record is damaged.
	s.s.ReadAhead(append([]string{id}, v.ahead()...)...)
	if err := s.tell(r, &v); err != nil {
		return err
	}
	v.CanWithdraw, v.CanWithdrawEvents = len(v.Decisions) > 0, len(v.ByHand) > 0
	if n := len(v.Decisions); n > 0 && !v.Decisions[n-1].Withdrawn {
		v.Standing = &v.Decisions[n-1]
	}
	v.LookFirst = v.Standing == nil && v.Line.Row.Audit == string(reduce.Disagrees)
	if v.Reduction != nil {
		v.Hand = v.Reduction.Settings.Hand
	}
	return s.render(w, r, status, "drop", v)
}

// ahead are the drops that one key leads to.
func (v *dropPage) ahead() []string {
	var out []string
	for _, id := range []string{v.Next, v.Open, v.Prev} {
		if id != "" && !slices.Contains(out, id) {
			out = append(out, id)
		}
	}
	return out
}

// around finds the neighbours in the order of the list.
func (v *dropPage) around(st *view.Campaign, i int) {
	if i > 0 {
		v.Prev = st.Drops[i-1].Drop.ID
	}
	if i+1 < len(st.Drops) {
		v.Next = st.Drops[i+1].Drop.ID
	}
	awaited := planned(st)
	for k := 1; k < len(st.Drops); k++ {
		if d := st.Drops[(i+k)%len(st.Drops)]; !d.Row.Decided && !awaited[d.Drop.ID] {
			v.Open = d.Drop.ID
			return
		}
	}
}

// tell words the entries of the logbook that concern the drop.
func (s *Server) tell(r *http.Request, v *dropPage) error {
	all, err := s.s.Logbook(r.Context())
	if err != nil {
		return err
	}
	for _, e := range all {
		if e.Subject != v.Drop.ID || e.Kind == store.KindQuestion {
			continue
		}
		line := storyLine{Seq: e.Seq, At: e.At, Kind: e.Kind}
		line.Head, line.Text = entryWords(e)
		if v.ByHand[e.Seq] {
			line.Head = "reduced with events set by hand"
		}
		v.Story = append(v.Story, line)
	}
	return nil
}

// entryWords says what an entry entered: a sentence of the catalogue and what a person wrote.
func entryWords(e store.Entry) (head, text string) {
	switch e.Kind {
	case store.KindDecision:
		var d drop.Decision
		if json.Unmarshal([]byte(e.Payload), &d) != nil {
			return "decision", ""
		}
		text = d.Reason
		if d.By != "" {
			text += " (" + d.By + ")"
		}
		if d.Again != "" {
			text += "; " + d.Again
		}
		if d.Withdrawn {
			return "decision withdrawn", text
		}
		return "decided: " + string(d.Outcome), text
	case store.KindNote:
		var n store.Note
		if json.Unmarshal([]byte(e.Payload), &n) != nil {
			return "note", ""
		}
		if n.By != "" {
			n.Text += " (" + n.By + ")"
		}
		return "note", n.Text
	case store.KindTrace:
		var t store.Trace
		if json.Unmarshal([]byte(e.Payload), &t) != nil {
			return "record kept", ""
		}
		return "record kept", t.Name
	case store.KindPhoto:
		var p store.Photo
		if json.Unmarshal([]byte(e.Payload), &p) != nil {
			return "photo attached", ""
		}
		if text = p.Caption; text == "" {
			text = p.Name
		}
		if p.By != "" {
			text += " (" + p.By + ")"
		}
		return "photo attached", text
	case store.KindQuestion:
		var q drop.Question
		if json.Unmarshal([]byte(e.Payload), &q) != nil {
			return "question asked", ""
		}
		if q.Withdrawn != "" {
			return "question withdrawn", q.Withdrawn
		}
		return "question asked", q.Text
	case store.KindReduction:
		return "reduced", ""
	}
	return string(e.Kind) + " entered", ""
}

// giveDrawing gives a drawing of the drop's record.
func (s *Server) giveDrawing(w http.ResponseWriter, r *http.Request) error {
	i := slices.Index([]string{"force.svg", "loop.svg"}, r.PathValue("name"))
	if i < 0 {
		return problem{http.StatusNotFound, "there is no such drawing; ask for force.svg or loop.svg"}
	}
	f, err := view.DropFigures(r.Context(), s.s, r.PathValue("id"), localeOf(r).Locale)
	if err != nil {
		return err
	}
	if f[i] == nil {
		return problem{http.StatusNotFound, "the drop has no reduction that could be drawn"}
	}
	w.Header().Set("Content-Type", "image/svg+xml")
	// The client has gone when this fails.
	_, _ = w.Write(f[i])
	return nil
}

// giveRecord gives back the original bytes.
func (s *Server) giveRecord(w http.ResponseWriter, r *http.Request) error {
	_, b, err := s.s.Record(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/octet-stream")
	w.Header().Set("Content-Disposition", "attachment")
	// The client has gone when this fails.
	_, _ = w.Write(b)
	return nil
}

func (s *Server) apiDrop(w http.ResponseWriter, r *http.Request) error {
	v, err := view.Drop(r.Context(), s.s, r.PathValue("id"))
	if err != nil {
		return err
	}
	s.json(w, http.StatusOK, v)
	return nil
}
