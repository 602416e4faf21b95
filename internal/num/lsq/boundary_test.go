package lsq

import (
	"math"
	"strings"
	"testing"
)

func agrees(t *testing.T, what string, got, want float64) {
	t.Helper()
	if !(math.Abs(got-want) <= 1e-11*math.Abs(want)+1e-13) {
		t.Errorf("%s: %.15g, want %.15g", what, got, want)
	}
}

func fitted(t *testing.T, x, y []float64, degree int) *Polynomial {
	t.Helper()
	p, err := FitPolynomial(x, y, degree)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Repeats of different number, not in order. R 4.2.2: lm(y ~ x), lm(y ~ x + I(x^2)), ... and anova() of one against the next and against
// lm(y ~ factor(x)); vcov(); predict(se.fit = TRUE).
var (
	mixedX = []float64{3, 0, 1, 1, 2, 0, 3, 1}
	mixedY = []float64{7, 1, 2.5, 2, 3.75, 0, 6, 3}
)

func TestMixedAgainstR(t *testing.T) {
	line, square, cube := fitted(t, mixedX, mixedY, 1), fitted(t, mixedX, mixedY, 2), fitted(t, mixedX, mixedY, 3)
	agrees(t, "RSS", line.RSS, 1.9699367088607573)
	for i, want := range []float64{0.58653846153845957, 1.63942307692307887, 0.10096153846153791} {
		agrees(t, "coefficient", square.C[i], want)
	}
	for i, want := range []float64{
		0.181675295857988139, -0.22164386094674551, 0.054502588757396463,
		-0.221643860946745513, 0.49839589497041381, -0.148368158284023610,
		0.054502588757396463, -0.14836815828402361, 0.047841161242603548,
	} {
		agrees(t, "covariance", square.Cov[i], want)
	}
	agrees(t, "u at 1.5", square.U(1.5), 0.35228814411357623)
	agrees(t, "u at -2", square.U(-2), 2.57627718656433213)
	agrees(t, "slope of the square", square.Slope(1.5), 1.9423076923076925)
	// The cube passes through the means of the four groups: 0.5, 2.5, 3.75 and 6.5, so that its slope at 0.5 is b + c + 0.75 d.
	agrees(t, "slope of the cube", cube.Slope(0.5), 3.125-1.5+0.75*0.375)

	a := TestLackOfFit(line, mixedX, mixedY, 0.6)
	agrees(t, "next degree", a.NextDegree, 0.66376242776432925)
	agrees(t, "residual SD of the next degree", a.NextResidualSD, 0.61472320225009824)
	agrees(t, "pure error", a.PureError, 0.57979968065031418)
	if !a.Significant {
		t.Error("the scatter of repeats alone is below the level, and does not count")
	}
	b := TestLackOfFit(square, mixedX, mixedY, 0.01)
	agrees(t, "pure error with one degree left", b.PureError, 0.36580030573521627)
	if c := TestLackOfFit(cube, mixedX, mixedY, 0.01); !math.IsNaN(c.PureError) {
		t.Errorf("four parameters on four different x leave nothing to lack: %v", c.PureError)
	}
	// Below the level, not at it.
	if TestLackOfFit(line, mixedX, mixedY, a.PureError).Significant || !TestLackOfFit(line, mixedX, mixedY, math.Nextafter(a.PureError, 1)).Significant {
		t.Error("pure error at the level")
	}
	x, y := []float64{0, 1, 2, 3, 4}, []float64{0, 1.5, 3, 6.5, 9}
	bent := fitted(t, x, y, 1)
	p := TestLackOfFit(bent, x, y, 0.5).NextDegree
	if TestLackOfFit(bent, x, y, p).Significant || !TestLackOfFit(bent, x, y, math.Nextafter(p, 1)).Significant {
		t.Error("next degree at the level")
	}
}

// x 0, 1, 1, 2 and y 0, 1, 2, 2: slope 1, residuals -1/4, -1/4, 3/4, -1/4, RSS 3/4; the pair leaves 1/2 with one degree, so that
// F = (1/4)/(1/2) = 1/2 on (1, 1) degrees, of which the tail is 1 - (2/pi) atan(sqrt F).
func TestOnePair(t *testing.T) {
	x, y := []float64{0, 1, 1, 2}, []float64{0, 1, 2, 2}
	line := fitted(t, x, y, 1)
	agrees(t, "RSS", line.RSS, 0.75)
	agrees(t, "pure error", TestLackOfFit(line, x, y, 0.01).PureError, 1-2/math.Pi*math.Atan(math.Sqrt(0.5)))
	// Without the pair there is no pure error; with a pair that agrees to the last digit it cannot be a yardstick.
	if l := TestLackOfFit(fitted(t, x[1:], []float64{1, 1, 3}, 0), []float64{1, 2, 3}, []float64{1, 1, 3}, 0.01); !math.IsNaN(l.PureError) {
		t.Errorf("no repeats: %v", l.PureError)
	}
	y = []float64{0, 1, 1, 3}
	if l := TestLackOfFit(fitted(t, x, y, 1), x, y, 0.01); !math.IsNaN(l.PureError) {
		t.Errorf("repeats without scatter: %v", l.PureError)
	}
}

func TestRoundingFloor(t *testing.T) {
	agrees(t, "floor", rounding([]float64{3, -4})/1e-28, 25)
	// Nothing but zeros: no residual, no test. A square under a straight line: the next degree leaves nothing.
	x := []float64{0, 1, 2, 3, 4}
	if l := TestLackOfFit(fitted(t, x, make([]float64, 5), 1), x, make([]float64, 5), 0.01); !math.IsNaN(l.NextDegree) || l.Significant {
		t.Errorf("zeros: %+v", l)
	}
	y := []float64{0, 1, 4, 9, 16}
	if l := TestLackOfFit(fitted(t, x, y, 1), x, y, 0.01); l.NextDegree != 0 || !l.Significant {
		t.Errorf("square: %+v", l)
	}
	// Too few points for a degree more.
	if l := TestLackOfFit(fitted(t, x[:3], []float64{0, 1, 0}, 1), x[:3], []float64{0, 1, 0}, 0.01); !math.IsNaN(l.NextDegree) || !math.IsNaN(l.NextResidualSD) {
		t.Errorf("too few: %+v", l)
	}
}

// The mean as a polynomial of degree 0, with its range, and x that are 0 or end at 0.
func TestEdgesOfRange(t *testing.T) {
	p := fitted(t, []float64{0, 0, 0}, []float64{2, -1, 5}, 0)
	agrees(t, "mean", p.C[0], 2)
	agrees(t, "SD of the mean", p.SD[0], math.Sqrt(9./3))
	p = fitted(t, []float64{-1, -2, 0}, []float64{4, 5, 3}, 1)
	agrees(t, "slope", p.C[1], -1)
	agrees(t, "intercept", p.C[0], 3)
	if p.XMin != -2 || p.XMax != 0 || p.YMin != 3 || p.YMax != 5 {
		t.Errorf("range %v to %v, %v to %v", p.XMin, p.XMax, p.YMin, p.YMax)
	}
	p = fitted(t, []float64{1, 3, 2, 2}, []float64{5, 4, 6, 5}, 1)
	if p.XMin != 1 || p.XMax != 3 || p.YMin != 4 || p.YMax != 6 {
		t.Errorf("range %v to %v, %v to %v", p.XMin, p.XMax, p.YMin, p.YMax)
	}
	// Two different x are enough for a straight line.
	p = fitted(t, []float64{1, 1, 2}, []float64{0, 2, 3}, 1)
	agrees(t, "slope through a mean", p.C[1], 2)
}

// Each refusal counts and names the right thing.
func TestRefusalsSayWhere(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	for _, c := range []struct {
		x, y   []float64
		degree int
		want   string
	}{
		{[]float64{1, 2, 3}, []float64{1, 2, 3}, -1, "a polynomial of degree -1 needs"},
		{[]float64{1, 2}, []float64{1, 2}, 1, "a polynomial of degree 1 needs at least 3 points, there are 2"},
		{[]float64{1, 1, 2, 2}, []float64{1, 1, 2, 2}, 2, "a polynomial of degree 2 needs 3 different x, there are 2"},
		{[]float64{1, 2, nan}, []float64{1, 2, 3}, 1, "point 3 (NaN, 3)"},
		{[]float64{1, 2, 3}, []float64{1, nan, 3}, 1, "point 2 (2, NaN)"},
		{[]float64{-inf, 2, 3}, []float64{1, 2, 3}, 1, "point 1 (-Inf, 1)"},
		{[]float64{1, 2, 3}, []float64{1, 2, inf}, 1, "point 3 (3, +Inf)"},
		{[]float64{1, 2, inf}, []float64{1, 2, inf}, 1, "point 3 (+Inf, +Inf)"},
	} {
		if _, err := FitPolynomial(c.x, c.y, c.degree); err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("%v: %v, want %s", c, err, c.want)
		}
	}
}
