package csvtrace

import (
	"bytes"
	"fmt"
	"math"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
)

// noNumber is what a run of rows holds in a column instead of numbers.
type noNumber struct {
	from, to int // rows
	is       drop.Evidence
	why      string
}

// sentinel is where numbers begin that instruments write for no number: 9.9E+37 stands for beyond the range and 9.91E+37 for
// not a number in SCPI-99, volume 1, chapter 7.2.1 (from memory), and 1e30 and more in other files. In SI, no channel holds as much.
const sentinel = 1e30

// overloadWords are written by loggers when a channel is beyond its range (common practice, no source).
var overloadWords = map[string]bool{
	"inf": true, "+inf": true, "-inf": true, "infinity": true, "+infinity": true, "-infinity": true, "1.#inf": true, "-1.#inf": true, "#div/0!": true, "#num!": true,
	"ol": true, "+ol": true, "-ol": true, "o.l": true, "0l": true, "o/l": true, "ovl": true, "ofl": true, "ovf": true, "ovld": true, "ovrld": true, "ovrflw": true, "ovrng": true, "ovr": true,
	"over": true, "overload": true, "overflow": true, "overrange": true, "over range": true, "out of range": true, "range": true, "sat": true, "saturated": true, "clip": true, "clipped": true,
	"under": true, "underflow": true, "underrange": true, "limit": true,
}

// isOverload tells that a field that is no number says that the channel is beyond its range: a word, a sign with a bound
// (>11.5), or a row of one sign (****, ++++).
func isOverload(f []byte) bool {
	s := strings.ToLower(strings.Trim(string(f), "!* "))
	if overloadWords[s] {
		return true
	}
	if len(f) > 1 && (f[0] == '>' || f[0] == '<') {
		return true
	}
	return len(f) >= 2 && bytes.IndexByte([]byte("*+#>"), f[0]) >= 0 && len(bytes.Trim(f, string(f[:1]))) == 0
}

// note keeps what a row of a column holds instead of a number.
func (r *reader) note(slot, row int, is drop.Evidence, why string) {
	list := r.marks[slot]
	if n := len(list); n > 0 && list[n-1].to == row && list[n-1].is == is {
		list[n-1].to++
		return
	}
	r.marks[slot] = append(list, noNumber{row, row + 1, is, why})
}

// maskOf says which samples of a channel were not measured. It replaces numbers that stand for no number by NaN.
func (r *reader) maskOf(slot int, x []float64, s *settled) drop.Mask {
	var m drop.Mask
	if n := len(r.marks[slot]); n > 0 {
		m = make(drop.Mask, 0, n)
	}
	for _, k := range r.marks[slot] {
		from, to := r.samplesOf(s, k.from, k.to)
		m = m.With(drop.Stretch{From: from, To: min(to, len(x)), Is: k.is, Why: k.why})
	}
	for _, g := range r.bridged {
		m = m.With(drop.Stretch{From: g[0], To: g[1], Is: drop.Bridged, Why: "missing from the time base"})
	}
	run := func(is drop.Evidence, why string, holds func(float64) bool) {
		for i := 0; i < len(x); {
			if !holds(x[i]) {
				i++
				continue
			}
			j := i
			for j < len(x) && holds(x[j]) {
				j++
			}
			m = m.With(drop.Stretch{From: i, To: j, Is: is, Why: why})
			i = j
		}
	}
	bad, huge := false, false
	for _, v := range x {
		if !(math.Abs(v) < sentinel) {
			if math.IsNaN(v) {
				bad = true
			} else {
				huge = true
			}
		}
	}
	if huge {
		isHuge := func(v float64) bool { return math.Abs(v) >= sentinel }
		run(drop.OutOfRange, "holds a number that stands for no number, such as 9.9E+37", isHuge)
		for i, v := range x {
			if isHuge(v) {
				x[i] = math.NaN()
			}
		}
	}
	if bad {
		run(drop.Lost, "missing from the time base", math.IsNaN)
	}
	return m
}

// samplesOf are the samples on which rows from..to-1 bear.
func (r *reader) samplesOf(s *settled, from, to int) (int, int) {
	switch {
	case s.at == nil:
		return from, to
	case s.uneven == nil:
		return s.sampleOf(from), s.sampleOf(to-1) + 1
	}
	// A row that is no number spoils the straight lines to its neighbours.
	before, after := max(from-1, 0), min(to, len(s.at)-1)
	return s.sampleOf(before) + 1, s.sampleOf(after) + 1
}

// saySentinels warns of numbers that stand for no number.
func (r *reader) saySentinels(c *drop.Channel, s *settled) {
	for _, k := range c.Mask {
		if k.Is == drop.OutOfRange && strings.HasPrefix(k.Why, "holds a number") {
			r.f.stretch(drop.Fault, "sentinel", c.Name, k.From, k.To, func() int { return r.lineOf(r.rowOf(s, k.From)) }, func() string {
				return fmt.Sprintf("column %q holds a number that stands for no number, such as 9.9E+37; the value is NaN", c.Name)
			}, "the channel was beyond its range or not connected there; set a larger range for the next drop")
		}
	}
}

// markField notes why a row of a column has no number.
func (r *reader) markField(col int, field []byte, row int, long bool) {
	is, what := drop.Lost, "holds no number"
	switch {
	case long:
		what = "stands in a line with too many fields"
	case len(field) == 0:
		what = "is empty"
	case isOverload(field):
		is, what = drop.OutOfRange, "says "+sample(field)
	case isMissing(field):
		what = "says " + sample(field)
	}
	r.note(r.cols[col].slot, row, is, what)
}
