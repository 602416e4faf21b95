package csvtrace

import (
	"bytes"
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
)

// mostRemarks is how many lines of preamble or comment are kept as notes of their own.
const mostRemarks = 40

// odd reads a line that fast does not: quoted fields, words, too few or too many fields, a comment, a blank
// line. unfinished tells that it is the last line and has no line end.
func (r *reader) odd(line []byte, unfinished bool) error {
	line = bytes.TrimSuffix(line, []byte{'\r'})
	if isBlank(line) {
		r.skipLine()
		return nil
	}
	if text, is := commentText(line, r.sep); is {
		if r.remarks++; r.remarks <= mostRemarks && len(text) > 0 {
			r.f.once(drop.Note, "comment", r.line, sample([]byte(plainText(text))), "")
		}
		r.skipLine()
		return nil
	}
	r.fields = splitFields(r.fields, line, r.sep)
	f := r.fields
	for len(f) > len(r.cols) && len(f[len(f)-1]) == 0 {
		f = f[:len(f)-1]
	}
	if unfinished && r.cut(f) {
		r.f.once(drop.Warning, "cut-line", r.line, fmt.Sprintf("the last line is cut off (%q) and was left out", sample(line)), "the logger stopped in the middle of writing; check that the record is complete")
		r.skipLine()
		return nil
	}
	if !r.anyNumber(f) {
		if r.timeAt < 0 && r.rows+r.n > 0 && isOverload(line) {
			return r.row(f) // without a time column the line is all that says that there was a sample
		}
		r.f.row(drop.Warning, "text-line", "", r.line, r.rows+r.n, func() string {
			return fmt.Sprintf("a line of text stands among the samples (%q) and was left out", sample(line))
		}, "check that no samples are missing there")
		r.skipLine()
		return nil
	}
	return r.row(f)
}

// row reads fields into the block.
func (r *reader) row(f [][]byte) error {
	row, n := r.rows+r.n, r.n
	short, long := len(f) < r.needed(), len(f) > len(r.cols)
	if long {
		if err := r.tooMany(f, row); err != nil {
			return err
		}
	}
	if short {
		have := len(f)
		r.f.row(drop.Fault, "few-fields", "", r.line, row, func() string {
			return fmt.Sprintf("the line has %s where the others have %d; what is missing is NaN", count(have, "field", "fields"), r.fieldsOfRow())
		}, "look for a lost separator, or export the record again")
	}
	for k := range r.ops {
		x := &r.ops[k]
		var field []byte
		if k < len(f) {
			field = f[k]
		}
		var err error
		switch x.role {
		case roleValue:
			v := math.NaN()
			if !long && k < len(f) {
				v, err = r.value(k, field, row)
			}
			x.block[n] = v
			if err == nil && math.IsNaN(v) {
				r.markField(k, field, row, long)
			}
		case roleTime, roleIndex, roleClock:
			x.block[n], err = r.time(x.role, field, row)
		}
		if err != nil {
			return err
		}
	}
	r.n++
	r.line++
	return nil
}

// needed is how many fields a row must have: up to the last column that is read.
func (r *reader) needed() int {
	for k := len(r.ops) - 1; k >= 0; k-- {
		if r.ops[k].role != roleLeft {
			return k + 1
		}
	}
	return 0
}

func (r *reader) fieldsOfRow() int {
	n := len(r.cols)
	for n > r.needed() && r.cols[n-1].role == roleLeft {
		n--
	}
	return n
}

func (r *reader) tooMany(f [][]byte, row int) error {
	if r.sep == ',' && r.mark == '.' {
		for k := 1; k < len(f); k++ {
			if both := append(append(bytes.Clone(f[k-1]), ','), f[k]...); hasThousands(both, r.old) {
				return thousandsError(r.f.name, r.line, both)
			}
		}
	}
	have := len(f)
	r.f.row(drop.Fault, "many-fields", "", r.line, row, func() string {
		return fmt.Sprintf("the line has %d fields where the others have %d; which is which cannot be told, and its values are NaN", have, r.fieldsOfRow())
	}, "look for a stray separator or a decimal comma")
	return nil
}

func (r *reader) anyNumber(f [][]byte) bool {
	for k := range f {
		switch r.kindOf(f[k]) {
		case kindNumber, kindMissing, kindClock:
			return true
		}
		if hasThousands(f[k], r.old) {
			return true
		}
	}
	return false
}

func (r *reader) value(k int, field []byte, row int) (float64, error) {
	c, x := &r.cols[k], &r.ops[k]
	n := parse(field, r.mark, x.shift)
	if n.ok && !math.IsInf(n.value*x.scale, 0) {
		return n.value * x.scale, nil
	}
	if !n.ok && hasThousands(field, r.old) {
		return 0, thousandsError(r.f.name, r.line, field)
	}
	say := func(kind, what, wayOut string) {
		r.f.row(drop.Fault, kind, c.name, r.line, row, func() string { return fmt.Sprintf("column %q %s", c.name, what) }, wayOut)
	}
	text := sample(field)
	switch {
	case n.ok:
		say("too-large", fmt.Sprintf("holds %s, which is too large for a number; it is NaN here", text), "correct the line, or cut the record there")
	case len(field) == 0:
		say("empty-value", "is empty; the value is NaN", "look whether the logger lost samples there")
	case isMissing(field):
		say("not-a-number", fmt.Sprintf("says %s; the value is NaN", text), "look for an overload or a loose plug at that moment")
	default:
		say("text-value", fmt.Sprintf("holds %q, which is not a number; the value is NaN", text), "correct the line, or cut the record there")
	}
	return math.NaN(), nil
}

func (r *reader) time(role role, field []byte, row int) (float64, error) {
	if role == roleClock {
		if m, ok := clockField(field, r.old); ok {
			r.base.low, r.base.high = min(r.base.low, m.exp), max(r.base.high, m.exp)
			return r.sinceFirstDay(m), nil
		}
	} else if n := parse(field, r.mark, 0); n.ok && !math.IsInf(n.value, 0) {
		if n.value != 0 || !r.sci {
			r.base.low, r.base.high = min(r.base.low, n.exp), max(r.base.high, n.exp)
		}
		return n.value, nil
	} else if !n.ok && hasThousands(field, r.old) {
		return 0, thousandsError(r.f.name, r.line, field)
	}
	text := sample(field)
	r.f.row(drop.Warning, "unreadable-time", "", r.line, row, func() string {
		return fmt.Sprintf("the time %q cannot be read; it was taken from the lines around it", text)
	}, "correct the line, or cut the record there")
	return math.NaN(), nil
}

// cut tells that the fields of a last line without line end were cut short: too few, half a number, or fewer
// decimals than the rows before have.
func (r *reader) cut(f [][]byte) bool {
	if len(f) < r.needed() {
		return true
	}
	k := r.needed() - 1
	if len(f) > len(r.cols) {
		return false
	}
	end := f[len(f)-1]
	switch r.kindOf(end) {
	case kindWords:
		g, _ := grammar(end, r.mark)
		return len(f)-1 == k && (g == 0 && (string(end) == "-" || string(end) == "+" || string(end) == string(r.mark)) || g > 0 && g < len(end) && end[g]|0x20 == 'e')
	case kindEmpty:
		return len(f)-1 == k
	case kindMissing:
		return len(f)-1 == k && string(end) == "-"
	case kindNumber:
		_, exp := grammar(end, r.mark)
		return len(f)-1 == k && !bytes.ContainsAny(end, "eE") && r.decimals >= 0 && -exp < r.decimals
	}
	return false
}
