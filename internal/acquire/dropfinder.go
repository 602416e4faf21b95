package acquire

import (
	"fmt"
	"time"
)

// Phase is where a capture stands.
type Phase string

// The states.
const (
	Idle      Phase = "idle"      // samples are shown and kept for the pre-trigger, nothing triggers
	Armed     Phase = "armed"     // waits for the trigger
	Triggered Phase = "triggered" // records
	Done      Phase = "done"      // a drop is complete; the next arming waits for the hold-off
)

// order is what a person tells a capture.
type order string

const (
	orderArm    order = "arm"
	orderDisarm order = "disarm"
	orderFire   order = "fire"
	orderFinish order = "finish"
)

// dropFinder finds drops in a stream. The same blocks, events and orders in the same sequence give the same drops, so
// that a spool can be run through it again.
type dropFinder struct {
	d      *Description
	p      *plan
	at     spooled // the run's name is the prefix of the names of drops
	recent recentSamples
	back   []float64 // the last p.over numbers of the trigger's channel
	drop   *Drop     // while triggered
	ready  []*Drop
	past   []Event // that may belong to the next drop
	memory
}

// memory is the part of a finder that a segment's header keeps.
type memory struct {
	State Phase     `json:"state"`
	Next  int64     `json:"next"`            // sample that comes next
	Below bool      `json:"below"`           // the signal was before the level by the hysteresis
	Calm  int64     `json:"calm"`            // samples since the signal is back before the level
	Hold  int64     `json:"hold"`            // first sample that may trigger
	Began int64     `json:"began,omitempty"` // sample that triggered
	By    string    `json:"by,omitempty"`
	At    time.Time `json:"at,omitempty"`
}

func newDropFinder(d *Description, t Trigger, at spooled) (*dropFinder, error) {
	p, err := t.plan(d)
	if err != nil {
		return nil, err
	}
	m := &dropFinder{d: d, p: p, at: at, recent: recentSamples{room: p.pre + 1}}
	m.State = Idle
	return m, nil
}

// resume continues from what a header says.
func (m *dropFinder) resume(mem memory) {
	m.memory = mem
	m.recent.first, m.recent.next = mem.Next, mem.Next
	if m.State == Triggered {
		// The samples before are gone: this drop was handed over and its segments were deleted. Only its end counts.
		m.open(mem.Began, mem.By, mem.At)
		m.drop.First, m.drop.samples, m.Calm = mem.Next, 0, mem.Calm
	}
}

func (m *dropFinder) obey(o order, at time.Time) {
	switch {
	case o == orderArm && (m.State == Idle || m.State == Done):
		m.State = Armed
	case o == orderDisarm && (m.State == Armed || m.State == Done):
		m.State = Idle
	case o == orderFire && m.State != Triggered:
		m.begin(m.Next, "hand", at)
	case o == orderFinish && m.State == Triggered:
		m.close("hand")
	}
}

func (m *dropFinder) event(e Event) {
	if m.drop != nil {
		m.drop.note(e)
		return
	}
	m.past = append(m.past, e)
	if len(m.past) > 4*maxEvents {
		m.past = append(m.past[:0], m.past[2*maxEvents:]...)
	}
}

// note keeps an event, joined to the last of its kind where it goes on.
func (d *Drop) note(e Event) {
	for i := len(d.Events) - 1; i >= max(0, len(d.Events)-8); i-- {
		last := &d.Events[i]
		if last.Kind == e.Kind && last.Channel == e.Channel && e.Count > 0 && last.Estimated == e.Estimated &&
			(e.Kind == Overload || e.Kind == Lost) && last.From+last.Count == e.From {
			last.Count += e.Count
			return
		}
	}
	if len(d.Events) >= maxEvents {
		if e.Kind == Overload && d.widen(e) {
			return
		}
		d.Left++
		return
	}
	d.Events = append(d.Events, e)
}

// widen lets the last overload of a channel reach to one that is not kept, so that no sample of it passes for measured.
func (d *Drop) widen(e Event) bool {
	for i := len(d.Events) - 1; i >= 0; i-- {
		if last := &d.Events[i]; last.Kind == Overload && last.Channel == e.Channel {
			last.Count = max(last.Count, e.From+e.Count-last.From)
			return true
		}
	}
	if len(d.Events) < maxEvents+MaxChannels {
		d.Events = append(d.Events, e)
		return true
	}
	return false
}

// feed takes the next samples.
func (m *dropFinder) feed(b *Block) {
	n := b.Len()
	if b.First > m.Next {
		m.missing(b.First)
	}
	for at := 0; at < n; {
		switch m.State {
		case Armed:
			to, by := m.search(b, at)
			m.put(b, at, to)
			if by != "" {
				m.begin(b.First+int64(to), by, b.Arrived)
			}
			at = to
		case Triggered:
			to, why := m.endOf(b, at)
			m.put(b, at, to)
			if why != "" {
				m.close(why)
			}
			at = to
		default:
			m.watch(b, at, n)
			m.put(b, at, n)
			at = n
		}
	}
	m.Next = b.First + int64(n)
}

