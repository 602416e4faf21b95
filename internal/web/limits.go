package web

import (
	"net/http"
	"slices"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/limits"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/view"
)

type limitsView struct {
	*view.Campaign
	Rows    []limitRow
	Highest *view.LimitVerdict
}

type limitRow struct {
	limits.Limit
	Verdict limits.Verdict // empty without a valid peak
	Drop    string
	// Cell and Statement say where and why it cannot be told; 0 and empty otherwise.
	Cell      int
	Statement message.Sentence
}

// showLimits is every limit known here with its source, held against the next specimen of each cell.
func (s *Server) showLimits(w http.ResponseWriter, r *http.Request) error {
	st, err := view.Of(r.Context(), s.s)
	if err != nil {
		return err
	}
	v := limitsView{Campaign: st, Highest: st.Results.Highest()}
	if len(st.Results.Limits) == 0 {
		for _, l := range limits.Current() {
			v.Rows = append(v.Rows, limitRow{Limit: l})
		}
	}
	for _, l := range st.Results.Limits {
		row := limitRow{Limit: l.Limit, Verdict: l.Verdict, Drop: l.Drop}
		if l.Verdict == limits.CannotTell {
			row.Cell, row.Statement = l.Cell, l.Text
		}
		v.Rows = append(v.Rows, row)
	}
	// What the specimens themselves are rated for comes first.
	slices.SortStableFunc(v.Rows, func(a, b limitRow) int { return rank(a) - rank(b) })
	return s.render(w, r, http.StatusOK, "limits", v)
}

func rank(l limitRow) int {
	if l.Name == limits.Rating {
		return 0
	}
	return 1
}

type limitList struct {
	Limits   []limits.Limit `json:"limits"`
	Cautions []string       `json:"cautions"`
}

func (s *Server) apiLimits(w http.ResponseWriter, _ *http.Request) error {
	s.json(w, http.StatusOK, limitList{limits.Table(), drop.Cautions()})
	return nil
}
