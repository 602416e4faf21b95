package acquire

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"sync"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire/spool"
)

// Settings of a session.
type Settings struct {
	Trigger Trigger
	Spool   string // folder that outlives a crash
	Clock   Clock
	// Commit is how often samples are brought to the disk; 0 = every 20 ms. With what the disk takes it bounds
	// what a loss of power can cost.
	Commit time.Duration
	// Segment is how long a segment of the spool is; 0 = 20 s.
	Segment time.Duration
}

const (
	// LongestLoss is the longest time whose samples a loss of power may cost; when the disk is slower, it is said.
	LongestLoss = 50 * time.Millisecond
	// longAfter is the time after which it is said that a drop does not end, and again each time it has doubled.
	longAfter = time.Minute
	// queued is how many blocks may wait for the disk.
	queued = 512
)

// Capture takes drops from one source. Every sample goes to the spool before anybody sees it.
type Capture struct {
	src   Source
	set   Settings
	d     *Description
	m     *dropFinder
	w     *spool.Writer
	found *recovery
	run   string

	queue  chan item
	free   chan *Block
	orders chan request
	drops  chan *Drop
	gone   chan struct{}
	events Feed[Event]
	views  Feed[View]
	viewer *viewer

	out      []*Drop          // not yet handed over
	open     map[string]int64 // handed over or waiting, not yet taken: first sample needed
	old      map[string]bool  // recovered, not yet taken
	waiting  []item           // in the order of the spool, not yet on the disk
	oldest   time.Time        // arrival of the oldest sample not on the disk
	most     int              // samples of a frame
	room     []byte
	segments []spanned
	begun    time.Time // of the present segment
	lastSlow time.Time
	longer   int64 // samples of the drop being recorded after which it is said that it is long
	mu       sync.Mutex
	state    Phase
	secured  int64
}

// spanned is an earlier segment of this run, with the first sample of the next one.
type spanned struct {
	spool.Segment
	end int64
}

type item struct {
	block    *Block
	event    *Event
	finished *LoggerRecord
}

type request struct {
	order order
	taken string
	done  chan error
}

// Open makes a session, and runs what the spool still holds from an earlier one through the trigger: its drops are
// handed over first. Run must be called, which closes the spool.
func Open(src Source, set Settings) (*Capture, error) {
	if set.Commit == 0 {
		set.Commit = 20 * time.Millisecond
	}
	if set.Segment == 0 {
		set.Segment = 20 * time.Second
	}
	w, err := spool.Open(set.Spool)
	if err != nil {
		return nil, err
	}
	s := &Capture{src: src, set: set, d: src.Description(), w: w, open: map[string]int64{}, old: map[string]bool{}, state: Idle,
		queue: make(chan item, queued), free: make(chan *Block, queued), orders: make(chan request), drops: make(chan *Drop), gone: make(chan struct{})}
	if err := s.start(); err != nil {
		return nil, errors.Join(err, w.Close())
	}
	return s, nil
}

func (s *Capture) start() error {
	var err error
	if s.found, err = recoverSpool(s.set.Spool); err != nil {
		return err
	}
	for _, d := range s.found.drops {
		s.out, s.old[d.ID] = append(s.out, d), true
	}
	now := s.set.Clock.Now()
	s.run = strconv.FormatInt(now.UnixNano(), 36)
	if s.m, err = newDropFinder(s.d, s.set.Trigger, spooled{dir: s.set.Spool, run: s.run}); err != nil {
		return err
	}
	s.viewer = newViewer(s.d)
	s.most = max(1, int(s.d.Rate.SI()*LongestLoss.Seconds()))
	if err := s.segment(now); err != nil {
		return err
	}
	if len(s.found.drops) == 0 {
		return s.w.Remove(s.found.segments...)
	}
	return nil
}

