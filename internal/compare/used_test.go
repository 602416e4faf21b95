package compare

import (
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
)

func TestUsedSpecimensAreSaid(t *testing.T) {
	a, b, c, d := entry("1", "sewn", drop.Held, 9000), entry("2", "sewn", drop.Held, 9000), entry("3", "sewn", drop.Held, 9000), entry("4", "sewn", drop.Void, 9000)
	if w := UsedSpecimenWarnings([]Entry{a, b, c}); w != nil {
		t.Errorf("new specimens: %v", w)
	}
	b.Drop.Specimen.ID = a.Drop.Specimen.ID
	c.Drop.Prior = 1
	d.Drop.Specimen.ID = "s9"
	w := UsedSpecimenWarnings([]Entry{a, b, c, d})
	if len(w) != 1 || !strings.HasPrefix(w[0].String(), "2 specimens (s1, s3)") {
		t.Errorf("%v", w)
	}
	// A check drop falls on the same element every time, which is its purpose.
	a.Drop.Role, b.Drop.Role = drop.Check, drop.Check
	if w := UsedSpecimenWarnings([]Entry{a, b}); w != nil {
		t.Errorf("check drops: %v", w)
	}
}
