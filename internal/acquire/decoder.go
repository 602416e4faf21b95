package acquire

import (
	"bytes"
	"fmt"
	"math"
	"time"
)

// Decoder turns bytes as they arrive into samples and events. It is for drivers.
type Decoder struct {
	d       *Description
	p       *Pattern
	out     Sink
	rate    float64
	block   *Block
	room    int
	partial []byte
	skip    bool // up to the next line end: a line that began before the connection, or is too long

	started bool
	after   bool // the stream was interrupted
	last    mark // the last sample taken
	pend    mark // one that does not follow on; the next line tells
	waiting bool
	values  []float64

	junk Event
	over []Event
	// stretches of overload that were told of within the block
	stretches int
	base      mark // for the rate of arrival
	tracked   bool
}

// mark is a line with its place.
type mark struct {
	tick   float64
	index  int64
	at     time.Time
	values []float64
	blank  uint32
	line   []byte
}

const (
	longestLine = 4096
	// fillInBlock is how many lost samples are written out as NaN inside a block; more of them part two blocks.
	fillInBlock = 64
	// slack is how many seconds a counter may jump ahead of the computer's clock and still be believed.
	slack = 2.0
)

// NewDecoder makes a decoder for a description with lines that has been completed.
func NewDecoder(d *Description, out Sink) (*Decoder, error) {
	p, err := ParsePattern(d.Lines)
	if err != nil {
		return nil, err
	}
	if len(p.channels) != len(d.Channels) {
		return nil, fmt.Errorf("the line has %d channels and the source %d; complete the description first", len(p.channels), len(d.Channels))
	}
	p.comma = d.DecimalComma
	n := len(d.Channels)
	x := &Decoder{d: d, p: p, out: out, rate: d.Rate.SI(), values: make([]float64, n), over: make([]Event, n)}
	x.room = min(max(int(x.rate*0.02), 64), 4096)
	x.block = NewBlock(n, x.room)
	x.pend.values = make([]float64, n)
	return x, nil
}

// Write takes bytes that arrived at a time and delivers the samples they complete.
func (x *Decoder) Write(b []byte, at time.Time) error {
	if x.skip {
		end := bytes.IndexByte(b, '\n')
		if end < 0 {
			return nil
		}
		b, x.skip = b[end+1:], false
	}
	if len(x.partial) > 0 {
		end := bytes.IndexByte(b, '\n')
		if end < 0 {
			return x.keep(b, at)
		}
		x.partial = append(x.partial, b[:end]...)
		if err := x.line(x.partial, at); err != nil {
			return err
		}
		x.partial, b = x.partial[:0], b[end+1:]
	}
	for {
		end := bytes.IndexByte(b, '\n')
		if end < 0 {
			break
		}
		if err := x.line(b[:end], at); err != nil {
			return err
		}
		b = b[end+1:]
	}
	if err := x.keep(b, at); err != nil {
		return err
	}
	return x.Flush()
}

func (x *Decoder) keep(b []byte, at time.Time) error {
	if len(x.partial)+len(b) > longestLine {
		x.garbage(b, at)
		x.partial, x.skip = x.partial[:0], true
		return x.Flush()
	}
	x.partial = append(x.partial, b...)
	return nil
}

// Message takes whole lines; the last needs no line end.
func (x *Decoder) Message(b []byte, at time.Time) error {
	for len(b) > 0 {
		line := b
		if end := bytes.IndexByte(b, '\n'); end >= 0 {
			line, b = b[:end], b[end+1:]
		} else {
			b = nil
		}
		if err := x.line(line, at); err != nil {
			return err
		}
	}
	return x.Flush()
}

// Interrupt says that the stream was cut: what comes next may be in the middle of a line, and what came between is
// lost. midLine tells that the next bytes may begin inside a line.
func (x *Decoder) Interrupt(midLine bool) error {
	if len(x.partial) > 0 {
		x.garbage(x.partial, x.last.at)
	}
	x.partial, x.skip = x.partial[:0], midLine
	if err := x.settle(); err != nil {
		return err
	}
	x.after = x.started
	return x.Flush()
}

// Close delivers what is left when the stream has ended.
func (x *Decoder) Close(at time.Time) error {
	if len(x.partial) > 0 {
		if err := x.line(x.partial, at); err != nil {
			return err
		}
		x.partial = x.partial[:0]
	}
	if err := x.settle(); err != nil {
		return err
	}
	return x.Flush()
}

// Next is the number of the sample that comes next.
func (x *Decoder) Next() int64 {
	if !x.started {
		return 0
	}
	return x.last.index + 1
}

