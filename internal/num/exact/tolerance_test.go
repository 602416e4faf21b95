package exact

import (
	"fmt"
	"math"
	"testing"
)

// Recalled, as printed to three places in tables of the one-sided factor; e-Handbook 7.2.6.3 (printed).
func TestOneSidedFactor(t *testing.T) {
	for _, c := range []struct {
		n                   int
		content, confidence float64
		k, half             float64
	}{
		{3, .95, .95, 7.656, 5e-4}, {5, .95, .95, 4.203, 5e-4}, {10, .95, .95, 2.911, 5e-4}, {20, .95, .95, 2.396, 5e-4},
		{3, .95, .75, 3.152, 5e-4}, {5, .95, .75, 2.463, 5e-4}, {10, .95, .75, 2.104, 5e-4}, {43, .9, .99, 1.8740, 1e-4},
	} {
		k, err := OneSidedFactor(c.n, c.content, c.confidence)
		if err != nil || math.Abs(k-c.k) > c.half {
			t.Errorf("n %d, %g at %g: %.5f, %v; want %.4f", c.n, c.content, c.confidence, k, err, c.k)
		}
		back, err := ContentShown(c.n, k, c.confidence)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "content shown", back, c.content, 1e-10)
	}
}

// A content of one half asks for the mean alone: k is Student's t over sqrt n; with two values, t of one
// degree, tan(pi (p - 1/2)).
func TestOneSidedFactorByHand(t *testing.T) {
	k, _ := OneSidedFactor(2, 0.5, 0.95)
	near(t, "two values", k, math.Tan(math.Pi*0.45)/math.Sqrt2, 1e-11)
}

func TestToleranceSaysWhy(t *testing.T) {
	_, err := OneSidedFactor(1, 0.95, 0.95)
	says(t, err, "at least 2 values")
	_, err = OneSidedFactor(3, 95, 0.95)
	says(t, err, "content 95")
	_, err = OneSidedFactor(3, 0.95, math.NaN())
	says(t, err, "confidence NaN")
	for _, k := range []float64{-1e8, 1e8} {
		if c, err := ContentShown(2, k, 0.75); err == nil && c != 0 && c != 1 {
			t.Errorf("%g standard deviations show %g", k, c)
		}
	}
	_, err = ContentShown(3, math.NaN(), 0.9)
	says(t, err, "no number")
}

// Mean 20, standard deviation 2 (20 and +-2): 20 - 3.152 x 2 = 13.696 with the factor recalled above.
func TestCharacteristicValueByHand(t *testing.T) {
	c, err := CharacteristicValue([]float64{18, 20, 22}, Normal)
	if err != nil || math.Abs(c.Value-13.696) > 2e-3 || len(c.Warnings) != 1 {
		t.Errorf("%+v, %v", c, err)
	}
	l, err := CharacteristicValue([]float64{math.Exp(18), math.Exp(20), math.Exp(22)}, LogNormal)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "lognormal", math.Log(l.Value), c.Value, 1e-12)
	low, err := CharacteristicValue([]float64{1, 20, 22, 3, 7}, Normal)
	if err != nil || low.Value > 0 || len(low.Warnings) != 1 {
		t.Errorf("%+v, %v", low, err)
	}
	_, err = CharacteristicValue([]float64{18}, Normal)
	says(t, err, "at least 2")
	_, err = CharacteristicValue([]float64{18, 18, 18}, Normal)
	says(t, err, "all 3 values are equal")
	_, err = CharacteristicValue([]float64{18, math.NaN()}, LogNormal)
	says(t, err, "value 2 is NaN")
	_, err = CharacteristicValue([]float64{18, -1}, LogNormal)
	says(t, err, "above 0")
	_, err = CharacteristicValue([]float64{18, 1}, Family(7))
	says(t, err, "not known")
}

// 20 - 3 x 2 = 14, and three values show less than 95 % above it, since 3 < 3.152.
func TestMeanLessThreeSD(t *testing.T) {
	m, err := MeanLessThreeSD([]float64{18, 20, 22})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "value", m.Value, 14, 1e-14)
	k, _ := OneSidedFactor(3, m.Content, 0.75)
	near(t, "its content asks for 3", k, 3, 1e-10)
	if m.Content > 0.95 || m.Content < 0.93 || len(m.Warnings) != 1 {
		t.Errorf("%+v", m)
	}
	_, err = MeanLessThreeSD([]float64{18})
	says(t, err, "at least 2")
}

func TestPowerAgainstR(t *testing.T) {
	for _, c := range reference(t, "power2") {
		n := int(c.args[0])
		got, err := TTest{NA: n, NB: n, Level: 0.05, Sides: int(c.args[2])}.Power(c.args[1])
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprint("two groups ", c.args), got, c.want[0], 1e-9)
	}
	for _, c := range reference(t, "power1") {
		got, err := TTest{NA: int(c.args[0]), Level: 0.05, Sides: 2}.Power(c.args[1])
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprint("one group ", c.args), got, c.want[0], 1e-9)
	}
	for _, c := range reference(t, "size2") {
		n, p, err := SampleSize(2, c.args[0], c.args[1], 0.05, 2)
		if err != nil || n != int(c.want[0]) || p < c.args[1] {
			t.Errorf("effect %g: %d a group with power %g, %v; R says %g", c.args[0], n, p, err, c.want[0])
		}
	}
}

// No effect is found as often as the level says; what is detectable has the power asked.
func TestPowerByHand(t *testing.T) {
	for _, plan := range []TTest{{3, 3, 0.05, 2}, {2, 0, 0.1, 1}, {1, 4, 0.01, 2}} {
		p, err := plan.Power(0)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "no effect", p, plan.Level, 1e-11)
		d, err := plan.Detectable(0.8)
		if err != nil {
			t.Fatal(err)
		}
		p, _ = plan.Power(d)
		near(t, "detectable", p, 0.8, 1e-11)
	}
}

func TestPowerSaysWhy(t *testing.T) {
	_, err := TTest{NA: 1, NB: 1, Level: 0.05, Sides: 2}.Power(1)
	says(t, err, "nothing to estimate the spread")
	_, err = TTest{NA: 3, NB: 3, Level: 5, Sides: 2}.Power(1)
	says(t, err, "level 5")
	_, err = TTest{NA: 3, NB: 3, Level: 0.05}.Power(1)
	says(t, err, "1 or 2 sides")
	_, err = TTest{NA: 3, NB: 3, Level: 0.05, Sides: 2}.Power(math.NaN())
	says(t, err, "no number")
	_, err = TTest{NA: 3, NB: 3, Level: 0.05, Sides: 2}.Detectable(1)
	says(t, err, "power 1")
	_, _, err = SampleSize(2, 1e-6, 0.8, 0.05, 2)
	says(t, err, "larger effect")
	_, _, err = SampleSize(2, math.NaN(), 0.8, 0.05, 2)
	says(t, err, "no number")
	_, _, err = SampleSize(3, 1, 0.8, 0.05, 2)
	says(t, err, "1 or 2 groups")
	_, _, err = SampleSize(2, 1, 80, 0.05, 2)
	says(t, err, "power 80")
}

func BenchmarkTolerance(b *testing.B) {
	for b.Loop() {
		_, _ = OneSidedFactor(5, 0.95, 0.75)
	}
}
