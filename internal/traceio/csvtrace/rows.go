package csvtrace

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math"

	"github.com/hardcatch/hardcatch/internal/num/decimal"
	"github.com/hardcatch/hardcatch/internal/traceio"
)

const (
	// chunk is how much text is read at once. A line must fit.
	chunk = 256 << 10
	// blockRows are parsed before they are looked at together.
	blockRows = 2048
)

// reader turns rows into channels.
type reader struct {
	*plan
	f     *finder
	limit int
	ops   []op
	n     int       // rows in the block
	times []float64 // of the block
	vals  [][]float64
	aside []*aside // of the channels that are only checked; nil for those kept
	base  timeBase
	next  *ahead // nil on one core

	rows   int // in earlier blocks
	line   int // number of the next line
	breaks []lineBreak
	day0   int // day of the first dated clock time
	dated  bool

	fields  [][]byte
	gaps    [][2]float64 // long gaps of uneven times, in samples
	bridged [][2]int     // samples in short gaps, where straight lines stand
	marks   [][]noNumber // of each channel: rows that hold no number
	remarks int          // comments among the rows
}

// op is what is done with a column.
type op struct {
	role  role
	shift int
	scale float64
	block []float64 // values of the block
}

// lineBreak says that row and those after it stand at line and the lines after it.
type lineBreak struct{ row, line int }

func newReader(f *finder, p *plan, o traceio.Options, perRow float64) *reader {
	r := &reader{plan: p, f: f, limit: min(o.Limit(), math.MaxInt32), line: p.first + 1}
	r.base.init(p)
	r.times = make([]float64, blockRows)
	kept := p.wanted(o)
	for _, c := range p.cols {
		x := op{role: c.role, scale: 1}
		switch c.role {
		case roleValue:
			x.shift, x.scale, x.block = c.unit.shift, c.unit.scale, make([]float64, blockRows)
			room := 0
			switch {
			case o.Samples > 0:
				room = min(o.Samples, r.limit)
			case o.Size > 0 && perRow > 1:
				room = min(int(1.01*float64(o.Size)/perRow)+64, r.limit)
			}
			var away *aside
			if kept >= 0 && kept != len(r.vals) {
				away, room = &aside{}, min(room, asideRows)
			}
			r.aside = append(r.aside, away)
			r.marks = append(r.marks, nil)
			r.vals = append(r.vals, make([]float64, 0, room))
		case roleTime, roleIndex, roleClock:
			x.block = r.times
		}
		r.ops = append(r.ops, x)
	}
	if o.Size >= leastAhead {
		r.next = newAhead(r, perRow)
	}
	return r
}

// readAll reads chunk by chunk. text[:have] is what has been read of the rows already.
func (r *reader) readAll(ctx context.Context, src io.Reader, text []byte, have int) error {
	buf := text
	if len(buf) < chunk+pad {
		buf = make([]byte, chunk+pad)
		copy(buf, text[:have])
	}
	ended := false
	for {
		if err := ctx.Err(); err != nil {
			return fmt.Errorf("%s:%d: reading was stopped: %w", r.f.name, r.line, err)
		}
		room := len(buf) - pad
		for have < room && !ended {
			k, err := src.Read(buf[have:room])
			have += k
			if errors.Is(err, io.EOF) {
				ended = true
			} else if err != nil {
				return fmt.Errorf("%s:%d: reading the record: %w", r.f.name, r.line, err)
			}
		}
		end := bytes.LastIndexByte(buf[:have], '\n') + 1
		if end == 0 && !ended {
			return fmt.Errorf("%s:%d: a line is longer than %d characters; this is no table of samples", r.f.name, r.line, room)
		}
		if err := r.both(buf, end); err != nil {
			return err
		}
		if ended {
			if end < have {
				if err := r.odd(buf[end:have], true); err != nil {
					return err
				}
			}
			return r.flush()
		}
		have = copy(buf, buf[end:have])
	}
}

// lines reads the complete lines buf[i:end].
func (r *reader) lines(buf []byte, i, end int) error {
	for i < end {
		from := r.n
		i = r.fast(buf, i, end, blockRows)
		r.line += r.n - from
		if r.n == blockRows {
			if err := r.flush(); err != nil {
				return err
			}
			continue
		}
		if i >= end {
			break
		}
		next := i + bytes.IndexByte(buf[i:end], '\n') + 1
		if err := r.odd(buf[i:next-1], false); err != nil {
			return err
		}
		i = next
		if r.n == blockRows {
			if err := r.flush(); err != nil {
				return err
			}
		}
	}
	return nil
}