func (x *Decoder) line(line []byte, at time.Time) error {
	tick, blank, ok := x.p.Parse(line, x.values)
	if !ok {
		if blanks(line, 0) == len(line) {
			return nil
		}
		x.garbage(line, at)
		if x.p.tick != fieldNone || !x.started || x.after {
			return nil
		}
		// Nothing counts: the line is taken to have been a sample, so that the rest does not close up.
		err := x.lose(1, true, at)
		x.last.index++
		return err
	}
	if !x.waiting && x.started && !x.after && (x.p.tick == fieldNone || x.forward(&x.last, tick, at) == 1) {
		return x.take(tick, x.last.index+1, x.values, blank, at)
	}
	return x.odd(tick, blank, line, at)
}

// odd takes a line that does not simply follow the one before.
func (x *Decoder) odd(tick float64, blank uint32, line []byte, at time.Time) error {
	switch {
	case !x.started:
		x.started = true
		return x.take(tick, 0, x.values, blank, at)
	case x.p.tick == fieldNone:
		return x.resume(tick, blank, at)
	case !x.waiting && x.ahead(&x.last, tick) == 0 && !x.after:
		x.garbage(line, at) // the same line again
		return nil
	}
	if x.waiting {
		fromLast, fromPend := x.forward(&x.last, tick, at), x.forward(&x.pend, tick, at)
		switch {
		case fromPend > 0:
			if err := x.settle(); err != nil {
				return err
			}
			if fromPend == 1 {
				return x.take(tick, x.last.index+1, x.values, blank, at)
			}
		case fromLast > 0:
			x.waiting = false
			x.garbage(x.pend.line, x.pend.at)
			if fromLast == 1 {
				return x.take(tick, x.last.index+1, x.values, blank, at)
			}
		default:
			x.waiting = false
			x.garbage(x.pend.line, x.pend.at)
		}
	}
	x.waiting = true
	x.pend.tick, x.pend.at, x.pend.blank = tick, at, blank
	copy(x.pend.values, x.values)
	x.pend.line = append(x.pend.line[:0], line[:min(len(line), 80)]...)
	return nil
}

// settle accepts the line that waits.
func (x *Decoder) settle() error {
	if !x.waiting {
		return nil
	}
	x.waiting = false
	p := &x.pend
	step := x.forward(&x.last, p.tick, p.at)
	estimated := false
	if step <= 0 {
		// Counter or time do not go on from where they were: the device has restarted. How much is missing only
		// the computer's clock can tell, and it is one sample at least.
		step, estimated = x.elapsed(p.at)+1, true
		step = max(step, 2)
		if err := x.event(Event{Kind: ClockSlip, From: x.last.index + 1, At: p.at, Text: fmt.Sprintf("the device counts from %.10g after %.10g", p.tick, x.last.tick)}); err != nil {
			return err
		}
	}
	x.after = false
	if err := x.lose(step-1, estimated, p.at); err != nil {
		return err
	}
	return x.take(p.tick, x.last.index+step, p.values, p.blank, p.at)
}

// resume goes on after an interruption of a source that does not count.
func (x *Decoder) resume(tick float64, blank uint32, at time.Time) error {
	x.after, x.tracked = false, false
	missing := max(x.elapsed(at), 1)
	if err := x.lose(missing, true, at); err != nil {
		return err
	}
	return x.take(tick, x.last.index+missing+1, x.values, blank, at)
}

// elapsed is how many samples the computer's clock makes to be missing since the last one.
func (x *Decoder) elapsed(at time.Time) int64 {
	return int64(math.Round(at.Sub(x.last.at).Seconds()*x.rate)) - 1
}

// ahead is how many samples a tick lies after another; not positive when it does not lie after it.
func (x *Decoder) ahead(from *mark, tick float64) int64 {
	d := tick - from.tick
	if m := float64(x.d.Modulus); m > 0 {
		if tick >= m {
			return -1
		}
		if d < -m/2 {
			d += m
		} else if d > m/2 {
			d -= m
		}
	}
	if x.p.tick == fieldTime {
		d = math.Round(d * x.p.perTick * x.rate)
	}
	if !(math.Abs(d) < 1<<53) {
		return -1
	}
	return int64(d)
}

