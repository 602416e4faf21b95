package compare

import (
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
)

func entriesOf(data ...cellData) []Entry {
	var in []Entry
	for _, d := range data {
		for _, o := range []struct {
			outcome drop.Outcome
			peaks   []float64
		}{{drop.Held, d.held}, {drop.Broke, d.broke}} {
			for _, p := range o.peaks {
				e := entry("d"+string(rune('a'+len(in))), d.knot, o.outcome, p)
				e.Drop.Fall = d.fall
				in = append(in, e)
			}
		}
	}
	return in
}

// Weibull strengths of shape 20 have logarithms with the standard deviation pi/(20 sqrt 6) = 6.41 %, not 1/20; the regression tells that of the values (two kinds of
// 200 strengths at the quantiles (i - 1/2)/200, one 1.5 times the other).
func TestScatterLeftIsThatOfTheLogarithms(t *testing.T) {
	var a, b []float64
	sum, squares := 0.0, 0.0
	for i := range 200 {
		log := math.Log(-math.Log1p(-(float64(i)+0.5)/200)) / 20
		a, b = append(a, 10000*math.Exp(log)), append(b, 15000*math.Exp(log))
		sum, squares = sum+log/200, squares+log*log/200
	}
	e, err := StrengthEffects(entriesOf(cellData{"overhand", 0.9, nil, a}, cellData{"sewn", 0.9, nil, b}), censor.Weibull, Against{}, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	sd := math.Sqrt(squares - sum*sum)
	if got := e.Scatter.SI(); math.Abs(got/sd-1) > 0.02 || math.Abs(got/(math.Pi/20/math.Sqrt(6))-1) > 0.02 {
		t.Errorf("%.4f, want %.4f", got, sd)
	}
}

// Without bounds the lognormal regression on one factor of two levels is the difference of mean logarithms, here 0.3 with s = 0.1 in both groups of three: t =
// 0.3/(0.1 sqrt(2/3)) = 3.674, whose p is 0.0213 with the 4 degrees of one common scatter and 0.0668 with the 2 that each group alone has (incomplete
// beta function); scatters that are drawn together lie between. The interval is symmetrical and leaves out 1.
func TestPeakEffectsByHand(t *testing.T) {
	e := math.Exp
	got, err := PeakEffects(entriesOf(cellData{"overhand", 0.9, []float64{e(9), e(9.1), e(9.2)}, nil}, cellData{"sewn", 0.9, []float64{e(9.3), e(9.4), e(9.5)}, nil}), Against{}, 0.95)
	if err != nil || len(got.Effects) != 1 {
		t.Fatal(got, err)
	}
	x := got.Effects[0]
	for _, c := range [][2]float64{{x.Ratio, e(-0.3)}, {*x.Lo * *x.Hi, e(-0.6)}} {
		if math.Abs(c[0]/c[1]-1) > 1e-5 {
			t.Errorf("got %g, want %g", c[0], c[1])
		}
	}
	if !(x.P > 0.0213 && x.P < 0.0668 && *x.Hi < 1) {
		t.Errorf("p = %g, up to %g", x.P, *x.Hi)
	}
	if x.Base != "sewn" || x.Level != "overhand" || len(got.Warnings) == 0 {
		t.Errorf("%+v", got)
	}
}

// A level of which every drop broke shows no arrest force; it is left out with a sentence, and so for the strength the
// other way round.
func TestEffectsLeaveOutWhatWasNotSeen(t *testing.T) {
	in := entriesOf(
		cellData{"overhand", 0.9, nil, []float64{9000, 9500, 9200}}, cellData{"sewn", 0.9, []float64{15000, 15500, 15200}, nil},
		cellData{"bowline", 0.9, []float64{12000, 12500, 12200}, nil})
	peak, err := PeakEffects(in, Against{}, 0.95)
	if err != nil || len(peak.Effects) != 1 || peak.N != 6 || !strings.Contains(strings.Join(message.Texts(peak.LeftOut), "|"), "knot overhand: 3 drops give lower bounds") {
		t.Errorf("%+v %v", peak, err)
	}
	strength, err := StrengthEffects(in, censor.Weibull, Against{}, 0.95)
	if err != nil || len(strength.Effects) != 0 || len(strength.LeftOut) != 3 {
		t.Errorf("%+v %v", strength, err)
	}
	none, err := PeakEffects(nil, Against{}, 0.95)
	if err != nil || len(none.Effects) != 0 || len(none.LeftOut) == 0 {
		t.Errorf("%+v %v", none, err)
	}
}

// Two by two cells whose logarithms add up: knot -0.2, fall +0.4, and no interaction; then with one of 0.3.
func TestInteractions(t *testing.T) {
	cell := func(base float64) []float64 {
		return []float64{math.Exp(base - 0.01), math.Exp(base), math.Exp(base + 0.01), math.Exp(base + 0.005)}
	}
	for _, c := range []struct {
		extra float64
		found bool
	}{{0, false}, {0.3, true}} {
		got, err := PeakEffects(entriesOf(
			cellData{"overhand", 0.45, cell(9), nil}, cellData{"sewn", 0.45, cell(9.2), nil},
			cellData{"overhand", 0.9, cell(9.4), nil}, cellData{"sewn", 0.9, cell(9.6 + c.extra), nil}), Against{}, 0.95)
		if err != nil || len(got.Interactions) != 1 {
			t.Fatalf("%+v %v", got, err)
		}
		if (got.Interactions[0].PHolm < SignificanceLevel) != c.found {
			t.Errorf("extra %g: %+v", c.extra, got.Interactions[0])
		}
		if c.extra == 0 && math.Abs(got.Effects[0].Ratio/math.Exp(-0.2)-1) > 1e-6 {
			t.Errorf("%+v", got.Effects)
		}
	}
}

// The construction that goes with each length cannot be told apart from it.
func TestCollinearTermsAreNamed(t *testing.T) {
	rows := []map[string]string{{"a": "1", "b": "x"}, {"a": "1", "b": "x"}, {"a": "2", "b": "y"}, {"a": "2", "b": "y"}}
	kept, dropped := independent(rows, Against{}.mainTerms(rows, []string{"a", "b"}))
	if len(kept) != 1 || len(dropped) != 1 || dropped[0].name() != "b y" {
		t.Errorf("%v %v", kept, dropped)
	}
}
