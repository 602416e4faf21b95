package exact

import "testing"

// The same values as one table at a time; 3 against 3 with 3 events gives 0.1, 1, 1, 0.1 by hand: the densities are 1, 9, 9, 1
// of 20.
func TestFisherOfMargin(t *testing.T) {
	lo, p := FisherOfMargin(3, 3, 3)
	if lo != 0 || len(p) != 4 {
		t.Fatalf("%d %v", lo, p)
	}
	for i, want := range []float64{0.1, 1, 1, 0.1} {
		if d := p[i] - want; d > 1e-12 || d < -1e-12 {
			t.Errorf("%d events: %v, want %v", i, p[i], want)
		}
	}
	for _, c := range [][3]int{{5, 7, 4}, {12, 3, 10}, {1, 1, 0}, {4, 4, 8}, {30, 30, 21}} {
		m, n, k := c[0], c[1], c[2]
		lo, p := FisherOfMargin(m, n, k)
		for i := range p {
			a := lo + i
			f, err := Fisher(a, m-a, k-a, n-k+a, 0.95)
			if err != nil {
				t.Fatal(err)
			}
			if d := f.TwoSided - p[i]; d > 1e-12 || d < -1e-12 {
				t.Errorf("%v with %d: %v, one at a time %v", c, a, p[i], f.TwoSided)
			}
		}
	}
	if _, p := FisherOfMargin(2, 2, 5); p != nil {
		t.Error("5 events in 4 specimens")
	}
}
