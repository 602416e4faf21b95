package web_test

import (
	"strings"
	"testing"
)

// A look on the page does not make the reductions again and says so; what is saved does.
func TestWhatIsSavedIsRepeated(t *testing.T) {
	t.Parallel()
	s := shared(t)
	_, shown := s.ask(t, "GET", "/report/page?figures=none", "")
	_, saved := s.ask(t, "GET", "/report/page?figures=none&save=yes", "")
	if not, did := "were not made again for this look", "came out to the same bits."; !strings.Contains(shown, not) || strings.Contains(saved, not) || !strings.Contains(saved, did) {
		t.Error("the look and what is saved do not say what was repeated")
	}
}
