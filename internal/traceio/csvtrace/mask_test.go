package csvtrace

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/traceio"
)

// Thirty samples at 1 kHz of which some are no numbers, in one way for each case.
func TestEachSampleKnowsWhatItIs(t *testing.T) {
	record := func(field func(i int) string) string {
		var b strings.Builder
		b.WriteString("time [s];force [kN]\n")
		for i := range 30 {
			if f := field(i); f != "gone" {
				fmt.Fprintf(&b, "%.3f;%s\n", float64(i)/1000, f)
			}
		}
		return b.String()
	}
	number := func(i int) string { return fmt.Sprintf("%.2f", 0.1*float64(i%7)) }
	for _, c := range []struct {
		what  string
		field string // from sample 10 to 14
		want  drop.Mask
	}{
		{"numbers", "", nil},
		{"an overload word", "OVER", drop.Mask{{From: 10, To: 15, Is: drop.OutOfRange, Why: "says OVER"}}},
		{"an overload word that no list holds, with its bound", ">11.5", drop.Mask{{From: 10, To: 15, Is: drop.OutOfRange, Why: "says >11.5"}}},
		{"stars for a number too wide", "******", drop.Mask{{From: 10, To: 15, Is: drop.OutOfRange, Why: "says ******"}}},
		{"infinity", "Inf", drop.Mask{{From: 10, To: 15, Is: drop.OutOfRange, Why: "says Inf"}}},
		{"NaN", "NaN", drop.Mask{{From: 10, To: 15, Is: drop.Lost, Why: "says NaN"}}},
		{"empty fields", "", drop.Mask{{From: 10, To: 15, Is: drop.Lost, Why: "is empty"}}},
		{"words", "bad plug", drop.Mask{{From: 10, To: 15, Is: drop.Lost, Why: "holds no number"}}},
		{"the sign of instruments for beyond the range", "9.9E+37", drop.Mask{{From: 10, To: 15, Is: drop.OutOfRange, Why: "holds a number that stands for no number, such as 9.9E+37"}}},
		{"the same, negative", "-9.90000000E+37", drop.Mask{{From: 10, To: 15, Is: drop.OutOfRange, Why: "holds a number that stands for no number, such as 9.9E+37"}}},
		{"missing rows", "gone", drop.Mask{{From: 10, To: 15, Is: drop.Lost, Why: "missing from the time base"}}},
	} {
		t.Run(c.what, func(t *testing.T) {
			text := record(func(i int) string {
				if i >= 10 && i < 15 && c.what != "numbers" {
					return c.field
				}
				return number(i)
			})
			tr, err := Format{}.Read(t.Context(), "x.csv", strings.NewReader(text), traceio.Options{})
			if err != nil {
				t.Fatal(err)
			}
			got := tr.Channels[0].Mask
			if fmt.Sprint(got) != fmt.Sprint(c.want) {
				t.Errorf("%v, want %v", got, c.want)
			}
			for i, v := range tr.Channels[0].Values {
				if is := got.At(i); (is == drop.Lost || is == drop.OutOfRange) != math.IsNaN(v) {
					t.Errorf("sample %d is %v and holds %v", i, is, v)
				}
			}
			if c.want != nil && len(tr.Findings) == 0 {
				t.Error("nothing is said of it")
			}
		})
	}
	// Up to three missing rows are bridged by a straight line, which is no measurement.
	tr, err := Format{}.Read(t.Context(), "x.csv", strings.NewReader(record(func(i int) string {
		if i == 10 || i == 11 {
			return "gone"
		}
		return number(i)
	})), traceio.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got := tr.Channels[0].Mask; len(got) != 1 || got[0].From != 10 || got[0].To != 12 || got[0].Is != drop.Bridged {
		t.Errorf("%v", got)
	}
	// One number a line and no time: the word is all that says that there was a sample.
	var b strings.Builder
	b.WriteString("# rate 1000 Hz\nforce [kN]\n")
	for i := range 30 {
		if i == 12 {
			b.WriteString("OVERLOAD\n")
			continue
		}
		b.WriteString(number(i) + "\n")
	}
	if tr, err = (Format{}).Read(t.Context(), "x.csv", strings.NewReader(b.String()), traceio.Options{Reading: traceio.Reading{Rate: 1000}}); err != nil {
		t.Fatal(err)
	}
	if tr.Len() != 30 || tr.Channels[0].Mask.At(12) != drop.OutOfRange {
		t.Errorf("%d samples, %v", tr.Len(), tr.Channels[0].Mask)
	}
}
