package compare

import (
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/num/censor"
)

// Of three knots with six tests of breaks the best that four against four could give, 2/70, is 0.057 after Holm over two tests of that size: what could never be shown says so.
func TestSmallestAfterTheAdjustment(t *testing.T) {
	tests := []*ExactTest{{P: 0.5, SmallestP: 2.0 / 70}, {P: 0.2, SmallestP: 2.0 / 70}}
	if err := adjust("Strengths", tests); err != nil {
		t.Fatal(err)
	}
	for _, x := range tests {
		if math.Abs(x.SmallestHolm-4.0/70) > 1e-12 || x.Verdict() != CouldNotShow {
			t.Errorf("%+v", x)
		}
	}
	// Beside one that is beyond chance the other needs no second adjustment.
	tests = []*ExactTest{{P: 0.001, SmallestP: 0.0001}, {P: 0.2, SmallestP: 2.0 / 70}}
	if err := adjust("Strengths", tests); err != nil {
		t.Fatal(err)
	}
	if x := tests[1]; math.Abs(x.SmallestHolm-2.0/70) > 1e-12 || x.Verdict() != Chance {
		t.Errorf("%+v", x)
	}
}

// Breaks beyond chance beside strengths that are not, and the other way round, get a sentence; agreement none.
func TestReadingOfTestsThatSeemToDisagree(t *testing.T) {
	clear, not := &ExactTest{P: 0.001, PHolm: 0.002, SmallestP: 0.0001}, &ExactTest{P: 0.4, PHolm: 0.5, SmallestP: 0.0001}
	for _, c := range []struct {
		breaks, strength *ExactTest
		want             string
	}{
		{clear, not, "is loaded more and breaks more often without being weaker"}, {not, clear, "tell more than their number"}, {clear, clear, ""}, {not, not, ""}, {clear, nil, ""}, {nil, clear, ""},
	} {
		x := TestedContrast{Break: c.breaks, Strength: c.strength}
		if got := x.Reading().String(); c.want == "" && got != "" || !strings.Contains(got, c.want) {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
	if probability(0) != "1e-9 or less" || probability(2e-9) != "0.0000000020" && probability(2e-9) != "2.0e-09" {
		t.Error(probability(0), probability(2e-9))
	}
}

// One break of twelve leaves the scatter of its kind to what kinds are like: the ratio has one end, and no thousandfold other.
func TestRatioFromOneBreakHasOneEnd(t *testing.T) {
	a := broke(22.1, 22.9, 24.0, 21.5)
	var b []censor.Value
	for range 11 {
		b = append(b, censor.AtLeast(21))
	}
	b = append(b, censor.Exact(20.9))
	r, err := RatioOf(b, a, censor.Weibull, 0.5, 0.95)
	if err != nil || r.Lo == nil || r.Hi != nil || !(*r.Lo > 0.7 && *r.Lo < 1) {
		t.Errorf("%+v %v", r, err)
	}
}
