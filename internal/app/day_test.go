package app_test

import (
	"slices"
	"testing"

	"hardcatch/internal/app"
)

func TestSlowDisksDoNotHideALoss(t *testing.T) {
	var shown []string
	for _, e := range []string{"behind: 1", "lost: 7 samples", "behind: 2", "behind: 3", "behind: 4"} {
		shown = app.Trouble(shown, e)
	}
	if !slices.Equal(shown, []string{"lost: 7 samples", "behind: 4"}) {
		t.Errorf("%q", shown)
	}
	for _, e := range []string{"a", "b", "c"} {
		shown = app.Trouble(shown, e)
	}
	if !slices.Equal(shown, []string{"a", "b", "c"}) {
		t.Errorf("%q", shown)
	}
}
