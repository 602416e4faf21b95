package delimited

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"

	"hardcatch/internal/drop"
	"hardcatch/internal/traceio"
)

// scan is a reading under way.
type scan struct {
	name   string
	layout *layout
	opts   traceio.Options
	cols   []column
	timeAt int // index of the time column, -1 = none

	rows  int
	line  int // number of the line being read
	clock timebase
	last  lastLine

	findings []drop.Finding
	at       map[string]int // index of a finding by kind
	skipped  []skip         // rows left out, for line numbers
}

// skip notes that from sample index on, lines run by more ahead.
type skip struct{ sample, lines int }

type lastLine struct {
	cut      bool // the file ends without a line end
	decimals int  // of the last field in the rows of the head, -1 when they differ
}

func newScan(name string, l *layout, o traceio.Options, head []byte) (*scan, error) {
	s := &scan{name: name, layout: l, opts: o, line: l.line, at: map[string]int{}}
	lines, _ := splitLines(head[l.offset:], false)
	if len(lines) == 0 {
		lines, _ = splitLines(head[l.offset:], true)
	}
	var sample [][]float64
	clocks := make([]bool, l.cols)
	resolution := 0 // decimals of the time column
	s.last.decimals = -2
	var rows [][][]byte
	for _, line := range lines[:min(len(lines), 4000)] {
		f := fields(line, l.sep)
		if len(f) != l.cols || blank(line) || commentMark(line) != 0 {
			continue
		}
		row := make([]float64, l.cols)
		for i := range f {
			f[i] = unquote(bytes.TrimSpace(f[i]))
			v, n, ok := number(f[i], 0, l.mark)
			if !ok || n != len(f[i]) {
				v = math.NaN()
				if t, isClock := clock(f[i]); isClock {
					clocks[i] = true
					v = t
				}
			}
			row[i] = v
		}
		sample, rows = append(sample, row), append(rows, f)
		if d := decimals(f[len(f)-1], l.mark); s.last.decimals == -2 {
			s.last.decimals = d
		} else if s.last.decimals != d {
			s.last.decimals = -1
		}
	}
	if err := s.assign(sample, clocks); err != nil {
		return nil, err
	}
	if s.timeAt >= 0 {
		for _, f := range rows {
			resolution = max(resolution, decimals(f[s.timeAt], l.mark))
		}
	}
	if text := len(head) - l.offset; o.Size > 0 && text > 0 && len(rows) > 0 {
		// Room for what the rest of the file should hold, and a little more.
		used := 0
		for _, line := range lines[:min(len(lines), 4000)] {
			used += len(line) + 1
		}
		expected := int(1.02*float64(o.Size)/(float64(used)/float64(len(rows)))) + 64
		for i := range s.cols {
			if s.cols[i].role == roleValue {
				s.cols[i].values = make([]float64, 0, min(expected, o.Limit()))
			}
		}
	}
	return s, s.clock.start(s, sample, resolution)
}

// decimals is the number of digits after the decimal mark, 0 without one; an exponent shifts it.
func decimals(f []byte, mark byte) int {
	i := bytes.LastIndexAny(f, string([]byte{mark, '.'}))
	if i < 0 {
		return 0
	}
	n := 0
	for _, c := range f[i+1:] {
		if c < '0' || c > '9' {
			break
		}
		n++
	}
	if e := bytes.IndexAny(f, "eE"); e > 0 {
		if v, after := exponent(f, e+1); after > 0 {
			return max(0, n-v)
		}
	}
	return n
}

// readAll reads the rows chunk by chunk; buf[from:n] is what has been read of them.
func (s *scan) readAll(ctx context.Context, r io.Reader, buf []byte, from, n int, eof bool) error {
	for {
		if err := ctx.Err(); err != nil {
			return fmt.Errorf("%s:%d: reading stopped: %w", s.name, s.line, err)
		}
		end := n
		if !eof {
			end = lastLineEnd(buf[:n])
			if end <= from {
				if from == 0 && n == len(buf) {
					return fmt.Errorf("%s:%d: a line is longer than %d characters; this is no table of samples", s.name, s.line, len(buf))
				}
				end = from
			}
		}
		s.rowsOf(buf[from:end], eof)
		if eof {
			return nil
		}
		n = copy(buf, buf[end:n])
		from = 0
		m, err := io.ReadFull(r, buf[n:])
		n += m
		if ended(err) {
			eof = true
		} else if err != nil {
			return fmt.Errorf("%s:%d: %w", s.name, s.line, err)
		}
	}
}

// lastLineEnd is the index after the last line end in b, 0 when there is none. A CR at the very end is left
// for the next chunk, as its LF may follow.
func lastLineEnd(b []byte) int {
	n := len(b)
	if n > 0 && b[n-1] == '\r' {
		n--
	}
	i := bytes.LastIndexByte(b[:n], '\n')
	if i < 0 {
		i = bytes.LastIndexByte(b[:n], '\r')
	}
	return i + 1
}

// rowsOf reads complete lines; with eof the last may lack its end.
func (s *scan) rowsOf(b []byte, eof bool) {
	plain := s.layout.sep != ' ' && s.clock.kind != clockTime
	for i := 0; i < len(b); {
		if plain {
			if i = s.plainRows(b, i); i >= len(b) {
				return
			}
		}
		j := i
		for j < len(b) && b[j] != '\n' && b[j] != '\r' {
			j++
		}
		s.last.cut = j == len(b) && eof
		s.oddRow(b[i:j])
		s.line++
		i = lineEnd(b, j)
	}
}

// plainRows reads rows of the usual kind (numbers, one separator between, a line end) from b[i:] and returns
// the index of the first line that is not one.
func (s *scan) plainRows(b []byte, i int) int {
	sep, mark := s.layout.sep, s.layout.mark
	n := len(s.cols)
	values := make([][]float64, n)
	timeAt, scale := s.timeAt, 1.0
	if timeAt >= 0 {
		scale = s.cols[timeAt].scale
	}
	for k := range s.cols {
		if s.cols[k].role == roleValue {
			values[k] = s.cols[k].values
		}
	}
	var start, k int
	for {
		start, k = i, 0
		t, j := 0.0, i
		for k < n {
			for j < len(b) && b[j] == ' ' {
				j++
			}
			v, next, ok := number(b, j, mark)
			if !ok {
				break
			}
			j = next
			switch {
			case k == timeAt:
				t = v
			case s.cols[k].role == roleValue:
				values[k] = append(values[k], v)
			}
			k++
			if k == n || j >= len(b) || b[j] != sep {
				break
			}
			j++
		}
		if k < n || j >= len(b) || b[j] != '\n' && b[j] != '\r' || math.IsInf(t, 0) {
			break
		}
		i = lineEnd(b, j)
		if timeAt >= 0 {
			s.clock.see(s, t*scale)
		}
		s.rows++
		s.line++
	}
	for c := range s.cols {
		if s.cols[c].role != roleValue {
			continue
		}
		// The broken-off row's values are taken back.
		if c < k {
			values[c] = values[c][:len(values[c])-1]
		}
		s.cols[c].values = values[c]
	}
	return start
}

// lineEnd is the index after the line end at j.
func lineEnd(b []byte, j int) int {
	if j < len(b) && b[j] == '\r' {
		j++
		if j < len(b) && b[j] == '\n' {
			j++
		}
		return j
	}
	return min(j+1, len(b))
}
