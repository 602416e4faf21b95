package compare

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/num/joint"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// going are n drops of one kind at two falls, whose normal scores of force and strength have a correlation; strengths Weibull of shape 12 around 15 kN.
func going(n int, rho float64, seed uint64) []Entry {
	rng := rand.New(rand.NewPCG(seed, 1))
	var out []Entry
	for i := range n {
		fall := 1 + float64(i%2)
		a := rng.NormFloat64()
		z := rho*a + math.Sqrt(1-rho*rho)*rng.NormFloat64()
		f, s := 12000*math.Sqrt(fall)*math.Exp(0.08*a), 15000*math.Pow(-math.Log(math.Erfc(z/math.Sqrt2)/2), 1./12)
		e := entry(fmt.Sprint("d", i), "sewn", drop.Held, math.Min(f, s))
		if s < f {
			e.Outcome = drop.Broke
		}
		e.Drop.Fall, e.Drop.Specimen.ID = quantity.Length(fall), fmt.Sprint("s", i)
		out = append(out, e)
	}
	return out
}

func dependencesOf(t *testing.T, in []Entry, f censor.Family) []Dependence {
	t.Helper()
	kinds, err := SpecimenKinds(in, StrengthOptions{Family: f, Confidence: 0.95})
	if err != nil {
		t.Fatal(err)
	}
	return Dependences(in, kinds)
}

// What is printed at correlation 0 is the strength as fitted; at 0.5 and 0.8 the low quantile lies lower, by the joint fit, and the interval's ends are as many standard
// errors away.
func TestStrengthAtCorrelations(t *testing.T) {
	in := going(60, 0.5, 2)
	all := dependencesOf(t, in, censor.Weibull)
	if len(all) != 1 {
		t.Fatalf("%+v", all)
	}
	d := all[0]
	if len(d.At) != 3 || d.At[0].Correlation != 0 || d.At[1].Correlation != 0.5 || d.At[2].Correlation != 0.8 || d.Held+d.Broke != 60 {
		t.Fatalf("%+v", d)
	}
	q0, q5, q8 := d.At[0].low(), d.At[1].low(), d.At[2].low()
	if q0.P != 0.05 || !(q8.Value < q5.Value && q5.Value < q0.Value) {
		t.Errorf("%g, %g, %g", q0.Value, q5.Value, q8.Value)
	}
	drops := jointDrops(in)[""]
	none, err := joint.At(drops, true, 0, nil)
	if err != nil {
		t.Fatal(err)
	}
	five, err := joint.At(drops, true, 0.5, nil)
	if err != nil {
		t.Fatal(err)
	}
	log, se := five.Quantile(0.05)
	log0, se0 := none.Quantile(0.05)
	if math.Abs(q0.Value/math.Exp(log0)-1) > 1e-5 || math.Abs(q5.Value/math.Exp(log)-1) > 1e-9 {
		t.Errorf("%g and %g, %g and %g", q0.Value, math.Exp(log0), q5.Value, math.Exp(log))
	}
	for _, e := range []struct{ at0, at5 *float64 }{{q0.Lo, q5.Lo}, {q0.Hi, q5.Hi}} {
		if want := math.Log(*e.at0/q0.Value) / se0; math.Abs(math.Log(*e.at5/q5.Value)/se-want) > 1e-9 {
			t.Errorf("an end %g standard errors away, want %g", math.Log(*e.at5/q5.Value)/se, want)
		}
	}
	for _, want := range []string{"as independent", "With a correlation of 0.5 it is " + quantity.Force(q5.Value).Text(3), "With a correlation of 0.8 it is"} {
		if !strings.Contains(d.Statement.String(), want) {
			t.Errorf("%s: no %q", d.Statement, want)
		}
	}
	if got := dependencesOf(t, in, censor.Lognormal); len(got) != 1 {
		t.Errorf("lognormal: %+v", got)
	}
	if got := dependencesOf(t, in, censor.Normal); len(got) != 0 {
		t.Errorf("a normal strength has no logarithm: %+v", got)
	}
}

// A few drops do not tell the correlation; many do where nothing goes together, and the interval holds 0.
func TestCorrelationIsToldWhereItCan(t *testing.T) {
	few := dependencesOf(t, going(14, 0, 3), censor.Weibull)
	if len(few) != 1 || few[0].Correlation != nil || !strings.Contains(few[0].Statement.String(), "cannot tell the correlation") {
		t.Errorf("%+v", few)
	}
	many := dependencesOf(t, going(400, 0, 4), censor.Weibull)
	if len(many) != 1 || many[0].Correlation == nil || !(*many[0].Lo < 0 && 0 < *many[0].Hi && *many[0].Lo < *many[0].Correlation && *many[0].Correlation < *many[0].Hi) {
		t.Fatalf("%+v", many)
	}
	if !strings.Contains(many[0].Statement.String(), "By these drops the correlation is") {
		t.Error(many[0].Statement)
	}
	// All held, or all broke: nothing is bounded by the other.
	held := going(10, 0, 5)
	for i := range held {
		held[i].Outcome = drop.Broke
	}
	if got := dependencesOf(t, held, censor.Weibull); len(got) != 0 {
		t.Errorf("%+v", got)
	}
}

// What each drop shows of the two: cut-off and slipped ones bound both, a rebuilt top is taken in its middle, and each fall is a group.
func TestJointDrops(t *testing.T) {
	in := going(8, 0, 6)
	in[0].Outcome, in[0].CutOff = drop.Held, true
	in[1].Outcome = drop.Slipped
	in[2].Outcome, in[2].CutOff, in[2].Rebuilt = drop.Held, true, &[2]quantity.Force{13000, 14000}
	in[3].Outcome = drop.Broke
	in[4].Outcome = drop.Void
	in[5].Drop.Role = drop.Check
	in[6].Outcome = drop.Held
	in[7].Drop.Specimen.ID, in[7].Outcome = in[6].Drop.Specimen.ID, drop.Held // the second drop of a specimen
	got := jointDrops(in)[""]
	want := []joint.Drop{{X: in[0].Peak.SI(), Group: 0, Shown: joint.Neither}, {X: in[1].Peak.SI(), Group: 1, Shown: joint.Neither}, {X: 13500, Group: 0, Shown: joint.Load}, {X: in[3].Peak.SI(), Group: 1, Shown: joint.Strength}, {X: in[6].Peak.SI(), Group: 0, Shown: joint.Load}}
	if fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("%v\nwant %v", got, want)
	}
}

// The parabola through (0, 0), (1, 3) and (3, 3) is x (4 - x), with its top at 2.
func TestVertex(t *testing.T) {
	if got := vertex([]float64{0, 1, 3}, []float64{0, 3, 3}); math.Abs(got-2) > 1e-12 {
		t.Error(got)
	}
	if got := vertex([]float64{0, 1, 3}, []float64{0, 1, 3}); got != 1 {
		t.Error(got)
	}
}
