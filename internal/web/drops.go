package web

import (
	"net/http"
	"net/url"
	"sort"
	"strconv"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/view"
)

type dropsView struct {
	*view.Campaign
	Lines   []look.DropLine
	Outcome string
	Audit   string
	Cell    string
	Find    string
	Sort    string
	Choices []choice // of cells
	awaited map[string]bool
}

type choice struct{ Value, Text string }

// showDrops lists the drops, filtered and sorted as the address says.
func (s *Server) showDrops(w http.ResponseWriter, r *http.Request) error {
	st, err := view.Of(r.Context(), s.s)
	if err != nil {
		return err
	}
	v := listOf(st, r.URL.Query())
	for i, c := range st.Results.Cells {
		v.Choices = append(v.Choices, choice{strconv.Itoa(i + 1), strconv.Itoa(i+1) + ": " + c.Name()})
	}
	for _, d := range st.Drops {
		if v.wants(d) {
			v.Lines = append(v.Lines, d)
		}
	}
	v.order()
	return s.render(w, r, http.StatusOK, "drops", v)
}

// listOf is the list that an address asks for, without its lines.
func listOf(st *view.Campaign, q url.Values) dropsView {
	return dropsView{Campaign: st, Outcome: q.Get("outcome"), Audit: q.Get("audit"), Cell: q.Get("cell"), Find: q.Get("find"), Sort: q.Get("sort"), awaited: planned(st)}
}

func (v *dropsView) wants(d look.DropLine) bool {
	switch v.Outcome {
	case "":
	case "undecided":
		if d.Row.Decided || v.awaited[d.Drop.ID] {
			return false
		}
	case "planned":
		if !v.awaited[d.Drop.ID] {
			return false
		}
	default:
		if string(d.Row.Outcome) != v.Outcome {
			return false
		}
	}
	switch v.Cell {
	case "":
	case "check":
		if d.Drop.Role != drop.Check {
			return false
		}
	default:
		if strconv.Itoa(d.Cell) != v.Cell {
			return false
		}
	}
	if v.Audit != "" && d.Row.Audit != v.Audit {
		return false
	}
	sp := d.Drop.Specimen
	text := strings.ToLower(strings.Join([]string{d.Drop.ID, sp.ID, sp.Material, sp.Construction, sp.Knot, sp.Conditioning, sp.Batch, d.Drop.Taken}, " "))
	return strings.Contains(text, strings.ToLower(strings.TrimSpace(v.Find)))
}

func (v *dropsView) order() {
	peak := func(d look.DropLine) float64 {
		if d.Row.Peak == nil {
			return -1
		}
		return d.Row.Peak.SI()
	}
	switch v.Sort {
	case "peak":
		sort.SliceStable(v.Lines, func(i, j int) bool { return peak(v.Lines[i]) > peak(v.Lines[j]) })
	case "cell":
		sort.SliceStable(v.Lines, func(i, j int) bool { return v.Lines[i].Cell < v.Lines[j].Cell })
	}
}

// SortedBy is the address of the same list in another order.
func (v dropsView) SortedBy(by string) string {
	v.Sort = by
	return "/drops?" + v.query()
}

// query is the address of the list after its question mark.
func (v dropsView) query() string {
	q := url.Values{}
	for k, x := range map[string]string{"outcome": v.Outcome, "audit": v.Audit, "cell": v.Cell, "find": v.Find, "sort": v.Sort} {
		if x != "" {
			q.Set(k, x)
		}
	}
	return q.Encode()
}

// In is what the address of a drop carries so that its neighbours are those of this list.
func (v dropsView) In() string {
	if q := v.query(); q != "" {
		return "?in=" + url.QueryEscape(q)
	}
	return ""
}

// inList is the list from which a request's drop was opened, to be carried on.
func inList(r *http.Request) string {
	if in := r.URL.Query().Get("in"); in != "" {
		return "?in=" + url.QueryEscape(in)
	}
	return ""
}

// neighbours are the lines around a drop in the list from which it was opened; the drop stays in its place even when
// a decision has just taken it off the list. at counts from 1, 0 = it is not on the list any more.
func neighbours(st *view.Campaign, id string, in url.Values) (prev, next string, at, of int) {
	v := listOf(st, in)
	for _, d := range st.Drops {
		if v.wants(d) || d.Drop.ID == id {
			v.Lines = append(v.Lines, d)
		}
	}
	v.order()
	of = len(v.Lines)
	for i, d := range v.Lines {
		if d.Drop.ID != id {
			continue
		}
		if i > 0 {
			prev = v.Lines[i-1].Drop.ID
		}
		if i+1 < len(v.Lines) {
			next = v.Lines[i+1].Drop.ID
		}
		if at = i + 1; !v.wants(d) {
			at, of = 0, of-1
		}
	}
	return prev, next, at, of
}

// Awaited tells that the drop is planned and not taken yet.
func (v dropsView) Awaited(id string) bool { return v.awaited[id] }

// Outcomes to choose from.
func (dropsView) Outcomes() []string {
	return []string{"undecided", "held", "broke", "slipped", "void", "planned"}
}

// Verdicts to choose from.
func (dropsView) Verdicts() []string {
	return []string{"agrees", "doubtful", "disagrees", "not possible here"}
}

type apiDropList struct {
	Drops    []apiDropLine `json:"drops"`
	Cautions []string      `json:"cautions"`
}

type apiDropLine struct {
	Drop         string          `json:"drop"`
	Specimen     string          `json:"specimen"`
	Role         drop.Role       `json:"role"`
	Cell         int             `json:"cell"` // from 1, 0 = none
	Material     string          `json:"material"`
	Knot         string          `json:"knot"`
	Conditioning string          `json:"conditioning"`
	Length       quantity.Length `json:"length_m"`
	Fall         quantity.Length `json:"fall_m"`
	Taken        string          `json:"taken"`
	Outcome      drop.Outcome    `json:"outcome"`
	Decided      bool            `json:"decided"`
	Proposed     string          `json:"proposed"`
	Peak         *quantity.Force `json:"peak_N"`
	Expanded     *quantity.Force `json:"u_N"`
	LowerBound   bool            `json:"lower_bound"`
	Audit        string          `json:"audit_verdict"`
	Reduced      bool            `json:"reduced"`
	Stale        bool            `json:"stale"`
}

func (s *Server) apiDrops(w http.ResponseWriter, r *http.Request) error {
	st, err := view.Of(r.Context(), s.s)
	if err != nil {
		return err
	}
	out := apiDropList{Drops: []apiDropLine{}, Cautions: drop.Cautions()}
	for _, d := range st.Drops {
		x, sp := d.Drop, d.Drop.Specimen
		out.Drops = append(out.Drops, apiDropLine{
			x.ID, sp.ID, x.Role, d.Cell, sp.Material, sp.Knot, sp.Conditioning, sp.Length, x.Fall, x.Taken, d.Row.Outcome, d.Row.Decided, string(d.Proposed),
			d.Row.Peak, d.Row.Expanded, d.Row.LowerBound, d.Row.Audit, d.Reduced, d.Stale,
		})
	}
	s.json(w, http.StatusOK, out)
	return nil
}
