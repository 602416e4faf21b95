package rigfile

import (
	"math"
	"strings"
	"testing"
)

// FuzzRead: whatever the bytes, there is an error that begins with the place, or a rig that is valid.
func FuzzRead(f *testing.F) {
	for _, s := range []string{good, "mass: 80 kg\nlatitude: 50 deg", "mass: 1e400 kg", "mass: .inf", "load_cell: {calibration: {input: mV/V, readings: [{applied: 0 kN, shown: 1e-5}]}}", "mass: &a 1\nmass_u: *a"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		r, err := Read("r.yaml", strings.NewReader(text))
		if err != nil {
			if !strings.HasPrefix(err.Error(), "r.yaml") {
				t.Fatal(err)
			}
			return
		}
		if err := r.Validate(); err != nil {
			t.Fatal(err)
		}
		for _, v := range []float64{r.Mass.SI(), r.MassU.SI(), r.FallU.SI(), r.Stiffness.SI(), r.NodeMass.SI()} {
			if math.IsInf(v, 0) || math.IsNaN(v) {
				t.Fatalf("%+v", r)
			}
		}
	})
}
