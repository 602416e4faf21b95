package web

import (
	"net/http"
	"strconv"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/view"
)

// leadToAnswer leads from where the results stood before to where they stand now.
func (s *Server) leadToAnswer(w http.ResponseWriter, r *http.Request) error {
	http.Redirect(w, r, "/#holds", http.StatusMovedPermanently)
	return nil
}

type cellView struct {
	*view.Campaign
	Number  int
	Cell    compare.Cell
	Factors []string
	Limits  []view.LimitVerdict
	// NextSpecimen says how high further peaks may be.
	NextSpecimen message.Sentence
	Figures      [2][]byte
	Cells        int
}

// showCell lays the records of one cell over each other.
func (s *Server) showCell(w http.ResponseWriter, r *http.Request) error {
	st, err := view.Of(r.Context(), s.s)
	if err != nil {
		return err
	}
	n, err := strconv.Atoi(r.PathValue("n"))
	cell, ok := st.Cell(n)
	if err != nil || !ok {
		return &store.Problem{Reason: store.ErrNotFound, Place: "cell " + r.PathValue("n"), Fact: "is not in this campaign", WayOut: "choose one from the results"}
	}
	v := cellView{Campaign: st, Number: n, Cell: cell, Factors: view.Factors(st.Results.Cells[n-1 : n]), Limits: st.Results.Cells[n-1].Limits, NextSpecimen: st.Results.Cells[n-1].NextSpecimen, Cells: len(st.Results.Cells)}
	if v.Figures, err = view.CellFigures(r.Context(), s.s, n, localeOf(r).Locale); err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, "cell", v)
}

func (s *Server) apiAnswers(w http.ResponseWriter, r *http.Request) error {
	st, err := view.Of(r.Context(), s.s)
	if err != nil {
		return err
	}
	s.json(w, http.StatusOK, st.Answers())
	return nil
}

func (s *Server) apiResults(w http.ResponseWriter, r *http.Request) error {
	st, err := view.Of(r.Context(), s.s)
	if err != nil {
		return err
	}
	s.json(w, http.StatusOK, st.Results)
	return nil
}
