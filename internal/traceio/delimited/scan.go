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
		if err == io.EOF || err == io.ErrUnexpectedEOF {
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
	sep, mark := s.layout.sep, s.layout.mark
	plain := sep != ' '
	n := len(s.cols)
	for i := 0; i < len(b); {
		start := i
		// The usual row: numbers, one separator between, a line end.
		if plain && s.clock.kind != clockTime {
			j := i
			k := 0
			for ; k < n; k++ {
				for j < len(b) && b[j] == ' ' {
					j++
				}
				v, next, ok := number(b, j, mark)
				if !ok {
					break
				}
				j = next
				s.cols[k].put(v)
				if k == n-1 || j >= len(b) || b[j] != sep {
					k++
					break
				}
				j++
			}
			if k == n && j < len(b) && (b[j] == '\n' || b[j] == '\r') {
				i = lineEnd(b, j)
				s.row()
				s.line++
				continue
			}
			for c := range min(k, n) {
				s.cols[c].take()
			}
		}
		j := start
		for j < len(b) && b[j] != '\n' && b[j] != '\r' {
			j++
		}
		s.last.cut = j == len(b) && eof
		s.oddRow(b[start:j])
		s.line++
		i = lineEnd(b, j)
	}
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

// put appends a value; the time column keeps only its latest.
func (c *column) put(v float64) {
	switch c.role {
	case roleValue:
		c.values = append(c.values, v)
	case roleTime, roleIndex:
		if len(c.values) == 0 {
			c.values = append(c.values, v)
		} else {
			c.values[0] = v
		}
	}
}

// take undoes put.
func (c *column) take() {
	if c.role == roleValue {
		c.values = c.values[:len(c.values)-1]
	}
}

// row closes a row whose values have been put.
func (s *scan) row() {
	switch {
	case s.timeAt < 0:
		s.rows++
	default:
		c := &s.cols[s.timeAt]
		s.clock.see(s, c.values[0]*c.scale)
		s.rows++
	}
}