// missing makes a gap of NaN up to a sample. Only so much of it is kept as the drop has room for.
func (m *dropFinder) missing(to int64) {
	m.Calm, m.back = 0, m.back[:0]
	if m.State == Triggered {
		end := min(to, m.drop.Trigger+m.p.post)
		n := max(0, end-m.drop.First-m.drop.samples)
		m.drop.samples += n
		m.drop.absent += n
		if end < to || end == m.drop.Trigger+m.p.post {
			m.close("time")
		}
	}
	m.Next = to
}

// put keeps samples for the pre-trigger, and in the drop while one is recorded.
func (m *dropFinder) put(b *Block, from, to int) {
	if from == to {
		return
	}
	m.recent.put(b.First+int64(from), b.First+int64(to))
	if m.drop != nil {
		m.drop.samples += int64(to - from)
	}
	m.Next = b.First + int64(to)
}

// search is where the block triggers, and by what; its length and "" when it does not.
func (m *dropFinder) search(b *Block, from int) (at int, by string) {
	v := b.Values[m.p.channel]
	low, high, sign, rise := m.p.low, m.p.high, m.p.sign, m.p.rise
	sloped := m.p.Slope > 0
	for i := from; i < len(v); i++ {
		x := sign * v[i]
		free := b.First+int64(i) >= m.Hold
		if x <= low {
			m.Below = true
		} else if m.Below && x >= high {
			m.Below = false
			if free {
				return i, "level"
			}
		}
		if sloped && m.slope(x) >= rise && free {
			return i, "slope"
		}
	}
	return len(v), ""
}

// slope is the rise over the slope time up to x; NaN as long as not enough numbers are there.
func (m *dropFinder) slope(x float64) float64 {
	n := int(m.p.over)
	if len(m.back) >= 8*n+64 {
		m.back = append(m.back[:0], m.back[len(m.back)-n:]...)
	}
	m.back = append(m.back, x)
	if len(m.back) <= n {
		return nan
	}
	return x - m.back[len(m.back)-1-n]
}

// watch follows the signal while nothing can trigger, so that arming on a loaded cell does not trigger at once.
func (m *dropFinder) watch(b *Block, from, to int) {
	for _, v := range b.Values[m.p.channel][from:to] {
		x := m.p.sign * v
		if x <= m.p.low {
			m.Below = true
		} else if x >= m.p.high {
			m.Below = false
		}
		if m.p.Slope > 0 {
			m.slope(x)
		}
	}
}

// endOf is where the drop ends in the block, and why.
func (m *dropFinder) endOf(b *Block, from int) (to int, why string) {
	end := len(b.Values[0])
	if last := m.drop.Trigger + m.p.post; last <= b.First+int64(end) {
		end, why = int(last-b.First), "time"
	}
	v := b.Values[m.p.channel][from:end]
	for i, x := range v {
		x *= m.p.sign
		if x <= m.p.low {
			m.Below = true
		}
		if !(x < m.p.high) {
			m.Calm = 0
			m.Below = m.Below && x < m.p.high
			continue
		}
		if m.Calm++; m.p.quiet > 0 && m.Calm >= m.p.quiet {
			return from + i + 1, "quiet"
		}
	}
	return end, why
}

// begin opens a drop at a sample with what is held before it.
func (m *dropFinder) begin(at int64, by string, arrived time.Time) {
	m.open(at, by, arrived)
	for _, e := range m.past {
		if e.From+max(e.Count, 1) > m.drop.First {
			m.drop.note(e)
		}
	}
	m.past = m.past[:0]
}

func (m *dropFinder) open(at int64, by string, arrived time.Time) {
	first := max(at-m.p.pre, m.recent.first, 0)
	if m.recent.first == m.recent.next {
		first = min(at, m.Next)
	}
	m.drop = &Drop{ID: fmt.Sprintf("%s-%d", m.at.run, at), Description: m.d, Trigger: at, First: first, Begun: arrived, By: by, pre: int(m.p.pre), at: &m.at, samples: at - first, absent: m.recent.absent(first, at), quiet: m.p.Quiet}
	m.State, m.Calm, m.Began, m.By, m.At = Triggered, 0, at, by, arrived
}

// close ends the drop.
func (m *dropFinder) close(why string) {
	d := m.drop
	d.Ended = why
	end := d.First + int64(d.Len())
	kept := d.Events[:0]
	for _, e := range d.Events {
		if e.Kind == Lost {
			d.Lost += max(0, min(end, e.From+e.Count)-max(d.First, e.From))
		}
		if e.From < end || e.From == end && e.Kind != Lost {
			kept = append(kept, e)
		} else {
			m.past = append(m.past, e)
		}
	}
	d.Events = kept
	m.ready = append(m.ready, d)
	m.drop, m.State, m.Hold = nil, Done, end+m.p.holdOff
	if m.p.Again {
		m.State = Armed
	}
}

// needed is the first sample that may still belong to a drop not yet complete.
func (m *dropFinder) needed() int64 {
	at := m.Next - m.p.pre - m.p.over
	if m.drop != nil {
		at = min(at, m.drop.First-m.p.over)
	}
	return at
}