// forward is how many samples a tick lies after another, 0 or less when that is not believed.
func (x *Decoder) forward(from *mark, tick float64, at time.Time) int64 {
	n := x.ahead(from, tick)
	if n <= 1 {
		return n
	}
	since := at.Sub(from.at).Seconds()
	if m := float64(x.d.Modulus); m > 0 && x.after && x.p.tick == fieldCounter {
		// The counter may have gone round while nobody listened.
		n += int64(m * math.Max(0, math.Round((since*x.rate-float64(n))/m)))
	}
	if float64(n) > (1.5*since+slack)*x.rate {
		return 0
	}
	return n
}

func (x *Decoder) lose(n int64, estimated bool, at time.Time) error {
	if n <= 0 {
		return nil
	}
	return x.event(Event{Kind: Lost, From: x.last.index + 1, Count: n, Estimated: estimated, At: at})
}

// take puts a sample into the block.
func (x *Decoder) take(tick float64, index int64, v []float64, blank uint32, at time.Time) error {
	n := x.block.Len()
	gap := index - (x.block.First + int64(n))
	switch {
	case n == 0:
		x.block.First = index
	case gap < 0 || gap > fillInBlock || n+int(gap) >= x.room:
		if err := x.Flush(); err != nil {
			return err
		}
		x.block.First, gap = index, 0
	}
	for c := range x.d.Channels {
		ch := &x.d.Channels[c]
		values := x.block.Values[c]
		if n > 0 {
			for range gap {
				values = append(values, nan)
			}
		}
		number := v[c]
		if blank>>c&1 != 0 || ch.Limit > 0 && math.Abs(number) >= ch.Limit {
			if err := x.overload(c, index, at); err != nil {
				return err
			}
		}
		x.block.Values[c] = append(values, ch.Value(number))
	}
	x.block.Arrived = at
	x.last.tick, x.last.index, x.last.at = tick, index, at
	if x.block.Len() >= x.room {
		return x.Flush()
	}
	return nil
}

// mostStretches is how many stretches of overload of a channel are told apart within a block; what flickers more is told as one.
const mostStretches = 32

// overload gathers a stretch of overloaded samples.
func (x *Decoder) overload(c int, index int64, at time.Time) error {
	e := &x.over[c]
	if e.Count > 0 && index > e.From+e.Count && x.stretches < mostStretches {
		x.stretches++
		last := *e
		e.Count = 0
		if err := x.event(last); err != nil {
			return err
		}
	}
	if e.Count == 0 {
		*e = Event{Kind: Overload, At: at, From: index, Channel: x.d.Channels[c].Name}
	}
	e.Count = index - e.From + 1
	return nil
}

func (x *Decoder) garbage(line []byte, at time.Time) {
	if x.junk.Count == 0 {
		text := bytes.TrimRight(line[:min(len(line), 80)], "\r")
		x.junk = Event{Kind: Garbage, At: at, From: x.Next(), Text: string(bytes.ToValidUTF8(text, []byte("?")))}
	}
	x.junk.Count++
}

func (x *Decoder) event(e Event) error {
	if err := x.out.Event(e); err != nil {
		return fmt.Errorf("taking an event: %w", err)
	}
	return nil
}

// Flush delivers the samples and events so far.
func (x *Decoder) Flush() error {
	if x.junk.Count > 0 {
		e := x.junk
		x.junk.Count = 0
		if err := x.event(e); err != nil {
			return err
		}
	}
	x.stretches = 0
	for c := range x.over {
		if x.over[c].Count > 0 {
			e := x.over[c]
			x.over[c].Count = 0
			if err := x.event(e); err != nil {
				return err
			}
		}
	}
	if x.block.Len() == 0 {
		return nil
	}
	if err := x.out.Samples(x.block); err != nil {
		return fmt.Errorf("taking samples: %w", err)
	}
	for c := range x.block.Values {
		x.block.Values[c] = x.block.Values[c][:0]
	}
	return x.track()
}

// track holds the samples against the computer's clock: a source that sends fewer or more than stated has lost
// samples that no counter shows, or is described wrongly.
func (x *Decoder) track() error {
	if x.rate <= 0 {
		return nil
	}
	if !x.tracked {
		x.base, x.tracked = mark{index: x.last.index, at: x.last.at}, true
		return nil
	}
	since := x.last.at.Sub(x.base.at).Seconds()
	want, got := since*x.rate, float64(x.last.index-x.base.index)
	if since < 5 || math.Abs(want-got) < math.Max(x.rate, 0.01*want) {
		return nil
	}
	x.tracked = false
	return x.event(Event{Kind: ClockSlip, At: x.last.at, From: x.last.index, Text: fmt.Sprintf("%.4g samples a second arrive, %.4g are stated", got/since, x.rate)})
}
