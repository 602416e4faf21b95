package foresee

import (
	"slices"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/plan"
)

// What a map, a single fall and a plan say is said whole in German and French: nothing stays English but names.
func TestForesightIsSaidInEveryLanguage(t *testing.T) {
	q := MapQuestion{WhatIf: WhatIf{Material: "polyester-webbing", Knot: WhatIfKnots()[0].Name, Absorber: true}}
	m, err := AskMap(t.Context(), &look.Access{}, q)
	if err != nil {
		t.Fatal(err)
	}
	said := slices.Clone(m.Warnings)
	for _, l := range m.Limits {
		said = append(said, l.Note)
	}
	said = append(said, m.Dropped.Rule, m.q.whyNot(WhatIf{Mass: 100, Fall: 9, Length: 0.9}), m.q.whyNot(WhatIf{Mass: 300, Fall: 0.9, Length: 0.9}))
	a, err := AskModel(t.Context(), WhatIf{Knot: q.Knot})
	if err != nil {
		t.Fatal(err)
	}
	said = append(said, a.Warnings...)
	_, err = AskModel(t.Context(), WhatIf{Mass: 2000})
	said = append(said, message.Why(err))
	show, err := plan.PeakTest{CV: 0.08, Alpha: 0.05}.CanShow(4, 0.8)
	if err != nil {
		t.Fatal(err)
	}
	r := PlanResult{Forecasts: []*plan.Forecast{
		{Cell: plan.Cell{Number: 1}, Warnings: []message.Sentence{show}}, {Cell: plan.Cell{Number: 2}, Warnings: []message.Sentence{show, a.Warnings[0]}},
		{Cell: plan.Cell{Number: 3}},
	}}
	r.Gather()
	if want := []string{"2 cells (1, 2): " + show.String(), "cell 2: " + a.Warnings[0].String()}; !slices.Equal(message.Texts(r.Warnings), want) {
		t.Errorf("%q, want %q", r.Warnings, want)
	}
	said = append(said, r.Warnings...)
	for _, lang := range message.Languages[1:] {
		in, err := message.In(lang)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range said {
			if s == nil { // a limit with a slack has no note
				continue
			}
			if got := in.TellHTML(s); strings.Contains(got, `lang="en"`) || in.Tell(s) == s.String() {
				t.Errorf("%s: %q is said as %s", lang, s, got)
			}
		}
	}
	de, _ := message.In("de")
	if got, want := de.Tell(m.q.whyNot(WhatIf{Mass: 300, Fall: 0.9, Length: 0.9})), "Masse 300 kg ist nicht die der Karte"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}
