package reduce

import (
	"bytes"
	"encoding/json"
	"math"
	"testing"

	"pgregory.net/rapid"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Whatever a record holds, a reduction is an error or can be written down: no panic, and no value that is not a
// number.
func TestAnyRecordCanBeWrittenDown(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 400).Draw(t, "n")
		v := make([]float64, n)
		kind := rapid.IntRange(0, 4).Draw(t, "kind")
		at := rapid.IntRange(0, max(n-1, 0)).Draw(t, "at")
		size := rapid.Float64Range(-3e4, 3e4).Draw(t, "size")
		for i := range v {
			switch {
			case kind == 0:
				v[i] = rapid.Float64Range(-3e4, 3e4).Draw(t, "v")
			case kind == 1 && i >= at:
				v[i] = size
			case kind == 2 && i >= at && i < at+30:
				v[i] = size * math.Sin(math.Pi*float64(i-at)/30)
			case kind == 3 && i >= at:
				v[i] = size * math.Exp(-float64(i-at)/20)
			case kind == 4 && i == at:
				v[i] = rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), size}).Draw(t, "odd")
			}
		}
		s := Settings{
			Mass:         quantity.Mass(rapid.SampledFrom([]float64{1e-3, 80, 5000}).Draw(t, "mass")),
			Fall:         quantity.Length(rapid.SampledFrom([]float64{0, 1e-6, 0.9, 200}).Draw(t, "fall")),
			Filter:       rapid.SampledFrom([]Filter{{}, DefaultFilter, {Class: 1000, Factor: "iso"}, {Cutoff: 20}}).Draw(t, "filter"),
			RigFrequency: quantity.Frequency(rapid.SampledFrom([]float64{0, 3, 318}).Draw(t, "rig")),
			FallU:        0.004, MassU: 0.05,
		}
		rate := rapid.SampledFrom([]float64{10, 1000, 20000}).Draw(t, "rate")
		if rapid.Bool().Draw(t, "by hand") {
			s.Hand = &EventsByHand{Peak: seconds(rapid.Float64Range(0, float64(len(v))/rate).Draw(t, "peak"))}
		}
		tr := &drop.Trace{Name: "any", Rate: quantity.Frequency(rate), Channels: []drop.Channel{{Name: "f", Unit: "N", Dim: quantity.DimForce, Factor: 1, Values: v}}}
		r, err := Reduce(tr, s)
		if err != nil {
			return
		}
		text, err := json.Marshal(r)
		if err != nil {
			t.Fatal(err)
		}
		if !(r.Peak.SI() == r.Peak.SI()) || r.ArrestDuration < 0 || r.PeakU < 0 {
			t.Fatalf("peak %v ± %v, duration %v", r.Peak, r.PeakU, r.ArrestDuration)
		}
		w, err := ReduceWhole(tr, s)
		if err != nil {
			t.Fatal(err)
		}
		w.Curves(0.01, 0.01)
		if at := ForceChannel(tr.Channels, s); at != 0 {
			t.Fatalf("channel %d would be taken", at)
		}
		again, err := ReduceInPlace(tr, s)
		if err != nil {
			t.Fatal(err)
		}
		if bits, err := json.Marshal(again); err != nil || !bytes.Equal(bits, text) {
			t.Fatalf("worked in the trace's own memory: %s, else %s (%v)", bits, text, err)
		}
	})
}
