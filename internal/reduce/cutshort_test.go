package reduce

import (
	"strings"
	"testing"
)

// The linear spring of TestWexlerRecord, 16.70 kN after 28 ms: a record that ends on the way up, and a converter that runs over at 15 kN, show no peak; one that
// ends when the force has fallen by a tenth does.
func TestRecordsThatAreCutShort(t *testing.T) {
	for _, c := range []struct {
		what string
		end  float64 // s after taut
		over float64 // N, 0 = never
		how  Bound
		says string
	}{
		{"ends on the way up", 0.02, 0, AtLeast, endsRising},
		{"ends at the top", 0.029, 0, AtLeast, endsRising},
		{"ends on the way down", 0.04, 0, Value, ""},
		{"runs over", 1.3, 15000, AtLeast, overflowed},
	} {
		tr := traceOf(5000, 0.3, 0.3+c.end, func(at float64) float64 {
			f := wexler.force(at)
			if c.over > 0 && f > c.over {
				return f - 2*c.over
			}
			return f
		})
		r, err := Reduce(tr, wexlerSettings())
		if err != nil {
			t.Errorf("%s: %v", c.what, err)
			continue
		}
		if r.PeakBound != c.how || !strings.Contains(r.PeakReason, c.says) || r.LowerBound != (c.how == AtLeast) || r.Peak.SI() > 1.01*wexler.peak() {
			t.Errorf("%s: %v is known as %q: %q", c.what, r.Peak, r.PeakBound, r.PeakReason)
		}
		for _, m := range r.Measures {
			if m.Name == "impulse" && (m.Bound == Value) != (c.how == Value) {
				t.Errorf("%s: the impulse is known as %q", c.what, m.Bound)
			}
		}
	}
}
