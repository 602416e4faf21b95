package web

import (
	"net/http"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/foresee"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/view"
)

type modelView struct {
	Typed     typedFall
	Answer    *foresee.WhatIfAnswer
	Refused   message.Sentence
	Materials []string
	Knots     []foresee.WhatIfKnot
	OnMap     string // address of a map with this fall on it
	Scenes    *view.SceneView
}

// typedFall is the form as it stands.
type typedFall struct{ Mass, Fall, Length, Rig, Material, Knot, Absorber string }

// showModel computes one fall from the address, so that it can be kept and sent.
func (s *Server) showModel(w http.ResponseWriter, r *http.Request) error {
	v := modelView{Materials: arrest.StartingSetNames(), Knots: foresee.WhatIfKnots()}
	l := localeOf(r)
	var err error
	var q foresee.WhatIf
	if q, v.Typed, err = readFall(l, r); err == nil {
		v.Answer, err = foresee.AskModel(r.Context(), q)
		v.OnMap = "/map?" + fallQuery(l, q)
	}
	st, broken := view.Of(r.Context(), s.s)
	if broken != nil {
		return broken
	}
	if v.Scenes, broken = view.ScenesOf(st, l.Locale); broken != nil {
		return broken
	}
	status := http.StatusOK
	if err != nil {
		v.Refused, status = message.Why(err), http.StatusUnprocessableEntity
	}
	return s.render(w, r, status, "model", v)
}

// readFall reads the values as typed in the reader's language.
func readFall(l locale, r *http.Request) (q foresee.WhatIf, t typedFall, err error) {
	v := r.URL.Query()
	or := func(name, usual string) string {
		if x := v.Get(name); x != "" {
			return x
		}
		return l.number(usual)
	}
	t = typedFall{or("mass", "100 kg"), or("fall", "0.9 m"), or("length", "0.9 m"), or("rig", "2 MN/m"), or("material", "polyester-webbing"), v.Get("knot"), v.Get("absorber")}
	q.Material, q.Knot, q.Absorber = t.Material, t.Knot, t.Absorber != ""
	for _, f := range []struct {
		name, text string
		to         interface{ UnmarshalText([]byte) error }
	}{{"mass", t.Mass, &q.Mass}, {"fall", t.Fall, &q.Fall}, {"length", t.Length, &q.Length}, {"rig stiffness", t.Rig, &q.Rig}} {
		if err := readInto(l, f.name, f.text, f.to); err != nil {
			return q, t, err
		}
	}
	return q, t, nil
}

// apiWhatIf computes one fall.
func (s *Server) apiWhatIf(w http.ResponseWriter, r *http.Request) error {
	q, _, err := readFall(localeOf(r), r)
	if err != nil {
		return err
	}
	a, err := foresee.AskModel(r.Context(), q)
	if err != nil {
		return err
	}
	s.json(w, http.StatusOK, a)
	return nil
}
