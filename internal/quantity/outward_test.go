package quantity

import "testing"

// A bound is rounded away from what it bounds, and a figure that needs no rounding stays.
func TestBoundsAreRoundedOutward(t *testing.T) {
	for _, c := range []struct {
		v            float64
		digits       int
		below, above string
	}{
		{1.2345, 3, "1.23", "1.24"}, {1.235, 3, "1.23", "1.24"}, {0.98765, 2, "0.98", "0.99"}, {-1.2345, 3, "-1.24", "-1.23"}, {10100.546497970712, 3, "10100", "10200"},
		{0.3, 3, "0.300", "0.300"}, {9.999, 2, "9.9", "10"}, {0, 3, "0", "0"}, {1234, 4, "1234", "1234"},
	} {
		if got := Below(c.v, c.digits); got != c.below {
			t.Errorf("below %v: %s, want %s", c.v, got, c.below)
		}
		if got := Above(c.v, c.digits); got != c.above {
			t.Errorf("above %v: %s, want %s", c.v, got, c.above)
		}
	}
}
