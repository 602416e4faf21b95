package rigfile

import (
	"math"
	"strings"
	"testing"
)

const good = `name: shaft tower
mass: 100 kg
mass_u: 50 g
fall_u: 5 mm
latitude: 45 deg
stiffness: 2 MN/m
node_mass: 0.5 kg
load_cell:
  capacity: 50 kN
  calibration:
    certificate: C-1
    input: mV/V
    readings:
      - {applied: 0 kN, shown: 0.001}
      - {applied: 25 kN, shown: 1.001}
      - {applied: 50 kN, shown: 2.001}
`

// Gravity by GRS80 (Moritz 1980, recalled): 0 deg 9.7803267715, 45 deg 9.806199203, 90 deg 9.8321863685. The
// node: sqrt(2e6/0.5)/(2 pi) = 318.31 Hz.
func TestRead(t *testing.T) {
	r, err := Read("rig.yaml", strings.NewReader(good))
	if err != nil {
		t.Fatal(err)
	}
	if r.Mass != 100 || math.Abs(r.MassU.SI()-0.05) > 1e-15 || r.FallU != 0.005 || len(r.LoadCell.Calibration.Readings) != 3 || r.LoadCell.Calibration.Readings[1].Applied != 25000 {
		t.Errorf("%+v", r)
	}
	for deg, want := range map[string]float64{"0 deg": 9.7803267715, "45 deg": 9.806199203, "90 deg": 9.8321863685} {
		r, err := Read("rig.yaml", strings.NewReader("mass: 80 kg\nlatitude: "+deg))
		if err != nil {
			t.Fatal(err)
		}
		if g, _ := r.G(); math.Abs(g.SI()-want) > 1e-9*want {
			t.Errorf("%s: %.10f, want %.10f", deg, g.SI(), want)
		}
	}
	if f := r.NodeFrequency().SI(); math.Abs(f-318.3098862) > 1e-6 {
		t.Errorf("node frequency %v", f)
	}
}

func TestRefusals(t *testing.T) {
	for text, want := range map[string]string{
		"":                         "the file is empty",
		"name: x":                  "mass is missing",
		"mass: 100 kN":             `rig.yaml:1:7: "100 kN" is a force, but a mass is wanted here`,
		"mass: 100 kg\nmas_u: 1 g": `rig.yaml:2:1: key "mas_u" is not known here`,
		"mass: 100 kg\ngravity: 3": "not of this planet",
		"mass: 90000":              "is not believed",
		"mass: 1 kg\ndamping: 2":   "damping must lie from 0 to 1",
	} {
		if _, err := Read("rig.yaml", strings.NewReader(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}
