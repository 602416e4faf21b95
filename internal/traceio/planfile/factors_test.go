package planfile

import (
	"strings"
	"testing"
)

func TestReferenceOfAFactor(t *testing.T) {
	p, _, err := Read("plan.yaml", strings.NewReader(whole+"reference: {knot: overhand, fall_factor: 2}\n"), none)
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]string{}
	for _, f := range p.Factors {
		got[f.Name] = f.Reference
	}
	if got["knot"] != "overhand" || got["fall factor"] != "2" || got["material"] != "" {
		t.Errorf("%v", got)
	}
	for text, want := range map[string]string{
		"reference: {colour: red}\n": "plan.yaml:30:13: there is no factor colour",
		"reference: {knot: reef}\n":  `there is no level "reef" of knot; there are sewn, overhand`,
	} {
		if _, _, err := Read("plan.yaml", strings.NewReader(whole+text), none); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %s", err, want)
		}
	}
}
