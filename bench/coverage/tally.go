package main

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"github.com/hardcatch/hardcatch/bench/truth"
)

// judged is one record with what the program says of it.
type judged struct {
	Record   truth.Record       `json:"record"`
	Error    string             `json:"error,omitempty"`
	Readings map[string]reading `json:"readings,omitempty"`
	Outcome  string             `json:"outcome,omitempty"`
	Verdict  string             `json:"audit_verdict,omitempty"`
	Checks   map[string]string  `json:"audit,omitempty"`
	Warnings []string           `json:"warnings,omitempty"`
}

// line is a row, or a row with a fault, over its records.
type line struct {
	name string
	all  []judged
}

func (l line) count(is func(judged) bool) (n int) {
	for _, j := range l.all {
		if is(j) {
			n++
		}
	}
	return n
}

// tally is how one measure stands over the records.
type tally struct {
	values, covered   int // plain values, and those whose +-U holds the truth
	bounds, right     int // lower and upper bounds
	intervals, inside int
	none              int
	far               int     // plain values that are more than 2 U off
	median            float64 // of U relative to the truth, over plain values
	bias              float64 // median of (value - truth)/truth, over plain values
}

func (l line) tally(name string, of func(truth.Truth) float64) tally {
	var t tally
	var us, errors []float64
	for _, j := range l.all {
		r, ok := j.Readings[name]
		if !ok {
			r = reading{Form: nothing}
		}
		fact := of(j.Record.Truth)
		good := 0
		if r.holds(fact) {
			good = 1
		}
		switch r.Form {
		case plain:
			t.values++
			t.covered += good
			if r.off(fact) > 2 {
				t.far++
			}
			us, errors = append(us, r.U/fact), append(errors, (r.Value-fact)/fact)
		case atLeast, atMost:
			t.bounds++
			t.right += good
		case interval:
			t.intervals++
			t.inside += good
		default:
			t.none++
		}
	}
	t.median, t.bias = median(us), median(errors)
	return t
}

func median(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	slices.Sort(x)
	return (x[(len(x)-1)/2] + x[len(x)/2]) / 2
}

func percent(n, of int) string {
	if of == 0 {
		return "-"
	}
	return fmt.Sprintf("%.1f", 100*float64(n)/float64(of))
}

func share(x float64) string {
	if math.IsNaN(x) {
		return "-"
	}
	return fmt.Sprintf("%.2f", 100*x)
}

// table writes a Markdown table.
func table(w io.Writer, head []string, rows [][]string) {
	fmt.Fprintf(w, "| %s |\n|%s\n", strings.Join(head, " | "), strings.Repeat("---|", len(head)))
	for _, r := range rows {
		fmt.Fprintf(w, "| %s |\n", strings.Join(r, " | "))
	}
	fmt.Fprintln(w)
}

// covers writes the table of rows: per measure the share of truths that are inside value +- U or an interval, or obey a bound.
func covers(w io.Writer, lines []line) {
	if len(lines) == 0 {
		return
	}
	head := []string{"row", "n"}
	for _, q := range quantities {
		head = append(head, q.name)
	}
	head = append(head, "specimen's peak", "peak U", "bound", "interval", "refused", "outcome wrong", "doubtful", "disagrees")
	wide := []string{"row"}
	for _, q := range quantities {
		wide = append(wide, q.name+": U", "error")
	}
	var covering, sizes [][]string
	for _, l := range lines {
		n := len(l.all)
		row, size := []string{l.name, fmt.Sprint(n)}, []string{l.name}
		for _, q := range quantities {
			t := l.tally(q.name, q.of)
			row = append(row, percent(t.covered+t.right+t.inside, n-t.none))
			size = append(size, share(t.median), share(t.bias))
		}
		own := l.tally("peak", func(t truth.Truth) float64 { return t.PeakSpecimen })
		peak := l.tally("peak", quantities[0].of)
		covering = append(covering, append(row, percent(own.covered+own.right+own.inside, n-own.none), share(peak.median), percent(peak.bounds, n),
			percent(peak.intervals, n), percent(l.refused(), n), percent(l.count(wrongOutcome), n), percent(l.verdict("doubtful"), n), percent(l.verdict("disagrees"), n)))
		sizes = append(sizes, size)
	}
	fmt.Fprint(w, "Per cent of truths inside value ± U, inside an interval, or obeying a bound, of the records for which there is one. \"specimen's peak\" holds the\n"+
		"same peak against the force of the specimen, which has no ringing of the rig in it. Then per cent of the records.\n\n")
	table(w, head, covering)
	fmt.Fprint(w, "Median U and median error of plain values, per cent of the truth.\n\n")
	table(w, wide, sizes)
}

func (l line) refused() int { return l.count(func(j judged) bool { return j.Error != "" }) }

func (l line) verdict(v string) int { return l.count(func(j judged) bool { return j.Verdict == v }) }

func wrongOutcome(j judged) bool {
	return j.Error == "" && (j.Outcome == "broke") != j.Record.Truth.Broke
}

// misses writes the table of faults: what is printed for the peak, and for the other measures how many plain values miss.
func misses(w io.Writer, lines []line) {
	if len(lines) == 0 {
		return
	}
	head := []string{"fault on row", "n", "plain peak", "misses U", "misses 2 U", "of these not doubted", "bound", "holds", "interval", "covers", "no peak"}
	for _, q := range quantities[1:] {
		head = append(head, q.name+": plain", "misses 2 U")
	}
	head = append(head, "refused", "doubtful", "disagrees")
	var out [][]string
	for _, l := range lines {
		t := l.tally("peak", quantities[0].of)
		unsaid := l.count(func(j judged) bool {
			r := j.Readings["peak"]
			return r.Form == plain && r.off(j.Record.Truth.Peak) > 2 && j.Verdict != "disagrees" && j.Verdict != "doubtful"
		})
		row := []string{l.name}
		for _, n := range []int{len(l.all), t.values, t.values - t.covered, t.far, unsaid, t.bounds, t.right, t.intervals, t.inside, t.none} {
			row = append(row, fmt.Sprint(n))
		}
		for _, q := range quantities[1:] {
			t := l.tally(q.name, q.of)
			row = append(row, fmt.Sprint(t.values), fmt.Sprint(t.far))
		}
		out = append(out, append(row, fmt.Sprint(l.refused()), fmt.Sprint(l.verdict("doubtful")), fmt.Sprint(l.verdict("disagrees"))))
	}
	fmt.Fprint(w, "Counts of records. A plain value misses when the truth is not within ±U; by chance about one in twenty does, and hardly one in ten thousand misses 2 U.\n\n")
	table(w, head, out)
}