// segment starts a segment of the spool.
func (s *Capture) segment(now time.Time) error {
	if n := s.w.Number(); n > 0 {
		list, err := spool.Segments(s.set.Spool)
		if err != nil {
			return err
		}
		for _, g := range list {
			if g.Number == n {
				s.segments = append(s.segments, spanned{g, s.m.Next})
			}
		}
	}
	s.begun = now
	return s.w.Begin(asJSON(header{spoolVersion, s.run, *s.d, s.set.Trigger, s.m.memory, now}))
}

// Recovered tells how many samples and drops the spool still held, and what was torn.
func (s *Capture) Recovered() (samples int64, drops int, torn []Event) {
	return s.found.samples, len(s.found.drops), s.found.events
}

// Drops gives each drop when it is complete. It is closed when Run returns; what nobody took by then is handed
// over by the next session on the same spool.
func (s *Capture) Drops() <-chan *Drop { return s.drops }

// Events follows what happens to the source, at once.
func (s *Capture) Events(room int) (<-chan Event, func()) { return s.events.Follow(room) }

// Views follows the stream for the screen.
func (s *Capture) Views(room int) (<-chan View, func()) { return s.views.Follow(room) }

// State is where the capture stands.
func (s *Capture) State() Phase {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.state
}

// Secured is one past the last sample that is on the disk.
func (s *Capture) Secured() int64 {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.secured
}

// Arm waits for the trigger from now on.
func (s *Capture) Arm(ctx context.Context) error { return s.ask(ctx, request{order: orderArm}) }

// Disarm stops waiting for the trigger.
func (s *Capture) Disarm(ctx context.Context) error { return s.ask(ctx, request{order: orderDisarm}) }

// Fire triggers by hand.
func (s *Capture) Fire(ctx context.Context) error { return s.ask(ctx, request{order: orderFire}) }

// Finish ends the drop that is being recorded.
func (s *Capture) Finish(ctx context.Context) error { return s.ask(ctx, request{order: orderFinish}) }

// Taken says that a drop is kept elsewhere, so that the spool may forget it.
func (s *Capture) Taken(ctx context.Context, id string) error {
	return s.ask(ctx, request{taken: id})
}

var errEnded = errors.New("the capture has ended; start it again")

func (s *Capture) ask(ctx context.Context, r request) error {
	r.done = make(chan error, 1)
	select {
	case s.orders <- r:
	case <-s.gone:
		return errEnded
	case <-ctx.Done():
		return ctx.Err()
	}
	select {
	case err := <-r.done:
		return err
	case <-s.gone:
		select {
		case err := <-r.done:
			return err
		default:
			return errEnded
		}
	case <-ctx.Done():
		return ctx.Err()
	}
}

// Samples is part of Sink: it is for the source.
func (s *Capture) Samples(b *Block) error {
	var c *Block
	select {
	case c = <-s.free:
	default:
		c = NewBlock(len(b.Values), b.Len())
	}
	c.First, c.Arrived = b.First, b.Arrived
	for i := range b.Values {
		c.Values[i] = append(c.Values[i][:0], b.Values[i]...)
	}
	return s.enqueue(item{block: c})
}

// Event is part of Sink.
func (s *Capture) Event(e Event) error {
	s.events.send(e)
	return s.enqueue(item{event: &e})
}

// Record is part of Sink.
func (s *Capture) Record(r LoggerRecord) error { return s.enqueue(item{finished: &r}) }

// enqueue waits when the disk is far behind, and says so.
func (s *Capture) enqueue(it item) error {
	select {
	case s.queue <- it:
		return nil
	default:
	}
	from := s.set.Clock.Now()
	s.queue <- it
	took := s.set.Clock.Now().Sub(from)
	e := Event{Kind: Behind, At: from, Text: fmt.Sprintf("the disk was slow: reading the device stopped for %s; samples lost meanwhile are said by themselves", took.Round(time.Millisecond))}
	if it.block != nil {
		e.From = it.block.First
	}
	s.events.send(e)
	s.queue <- item{event: &e}
	return nil
}
