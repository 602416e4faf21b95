package question

import (
	"math/rand/v2"
	"testing"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
)

// A campaign of 40 drops that is asked three questions: what plan does 2,000 times and more.
func BenchmarkAnswerAll(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 1))
	var entries []compare.Entry
	for n := range 40 {
		knot, outcome := "sewn", drop.Held
		if n%2 == 1 {
			knot = "overhand"
		}
		if n%4 > 1 {
			outcome = drop.Broke
		}
		entries = append(entries, made(n+1, knot, outcome, 10+rng.NormFloat64()))
	}
	var asked []Asked
	for _, w := range []drop.Written{
		{ID: "s", Of: "strength", Where: map[string]string{"knot": "sewn"}, AtLeast: "8 kN"},
		{ID: "r", Of: "strength ratio", Where: map[string]string{"knot": "overhand"}, Against: map[string]string{"knot": "sewn"}, AtLeast: "0.5"},
		{ID: "b", Of: "break probability", Where: map[string]string{"knot": "sewn"}, AtMost: "20 %"},
	} {
		q, err := w.Read()
		if err != nil {
			b.Fatal(err)
		}
		asked = append(asked, Asked{Question: q})
	}
	b.ReportAllocs()
	for b.Loop() {
		AnswerAll(asked, entries, nil)
	}
}
