package lsq

import (
	"math"
	"testing"
)

// NIST Statistical Reference Datasets, linear regression, "Pontius": calibration of a real load cell,
// certified (printed).
var pontiusY = []float64{
	.11019, .21956, .32949, .43899, .54803, .65694, .76562, .87487, .98292, 1.09146, 1.20001,
	1.30822, 1.41599, 1.52399, 1.63194, 1.73947, 1.84646, 1.95392, 2.06128, 2.16844,
	.11052, .22018, .32939, .43886, .54798, .65739, .76596, .87474, .98300, 1.09150, 1.20004,
	1.30818, 1.41613, 1.52408, 1.63159, 1.73965, 1.84696, 1.95445, 2.06177, 2.16829,
}

func pontiusX() []float64 {
	x := make([]float64, 40)
	for i := range x {
		x[i] = 150000 * float64(i%20+1)
	}
	return x
}

func digits(got, want float64) float64 {
	if got == want {
		return 16
	}
	return -math.Log10(math.Abs(got-want) / math.Abs(want))
}

func TestPontius(t *testing.T) {
	fit, err := FitPolynomial(pontiusX(), pontiusY, 2)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"B0", fit.C[0], 0.673565789473684e-03}, {"B1", fit.C[1], 0.732059160401003e-06}, {"B2", fit.C[2], -0.316081871345029e-14},
		{"sd B0", fit.SD[0], 0.107938612033077e-03}, {"sd B1", fit.SD[1], 0.157817399981659e-09}, {"sd B2", fit.SD[2], 0.486652849992036e-16},
		{"residual sd", fit.ResidualSD, 0.205177424076185e-03},
	} {
		if d := digits(c.got, c.want); d < 9 {
			t.Errorf("%s: %.15g, certified %.15g: %.1f digits", c.what, c.got, c.want, d)
		}
	}
	if lack := TestLackOfFit(fit, pontiusX(), pontiusY, 0.01); lack.Significant {
		t.Errorf("the certified model is called wrong: %+v", lack)
	}
	straight, err := FitPolynomial(pontiusX(), pontiusY, 1)
	if err != nil {
		t.Fatal(err)
	}
	if lack := TestLackOfFit(straight, pontiusX(), pontiusY, 0.01); !lack.Significant || lack.NextDegree > 1e-10 || lack.PureError > 1e-3 {
		t.Errorf("a straight line through a curved calibration is not noticed: %+v", lack)
	}
}

// (0,1) (1,1) (2,4): slope 1.5, intercept 0.5, residuals 0.5 -1 0.5, RSS 1.5, s^2 = 1.5;
// var(slope) = 1.5/2, var(mean) = 1.5/3, and u^2 at x = 1 is 0.5.
func TestStraightLineByHand(t *testing.T) {
	fit, err := FitPolynomial([]float64{0, 1, 2}, []float64{1, 1, 4}, 1)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range [][2]float64{
		{fit.C[0], 0.5}, {fit.C[1], 1.5}, {fit.RSS, 1.5}, {fit.SD[1], math.Sqrt(0.75)}, {fit.U(1), math.Sqrt(0.5)},
		{fit.At(3), 5}, {fit.Slope(9), 1.5},
	} {
		if math.Abs(c[0]-c[1]) > 1e-13 {
			t.Errorf("got %v, want %v", c[0], c[1])
		}
	}
}

func TestRefusals(t *testing.T) {
	for _, c := range []struct {
		x, y   []float64
		degree int
	}{
		{[]float64{1, 2}, []float64{1, 2}, 1},
		{nil, nil, 0},
		{[]float64{1, 1, 1, 1}, []float64{1, 2, 3, 4}, 1},
		{[]float64{1, 2, math.NaN()}, []float64{1, 2, 3}, 1},
	} {
		if fit, err := FitPolynomial(c.x, c.y, c.degree); err == nil {
			t.Errorf("%v was fitted: %+v", c, fit)
		}
	}
}

// Points exactly on a line leave nothing but rounding: no lack of fit may be called.
func TestExactLineHasNoLackOfFit(t *testing.T) {
	x := []float64{0, 1000, 2000, 3000, 4000}
	y := []float64{0.1, 0.3, 0.5, 0.7, 0.9}
	fit, err := FitPolynomial(x, y, 1)
	if err != nil {
		t.Fatal(err)
	}
	if l := TestLackOfFit(fit, x, y, 0.01); l.Significant {
		t.Errorf("%+v", l)
	}
}