// fast reads rows of the usual kind from buf[i:end] into the block, until the block of room rows is full or a line
// is not of that kind, and returns the index of the first line not read.
func (r *reader) fast(buf []byte, i, end, room int) int {
	var (
		ops, sep, mark = r.ops, r.sep, r.mark
		n              = r.n
		last           = len(ops) - 1
		low, high      = r.base.low, r.base.high
	)
rows:
	for i < end && n < room {
		j := i
		for k := range ops {
			x := &ops[k]
			for buf[j] == ' ' {
				j++
			}
			switch x.role {
			case roleValue:
				m, e, negative, after := scan(buf, j, mark)
				if after < 0 {
					break rows
				}
				v, ok := decimal.Exact(m, e+x.shift, negative)
				if !ok {
					if v = decimal.Rounded(buf[j:after], mark, x.shift); math.IsInf(v, 0) {
						break rows
					}
				}
				x.block[n] = v * x.scale
				j = after
			case roleTime, roleIndex:
				m, e, negative, after := scan(buf, j, mark)
				if after < 0 {
					break rows
				}
				v, ok := decimal.Exact(m, e, negative)
				if !ok {
					if v = decimal.Rounded(buf[j:after], mark, 0); math.IsInf(v, 0) {
						break rows
					}
				}
				x.block[n] = v
				if m != 0 || !r.sci {
					low, high = min(low, e), max(high, e)
				}
				j = after
			default:
				after := fieldEnd(buf, j, sep)
				if x.role == roleClock {
					m, ok := clockField(bytes.TrimRight(buf[j:after], " \r"), r.old)
					if !ok {
						break rows
					}
					x.block[n] = r.sinceFirstDay(m)
					low, high = min(low, m.exp), max(high, m.exp)
				}
				if buf[after] == '"' {
					break rows
				}
				j = after
			}
			if k == last {
				break
			}
			if sep == ' ' {
				if buf[j] != ' ' && buf[j] != '\t' {
					break rows
				}
				for buf[j] == ' ' || buf[j] == '\t' {
					j++
				}
				continue
			}
			for buf[j] == ' ' {
				j++
			}
			if buf[j] != sep {
				break rows
			}
			j++
		}
		for buf[j] == ' ' {
			j++
		}
		if buf[j] == '\r' {
			j++
		}
		if buf[j] != '\n' {
			break
		}
		i = j + 1
		n++
	}
	r.n, r.base.low, r.base.high = n, low, high
	return i
}

// fieldEnd is the index of the separator, line end or quote at or after j.
func fieldEnd(buf []byte, j int, sep byte) int {
	for {
		switch c := buf[j]; c {
		case sep, '\n', '"':
			return j
		case '\t':
			if sep == ' ' {
				return j
			}
		}
		j++
	}
}

// sinceFirstDay is the time in seconds since the midnight before the first dated time.
func (r *reader) sinceFirstDay(m moment) float64 {
	if !m.dated {
		return m.seconds
	}
	if !r.dated {
		r.day0, r.dated = m.day, true
	}
	return m.seconds + float64(m.day-r.day0)*secondsPerDay
}

// flush hands the block on.
func (r *reader) flush() error {
	if r.rows+r.n > r.limit {
		return fmt.Errorf("%s:%d: the record has more than %d samples; cut it, or raise the limit", r.f.name, r.line, r.limit)
	}
	slot := 0
	for k := range r.ops {
		if r.ops[k].role == roleValue {
			r.vals[slot] = append(r.vals[slot], r.ops[k].block[:r.n]...)
			if r.aside[slot] != nil && len(r.vals[slot]) >= asideRows {
				r.vals[slot] = r.aside[slot].put(r.vals[slot])
			}
			slot++
		}
	}
	if r.timeAt >= 0 {
		r.base.add(r.times[:r.n])
	}
	r.rows += r.n
	r.n = 0
	return nil
}

// skipLine notes that the current line is no row.
func (r *reader) skipLine() {
	row := r.rows + r.n
	r.line++
	if k := len(r.breaks) - 1; k >= 0 && r.breaks[k].row == row {
		r.breaks[k].line = r.line
		return
	}
	r.breaks = append(r.breaks, lineBreak{row, r.line})
}

// lineOf is the line of a row.
func (r *reader) lineOf(row int) int {
	lo, hi := 0, len(r.breaks)
	for lo < hi {
		if mid := (lo + hi) / 2; r.breaks[mid].row <= row {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	if lo == 0 {
		return r.first + 1 + row
	}
	b := r.breaks[lo-1]
	return b.line + row - b.row
}
