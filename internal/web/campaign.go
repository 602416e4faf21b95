package web

import (
	"net/http"
	"time"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/view"
)

type campaignView struct {
	*view.Campaign
	Tally
	Rig      *view.RigView
	Peaks    []byte
	Open     []look.DropLine // not decided by a person
	Findings []view.AuditFinding
	Factors  []string
}

// Tally counts the drops of a campaign.
type Tally struct {
	Trials    int `json:"trials"`
	Checks    int `json:"check_drops"`
	Held      int `json:"held"`
	Broke     int `json:"broke"`
	Slipped   int `json:"slipped"`
	Void      int `json:"void"`
	Undecided int `json:"undecided"` // a person has not settled them
	Planned   int `json:"planned"`   // not taken yet, counted nowhere else
}

func tally(st *view.Campaign) Tally {
	t := Tally{Planned: len(st.Results.Planned)}
	awaited := planned(st)
	for _, d := range st.Drops {
		if awaited[d.Drop.ID] {
			continue
		}
		if d.Drop.Role == drop.Check {
			t.Checks++
		} else {
			t.Trials++
		}
		switch d.Row.Outcome {
		case drop.Held:
			t.Held++
		case drop.Broke:
			t.Broke++
		case drop.Slipped:
			t.Slipped++
		case drop.Void:
			t.Void++
		}
		if !d.Row.Decided {
			t.Undecided++
		}
	}
	return t
}

// planned are the drops that are not taken yet.
func planned(st *view.Campaign) map[string]bool {
	out := map[string]bool{}
	for _, id := range st.Results.Planned {
		out[id] = true
	}
	return out
}

// showCampaign is the first page: question, rig, cells, findings, what is left to decide.
func (s *Server) showCampaign(w http.ResponseWriter, r *http.Request) error {
	st, err := view.Of(r.Context(), s.s)
	if err != nil {
		return err
	}
	v := campaignView{Campaign: st, Tally: tally(st), Factors: view.Factors(st.Results.Cells)}
	if v.Rig, err = view.Rig(r.Context(), s.s); err != nil {
		return err
	}
	if v.Trials+v.Checks > 0 {
		if v.Peaks, err = view.AllPeaks(r.Context(), s.s, localeOf(r).Locale); err != nil {
			return err
		}
	}
	awaited := planned(st)
	for _, d := range st.Drops {
		if !d.Row.Decided && !awaited[d.Drop.ID] {
			v.Open = append(v.Open, d)
		}
	}
	for _, f := range st.Results.Findings {
		if f.Verdict == reduce.Disagrees && !f.Voided {
			v.Findings = append(v.Findings, f)
		}
	}
	return s.render(w, r, http.StatusOK, "campaign", v)
}

// ListedAtMost is how many lines of a list the first page shows.
func (campaignView) ListedAtMost() int { return 12 }

type apiCampaign struct {
	Name     string     `json:"name"`
	Question string     `json:"question"`
	Notes    string     `json:"notes"`
	Invented bool       `json:"invented"`
	Created  time.Time  `json:"created"`
	Head     store.Head `json:"head"`
	Tally    Tally      `json:"tally"`
	Cells    int        `json:"cells"`
	Cautions []string   `json:"cautions"`
}

func (s *Server) apiCampaign(w http.ResponseWriter, r *http.Request) error {
	st, err := view.Of(r.Context(), s.s)
	if err != nil {
		return err
	}
	s.json(w, http.StatusOK, apiCampaign{st.Info.Name, st.Info.Question, st.Info.Notes, st.Info.Invented, st.Info.Created, st.Head, tally(st), len(st.Results.Cells), drop.Cautions()})
	return nil
}

func (s *Server) apiHead(w http.ResponseWriter, r *http.Request) error {
	h, err := s.s.Head(r.Context())
	if err != nil {
		return err
	}
	s.json(w, http.StatusOK, h)
	return nil
}
