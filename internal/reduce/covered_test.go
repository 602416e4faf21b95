package reduce

import (
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// The measured coverage is said of the rows of docs/reduction-coverage.md that deviate, and of no others.
func TestCovers(t *testing.T) {
	for _, c := range []struct {
		rate, node float64
		says       []string
	}{
		{10000, 0, nil}, {2000, 318, nil}, {10000, 220, nil},
		{1000, 0, []string{"at 1 kHz: the interval of the peak held the truth in 73 to 100 %"}},
		{499, 0, []string{"at 200 Hz: the interval of the peak held the truth in 77 to 98 %"}},
		{10000, 150, []string{"a rig of 150 Hz: the audit doubts 11 % of good records"}},
		{200, 150, []string{"at 200 Hz", "of 150 Hz"}},
	} {
		r := &Reduction{Rate: quantity.Frequency(c.rate), Settings: Settings{RigFrequency: quantity.Frequency(c.node)}}
		got := r.Covers()
		if len(got) != len(c.says) {
			t.Errorf("%g Hz, node %g Hz: %d sentences", c.rate, c.node, len(got))
			continue
		}
		for i, part := range c.says {
			if text := message.English().Tell(got[i]); !strings.Contains(text, part) {
				t.Errorf("%q is missing in %q", part, text)
			}
		}
	}
}
