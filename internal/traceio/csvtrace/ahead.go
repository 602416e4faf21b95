package csvtrace

import (
	"bytes"
	"runtime"
)

// leastAhead is the length of text below which a second core gains nothing.
const leastAhead = 64 << 10

// ahead reads the second part of a chunk while the reader reads the first. What it read counts only when the
// reader would have come to the same: rows of the usual kind, with no digits of the time that were not met before.
type ahead struct {
	reader
	to   int // of the text: the first line not read
	done chan struct{}
}

// newAhead makes a reader of rows for another core; nil where rows hang on those before them, or no core is free.
func newAhead(r *reader, perRow float64) *ahead {
	if runtime.GOMAXPROCS(0) < 2 || r.timeAt >= 0 && r.cols[r.timeAt].role == roleClock {
		return nil
	}
	a := &ahead{reader: reader{plan: r.plan}, done: make(chan struct{}, 1)}
	room := int(chunk/max(perRow, 2)) + 64
	a.times = make([]float64, room)
	for _, x := range r.ops {
		switch x.role {
		case roleValue:
			x.block = make([]float64, room)
		case roleTime, roleIndex:
			x.block = a.times
		}
		a.ops = append(a.ops, x)
	}
	return a
}

// start reads buf[from:end] on another core.
func (a *ahead) start(buf []byte, from, end int) {
	a.base.init(a.plan)
	a.n, a.to = 0, from
	go func() {
		a.to = a.fast(buf, from, end, len(a.times))
		a.done <- struct{}{}
	}()
}

// split is the beginning of a line near the middle of the complete lines buf[:end]: the first part is the smaller,
// as the reader has to look at all rows as well.
func split(buf []byte, end int) int {
	at := end * 2 / 5
	return at + bytes.IndexByte(buf[at:end], '\n') + 1
}

// both reads the complete lines buf[:end] on two cores.
func (r *reader) both(buf []byte, end int) error {
	a := r.next
	if a == nil || end < leastAhead {
		return r.lines(buf, 0, end)
	}
	middle := split(buf, end)
	a.start(buf, middle, end)
	err := r.lines(buf, 0, middle)
	<-a.done
	if err != nil {
		return err
	}
	if r.timeAt >= 0 && (a.base.low < r.base.low || a.base.high > r.base.high) {
		return r.lines(buf, middle, end)
	}
	for at := 0; at < a.n; {
		k := min(a.n-at, blockRows-r.n)
		for i := range r.ops {
			if to := r.ops[i].block; to != nil {
				copy(to[r.n:], a.ops[i].block[at:at+k])
			}
		}
		at, r.n, r.line = at+k, r.n+k, r.line+k
		if r.n == blockRows {
			if err := r.flush(); err != nil {
				return err
			}
		}
	}
	return r.lines(buf, a.to, end)
}
