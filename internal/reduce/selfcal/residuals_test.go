package selfcal

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/hardcatch/hardcatch/internal/num/dsp"
)

// Without noise the course is what rings, turned over or not, from its first sample on; what rings beyond the end is left out. A sample that rings by no number
// leaves what was there.
func TestDrawnRingsFromItsFirstSample(t *testing.T) {
	q, err := dsp.ChannelClass(60, 10000, dsp.SAE)
	if err != nil {
		t.Fatal(err)
	}
	r := residuals{ring: []float64{3, math.NaN(), 5, 7, 9}, first: 96, q: q, split: true}
	x := r.drawn(100, rand.New(rand.NewPCG(1, 2))) // 96, 97, 98 and 99 are inside, 100 is not
	sign := math.Copysign(1, x[96])
	for i, want := range map[int]float64{95: 0, 96: 3, 97: 0, 98: 5, 99: 7} {
		if math.Abs(x[i]-sign*want) > 1e-12 {
			t.Errorf("sample %d is %g, not %g", i, x[i], sign*want)
		}
	}
	if len(x) != 100 {
		t.Errorf("%d samples", len(x))
	}
}
