package delimited

import (
	"bytes"
	"fmt"
	"math"

	"hardcatch/internal/drop"
)

// oddRow reads a line that is not a plain row: quoted or clock fields, spaces, words, too few or too many
// fields, a comment, a cut last line.
func (s *scan) oddRow(line []byte) {
	if blank(line) || commentMark(line) != 0 && !isNaNWord(bytes.TrimSpace(line)) {
		s.skip()
		return
	}
	f := fields(line, s.layout.sep)
	for i := range f {
		f[i] = unquote(bytes.TrimSpace(f[i]))
	}
	n := len(s.cols)
	if s.last.cut && s.cutShort(f) {
		s.note(drop.Warning, "cut-line", s.place(), fmt.Sprintf("the last line is cut off (%q) and was left out", clip(string(line))), "the logger may have stopped in mid-write; check that the record is complete")
		s.skip()
		return
	}
	if !anyNumber(f, s.layout.mark) {
		s.note(drop.Warning, "text-line", s.place(), fmt.Sprintf("a line of text stands among the samples (%q) and was left out", clip(string(line))), "check that no samples are missing there")
		s.skip()
		return
	}
	if len(f) > n {
		extra := bytes.TrimSpace(bytes.Join(f[n:], nil))
		if len(extra) > 0 {
			s.note(drop.Warning, "extra-fields", s.place(), fmt.Sprintf("the line has %d fields where the others have %d; the rest was left out", len(f), n), "look for a stray separator or decimal comma")
		}
		f = f[:n]
	}
	t, ok := s.timeField(f)
	if !ok {
		s.note(drop.Fault, "no-time", s.place(), fmt.Sprintf("the time is not a number (%q) and the line was left out", clip(string(line))), "correct the line or cut the record there")
		s.skip()
		return
	}
	if len(f) < n {
		s.note(drop.Fault, "short-line", s.place(), fmt.Sprintf("the line has %d fields where the others have %d; the missing values are unknown", len(f), n), "export the record again")
	}
	for i := range s.cols {
		if s.cols[i].role != roleValue {
			continue
		}
		v := math.NaN()
		if i < len(f) {
			v = s.value(&s.cols[i], f[i])
		}
		s.cols[i].values = append(s.cols[i].values, v)
	}
	if s.timeAt >= 0 {
		s.clock.see(s, t)
	}
	s.rows++
}

// cutShort tells that the fields of an unfinished last line look cut: too few, an empty or half number at
// the end, or fewer decimals than every other row has.
func (s *scan) cutShort(f [][]byte) bool {
	if len(f) != len(s.cols) {
		return len(f) < len(s.cols)
	}
	last := f[len(f)-1]
	_, n, ok := number(last, 0, s.layout.mark)
	if !ok || n != len(last) {
		return !isNaNWord(last)
	}
	return s.last.decimals > 0 && decimals(last, s.layout.mark) < s.last.decimals
}

func anyNumber(f [][]byte, mark byte) bool {
	for _, x := range f {
		if _, n, ok := number(x, 0, mark); ok && n == len(x) || isNaNWord(x) {
			return true
		}
	}
	return false
}

func (s *scan) timeField(f [][]byte) (t float64, ok bool) {
	if s.timeAt < 0 {
		return 0, true
	}
	if s.timeAt >= len(f) {
		return 0, false
	}
	c := &s.cols[s.timeAt]
	if c.role == roleClock {
		return clock(f[s.timeAt])
	}
	v, n, good := number(f[s.timeAt], 0, s.layout.mark)
	return v * c.scale, good && n == len(f[s.timeAt]) && !math.IsInf(v, 0)
}

func (s *scan) value(c *column, f []byte) float64 {
	v, n, ok := number(f, 0, s.layout.mark)
	switch {
	case ok && n == len(f):
		return v
	case len(f) == 0:
		s.note(drop.Fault, "empty-value", s.place(), fmt.Sprintf("column %q is empty", c.name), "the value is unknown; a few are bridged, many make the record unusable")
	case isNaNWord(f):
		s.note(drop.Fault, "not-a-number", s.place(), fmt.Sprintf("column %q says %q", c.name, clip(string(f))), "the logger had no value (overload, loose plug?); a few are bridged, many make the record unusable")
	default:
		s.note(drop.Fault, "text-value", s.place(), fmt.Sprintf("column %q holds %q, which is not a number", c.name, clip(string(f))), "correct the line or cut the record there")
	}
	return math.NaN()
}

func (s *scan) place() string { return fmt.Sprintf("%s:%d", s.name, s.line) }

// skip notes that the current line gives no sample.
func (s *scan) skip() {
	if k := len(s.skipped); k > 0 && s.skipped[k-1].sample == s.rows {
		s.skipped[k-1].lines++
		return
	}
	s.skipped = append(s.skipped, skip{s.rows, 1})
}

// lineOf is the line of a sample.
func (s *scan) lineOf(sample int) int {
	line := s.layout.line + sample
	for _, k := range s.skipped {
		if k.sample > sample {
			break
		}
		line += k.lines
	}
	return line
}

// note enters a finding, or counts one of a kind that has been entered.
func (s *scan) note(g drop.Grade, kind, place, fact, wayOut string) *drop.Finding {
	if i, ok := s.at[kind]; ok {
		s.findings[i].Count++
		s.findings[i].To = s.rows + 1
		return &s.findings[i]
	}
	s.at[kind] = len(s.findings)
	s.findings = append(s.findings, drop.Finding{Kind: kind, Grade: g, Place: place, Fact: fact, WayOut: wayOut, From: s.rows, To: s.rows + 1, Count: 1})
	return &s.findings[len(s.findings)-1]
}
