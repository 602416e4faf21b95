package arrest

import "testing"

// BenchmarkFull is a drop on every element that a sling test has: massive node, friction, set, one
// branch, knot; 1.5 s with rebound.
func BenchmarkFull(b *testing.B) {
	var e Engine
	c := full()
	c.Chain = c.Chain[:3]
	c.Chain[1].Textile.Strength = 0
	var s Summary
	if err := e.Drop(c, &s); err != nil {
		b.Fatal(err)
	}
	steps := s.Steps
	b.ReportAllocs()
	n := 0
	for b.Loop() {
		if err := e.Drop(c, &s); err != nil {
			b.Fatal(err)
		}
		n++
	}
	b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "drops/s")
	b.ReportMetric(float64(steps), "steps")
}
