package view

import (
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

// A break at 9 kN is told of where another record of its channel was cut off within 15 % of it: not at 11 kN, not on another channel, and not
// where the record says itself that it does not show the peak.
func TestABreakNearWhereOthersWereCutOff(t *testing.T) {
	for _, c := range []struct {
		cut     quantity.Force
		channel string
		hidden  bool
		end     string
		warned  bool
	}{
		{9500, "", false, "break", true}, {8000, "", false, "break", true}, {11000, "", false, "break", false}, {7800, "", false, "break", false},
		{9500, "other", false, "break", false}, {9500, "", true, "break", false}, {9500, "", false, "slack", false},
	} {
		one := &reduce.Reduction{Peak: 9000, ArrestEnd: c.end, PeakHidden: c.hidden, Rate: 1e4}
		two := &reduce.Reduction{Peak: c.cut, ArrestEnd: "slack", Clipped: true, PeakHidden: true, Rate: 1e4, Settings: reduce.Settings{Channel: c.channel}}
		now := &look.Moment{Entered: &look.Entered{Drops: []drop.Drop{{ID: "d1"}, {ID: "d2"}}, Reduction: map[string]*reduce.Reduction{"d1": one, "d2": two}}}
		var said []string
		for _, s := range Beside(now, "d1") {
			said = append(said, message.English().Tell(s))
		}
		if got := strings.Contains(strings.Join(said, "\n"), "the record of drop d2 was at the end of its range"); got != c.warned {
			t.Errorf("%+v: %q", c, said)
		}
	}
	if s := Beside(&look.Moment{Entered: &look.Entered{}}, "d1"); s != nil {
		t.Errorf("a drop without a reduction: %v", s)
	}
}
