package quantity

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Factors: exact by definition, NIST SP 811 appendix B.8 (recalled): 1 kgf = 9.80665 N, 1 lbf =
// 4.4482216152605 N, 1 lb = 0.45359237 kg, 1 ft = 0.3048 m.
func TestParseUnits(t *testing.T) {
	for _, c := range []struct {
		text string
		si   float64
		dim  Dim
	}{
		{"80 kg", 80, DimMass}, {"500 g", 0.5, DimMass}, {"1.2 m", 1.2, DimLength}, {"22 kN", 22000, DimForce},
		{"1 kHz", 1000, DimFrequency}, {"5 mm", 0.005, DimLength}, {"2 MN/m", 2e6, DimStiffness},
		{"80 ms", 0.08, DimDuration}, {"100 kgf", 980.665, DimForce}, {"1 lbf", 4.4482216152605, DimForce},
		{"1800 lbf", 8006.7989074689, DimForce}, {"1 lb", 0.45359237, DimMass}, {"3 ft", 0.9144, DimLength},
		{"25 N s/m", 25, DimDamping}, {"9.80665 m/s2", 9.80665, DimAcceleration}, {"9.80665 m/s^2", 9.80665, DimAcceleration},
		{"2 mV/V", 0.002, DimRatio}, {"5 %", 0.05, DimRatio}, {"1,2 m", 1.2, DimLength}, {"12us", 12e-6, DimDuration},
		{"12 µs", 12e-6, DimDuration}, {"45 deg", math.Pi / 4, DimAngle}, {"1e3 N", 1000, DimForce}, {"-3.5kN", -3500, DimForce},
		{"20 kN/mm", 2e7, DimStiffness}, {"0,450 m", 0.45, DimLength}, {"1,35 m", 1.35, DimLength}, {"3 kJ", 3000, DimEnergy},
	} {
		si, u, bare, err := ParseAny(c.text)
		if err != nil || bare || u.Dim != c.dim || math.Abs(si-c.si) > 1e-15*math.Abs(c.si) {
			t.Errorf("%q: %v %v bare=%v err=%v, want %v %v", c.text, si, u.Dim, bare, err, c.si, c.dim)
		}
	}
}

func TestWrongDimensionNamesBoth(t *testing.T) {
	_, err := Parse[force]("5 mm")
	if err == nil || !strings.Contains(err.Error(), "a length") || !strings.Contains(err.Error(), "a force") {
		t.Fatalf("want both dimensions named, got %v", err)
	}
	for _, bad := range []string{"", "kN", "five kN", "5 furlong", "1e999 N", "5 kN/", "NaN N", "1 m^7", "1,800 lbf", "22,000 N",
		"1e400", "1e400 kN", "-1e400 N", "inf", "Inf N", "infinity kN", "+Inf", "1e308 kN", "1e31", "1e28 kN", "9" + strings.Repeat("0", 31), "1 N" + strings.Repeat(" m3", 43), strings.Repeat("1", 300)} {
		if v, err := Parse[force](bad); err == nil {
			t.Errorf("%q was read as %v", bad, v)
		}
	}
}

func TestPrint(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{Force(22000).String(), "22.00 kN"}, {Force(999.96).String(), "1.000 kN"}, {Force(16697.885).String(), "16.70 kN"},
		{Mass(80).String(), "80.00 kg"}, {Length(0.0123).String(), "12.30 mm"}, {Length(1200).String(), "1200 m"},
		{Duration(0.02797396).String(), "27.97 ms"}, {Stiffness(2e6).String(), "2.000 MN/m"}, {Frequency(1650).String(), "1.650 kHz"},
		{Force(0).String(), "0 N"}, {Force(-1569.064).String(), "-1.569 kN"}, {Ratio(0.5).String(), "0.5000"}, {Force(0.38).Text(2), "0.38 N"}, {Force(2e-31).String(), "0 N"}, {Energy(-5e-76).String(), "0 J"}, {Force(math.NaN()).String(), "NaN N"},
		{WithU(Force(12345), Force(123)), "12.35 ± 0.12 kN"}, {WithU(Length(0.9), Length(0.005)), "900.0 ± 5.0 mm"}, {WithU(Mass(100), Mass(0.05)), "100.000 ± 0.050 kg"},
		{WithU(Force(980), Force(25)), "980 ± 25 N"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

func TestPrintParsesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(-1e8, 1e8).Filter(func(v float64) bool { return v == 0 || math.Abs(v) > 1e-3 }).Draw(t, "v")
		got, err := Parse[force](Force(v).Text(17))
		if err != nil || math.Abs(float64(got)-v) > 1e-14*math.Abs(v)+1e-300 {
			t.Fatalf("%v -> %q -> %v, %v", v, Force(v).Text(17), got, err)
		}
	})
}

func TestJSONKeepsTheBits(t *testing.T) {
	type s struct{ F Force }
	for _, v := range []float64{0.1, 1.0 / 3, 16697.885, 5e-324} {
		b, err := json.Marshal(s{Force(v)})
		if err != nil {
			t.Fatal(err)
		}
		var back s
		if err := json.Unmarshal(b, &back); err != nil || float64(back.F) != v {
			t.Errorf("%v came back as %v (%v)", v, back.F, err)
		}
	}
	var back s2
	if err := json.Unmarshal([]byte(`{"F":"22 kN"}`), &back); err != nil || back.F != 22000 {
		t.Errorf("text in JSON: %v %v", back.F, err)
	}
}

type s2 struct{ F Force }

// Whatever the text, there is an error or a quantity that is a number and prints as one that is read again.
func FuzzParse(f *testing.F) {
	for _, s := range []string{"22 kN", "1,2 m", "-3.5e3kN", "9.80665 m/s^2", "45 deg", "2 mV/V", "1e400 kg", "inf", "1 kN/", "5 %", "+.5 µs", "1 m3/m3/s²", "1\u00a0kN", "1 1/s"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		si, u, bare, err := ParseAny(text)
		if err != nil {
			return
		}
		if !(math.Abs(si) <= Largest) || !(u.Factor > 0) || math.IsInf(u.Factor, 0) || bare && u.Name != "" {
			t.Fatalf("%q is %v in %+v", text, si, u)
		}
		if u.Dim != DimForce {
			return
		}
		if again, err := Parse[force](Force(si).Text(17)); err != nil || math.Abs(again.SI()-si) > 1e-14*math.Abs(si)+1e-4 {
			t.Fatalf("%q is %v, printed %q and read as %v: %v", text, si, Force(si).Text(17), again, err)
		}
	})
}
