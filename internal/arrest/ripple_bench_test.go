package arrest

import "testing"

// rippled is a lanyard with a tearing absorber, of the starting values.
func rippled() *Case {
	a, r := StartingAbsorber(), StartingRig()
	t, _ := StartingSet("polyester-webbing")
	t.Length = 0.9
	return &Case{Mass: 100, Fall: 1.8, Until: 1.5, Chain: []Element{{Kind: KindRig, Rig: &r}, {Kind: KindTextile, Textile: &t}, {Kind: KindAbsorber, Absorber: &a}}}
}

// BenchmarkRippled is a drop with a rippled absorber, jump by jump.
func BenchmarkRippled(b *testing.B) {
	c := rippled()
	var e Engine
	var s Summary
	for b.Loop() {
		if err := e.Drop(c, &s); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "drops/s")
	b.ReportMetric(float64(s.Steps), "steps")
}
