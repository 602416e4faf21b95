package drop_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
)

func winters() drop.Written {
	return drop.Written{ID: "winters", Of: "strength", AtLeast: "15 kN", Where: map[string]string{"Age": "four winters"}}
}

func TestQuestionAsWritten(t *testing.T) {
	q, err := winters().Read()
	if err != nil {
		t.Fatal(err)
	}
	// What is not written: all but one specimen in twenty, one wrong answer in twenty.
	if q.Of != drop.AskStrength || q.Side != drop.AtLeast || q.Bound != 15000 || q.Quantile != 0.05 || q.WrongYes != 0.05 || q.WrongNo != 0.05 || q.Where["age"] != "four winters" {
		t.Errorf("read %+v", q)
	}
	w := winters()
	w.AtLeast, w.AtMost = "", "6 kN"
	w.Of, w.Confidence, w.WrongNo = "peak_force", "90 %", "20 %"
	if q, err = w.Read(); err != nil {
		t.Fatal(err)
	}
	if q.Of != drop.AskPeak || q.Side != drop.AtMost || q.Quantile != 0.95 || q.WrongYes != 0.1 || q.WrongNo != 0.2 {
		t.Errorf("read %+v", q)
	}
	w = drop.Written{ID: "knot", Of: "strength ratio", AtLeast: "50 %", Where: map[string]string{"knot": "overhand", "material": "polyamide"}, Against: map[string]string{"knot": "sewn"}}
	if q, err = w.Read(); err != nil {
		t.Fatal(err)
	}
	if low := q.Lower(); q.Quantile != 0.5 || q.Bound != 0.5 || low["knot"] != "sewn" || low["material"] != "polyamide" || q.Where["knot"] != "overhand" {
		t.Errorf("read %+v", q)
	}
	w = winters()
	w.AtLeast = "rating"
	if q, err = w.Read(); err != nil || !q.Rating || q.BoundText() != "rating" {
		t.Errorf("read %+v, %v", q, err)
	}
}

func TestQuestionRefused(t *testing.T) {
	for _, c := range []struct {
		field, says string
		change      func(*drop.Written)
	}{
		{"name", "has no name", func(w *drop.Written) { w.ID = " " }},
		{"of", "a question is of strength, peak force", func(w *drop.Written) { w.Of = "beauty" }},
		{"at_least", "no bound is given", func(w *drop.Written) { w.AtLeast = "" }},
		{"at_most", "both given", func(w *drop.Written) { w.AtMost = "20 kN" }},
		{"at_least", "mass", func(w *drop.Written) { w.AtLeast = "15 kg" }},
		{"at_least", "lies above 0", func(w *drop.Written) { w.AtLeast = "-1 kN" }},
		{"at_least", "not believed", func(w *drop.Written) { w.AtLeast = "15000 kN" }},
		{"quantile", "lies between", func(w *drop.Written) { w.Quantile = "100 %" }},
		{"confidence", "does not start with a number", func(w *drop.Written) { w.Confidence = "sure" }},
		{"wrong_yes", "lies between", func(w *drop.Written) { w.Confidence = "40 %" }},
		{"wrong_yes", "keep one of them", func(w *drop.Written) { w.Confidence, w.WrongYes = "95 %", "1 %" }},
		{"wrong_no", "lies between", func(w *drop.Written) { w.WrongNo = "0" }},
		{"where", "a factor and its level", func(w *drop.Written) { w.Where["knot"] = " " }},
		{"where", "stands twice", func(w *drop.Written) { w.Where["age"] = "none" }},
		{"against", "belongs to a ratio", func(w *drop.Written) { w.Against = map[string]string{"age": "new"} }},
		{"against", "sets two kinds", func(w *drop.Written) { w.Of, w.AtLeast = "strength ratio", "0.9" }},
		{"against", "sets two kinds", func(w *drop.Written) {
			w.Of, w.AtLeast, w.Against = "peak ratio", "0.9", map[string]string{"age": "Four Winters"}
		}},
		{"quantile", "has no quantile", func(w *drop.Written) { w.Of, w.AtLeast, w.Quantile = "break probability", "10 %", "5 %" }},
		{"at_least", "between 0 and 100 %", func(w *drop.Written) { w.Of, w.AtLeast = "break probability", "1" }},
		{"at_least", "not believed", func(w *drop.Written) {
			w.Of, w.AtLeast, w.Against = "peak ratio", "2000", map[string]string{"age": "new"}
		}},
	} {
		w := winters()
		c.change(&w)
		_, err := w.Read()
		var f *drop.FieldError
		if !errors.As(err, &f) || f.Field != c.field || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s, %s: %v", c.field, c.says, err)
		}
	}
}

func TestSameLevel(t *testing.T) {
	for _, c := range []struct {
		a, b string
		same bool
	}{
		{"0.6 m", "600 mm", true}, {"1.2345 m", "1.23 m", true}, {"0.6 m", "0.61 m", false}, {"2", "2.0", true}, {"Sewn ", "sewn", true},
		{"sewn", "overhand", false}, {"2", "2 m", false}, {"4 winters", "4.0 winters", false}, {"", "sewn", false}, {"", "", true},
	} {
		if drop.SameLevel(c.a, c.b) != c.same {
			t.Errorf("%q and %q", c.a, c.b)
		}
	}
	levels := map[string]string{"knot": "sewn", "length": "600 mm"}
	if !drop.Fits(levels, nil) || !drop.Fits(levels, map[string]string{"length": "0.6 m"}) || drop.Fits(levels, map[string]string{"length": "0.6 m", "age": "new"}) {
		t.Error("Fits")
	}
}
