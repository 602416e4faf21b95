package acquire

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire/spool"
)

// Run reads the source until it ends or ctx does, and closes spool and feeds. The error is the source's or the
// spool's; that ctx ended is none.
func (s *Capture) Run(ctx context.Context) error {
	inner, stop := context.WithCancel(ctx)
	defer stop()
	ended := make(chan error, 1)
	go func() {
		ended <- s.src.Run(inner, s)
		close(ended)
	}()
	err := s.loop(ctx, ended)
	if err != nil {
		stop()
		if derr := s.drain(ended); derr != nil && !errors.Is(derr, context.Canceled) {
			err = errors.Join(err, derr)
		}
	}
	if cerr := s.w.Close(); err == nil {
		err = cerr
	}
	if len(s.open)+len(s.old) == 0 && s.m.State != Triggered {
		err = errors.Join(err, s.clear())
	}
	close(s.drops)
	close(s.gone)
	s.events.close()
	s.views.close()
	return err
}

// clear deletes the spool when everything in it is kept elsewhere.
func (s *Capture) clear() error {
	list, err := spool.Segments(s.set.Spool)
	if err != nil {
		return err
	}
	return s.w.Remove(list...)
}

// drain lets the source end after the loop has.
func (s *Capture) drain(ended <-chan error) error {
	for {
		select {
		case <-s.queue:
		case err := <-ended:
			return err
		}
	}
}

func (s *Capture) loop(ctx context.Context, ended <-chan error) error {
	tick, stop := s.set.Clock.Tick(s.set.Commit / 2)
	defer stop()
	for _, e := range s.found.events {
		s.events.send(e)
	}
	for {
		to, next := s.offer()
		select {
		case it := <-s.queue:
			s.take(it)
			s.more()
		case r := <-s.orders:
			if err := s.answer(r); err != nil {
				return err
			}
		case to <- next:
			s.out = s.out[1:]
		case <-tick:
			if err := s.commit(); err != nil {
				return err
			}
		case err := <-ended:
			if err := s.finish(ctx, err); err != nil {
				return err
			}
			return s.linger(ctx)
		}
		if s.due() {
			if err := s.commit(); err != nil {
				return err
			}
		}
	}
}

// more takes what else has arrived, without waiting.
func (s *Capture) more() {
	for range queued {
		select {
		case it := <-s.queue:
			s.take(it)
		default:
			return
		}
	}
}

// offer is the drop to hand over next and where to; neither when none waits.
func (s *Capture) offer() (chan<- *Drop, *Drop) {
	if len(s.out) == 0 {
		return nil, nil
	}
	return s.drops, s.out[0]
}

// linger hands over the last drops after the source has ended.
func (s *Capture) linger(ctx context.Context) error {
	for len(s.out) > 0 || len(s.open) > 0 || len(s.old) > 0 {
		to, next := s.offer()
		select {
		case to <- next:
			s.out = s.out[1:]
		case r := <-s.orders:
			if err := s.answer(r); err != nil {
				return err
			}
		case <-ctx.Done():
			return nil
		}
	}
	return nil
}

// finish takes what the source delivered last and ends the drop that is being recorded.
func (s *Capture) finish(ctx context.Context, err error) error {
	for len(s.queue) > 0 {
		s.take(<-s.queue)
	}
	if cerr := s.commit(); cerr != nil {
		return cerr
	}
	why := "the source ended"
	switch {
	case ctx.Err() != nil:
		why, err = "the capture was stopped", nil
	case err != nil:
		why = "the source failed: " + err.Error()
	}
	if s.m.State == Triggered {
		s.m.close(why)
		s.collect()
		if cerr := s.w.Commit(); cerr != nil {
			return cerr
		}
	}
	s.show()
	return err
}

// take puts an item into the spool.
func (s *Capture) take(it item) {
	switch {
	case it.block != nil:
		if len(s.waiting) == 0 {
			s.oldest = it.block.Arrived
		}
		s.room = appendSamples(s.w, it.block, s.most, s.room)
		s.waiting = append(s.waiting, it)
	case it.event != nil:
		if len(s.waiting) == 0 {
			s.oldest = it.event.At
		}
		s.w.Append(frameEvent, asJSON(*it.event))
		s.waiting = append(s.waiting, it)
	default:
		f := it.finished
		d := &Drop{ID: s.run + "-" + f.Name, Description: s.d, Begun: f.Arrived, By: "the logger", Ended: "time", Whole: f}
		s.hand(d, s.m.needed())
	}
}

// due tells that samples should go to the disk now.
func (s *Capture) due() bool {
	return len(s.waiting) > 0 && (s.w.Pending() > 1<<20 || s.set.Clock.Now().Sub(s.oldest) >= s.set.Commit)
}

// commit brings what has arrived to the disk, then shows it and looks for the trigger.
func (s *Capture) commit() error {
	if s.w.Pending() == 0 && len(s.waiting) == 0 {
		return nil
	}
	if err := s.w.Commit(); err != nil {
		return err
	}
	now := s.set.Clock.Now()
	age := now.Sub(s.oldest)
	late := len(s.waiting) > 0 && age > LongestLoss && now.Sub(s.lastSlow) >= time.Second
	s.settle()
	if late {
		s.lastSlow = now
		e := Event{Kind: Behind, At: now, From: s.m.Next, Text: fmt.Sprintf("the disk was slow: samples waited %s until they were kept; a loss of power then would have cost them", age.Round(time.Millisecond))}
		s.events.send(e)
		s.w.Append(frameEvent, asJSON(e))
		s.m.event(e)
	}
	s.sayLong(now)
	s.show()
	if now.Sub(s.begun) >= s.set.Segment {
		if err := s.segment(now); err != nil {
			return err
		}
		return s.forget()
	}
	return nil
}

// sayLong says that a drop is being recorded for a long time. It stands in no record, since the drop may still end in time.
func (s *Capture) sayLong(now time.Time) {
	rate := s.d.Rate.SI()
	if s.m.drop == nil || rate <= 0 {
		s.longer = int64(rate * longAfter.Seconds())
		return
	}
	if s.m.drop.samples < s.longer || s.longer == 0 {
		return
	}
	s.longer = 2 * s.m.drop.samples
	lasts := func(samples int64) time.Duration {
		return time.Duration(float64(samples) / rate * 1e9).Round(time.Second)
	}
	s.events.send(Event{Kind: Long, At: now, From: s.m.Next, Text: fmt.Sprintf("the record is %s long and has not ended; it ends by itself at %s at the latest, and every sample is in the spool", lasts(s.m.drop.samples), lasts(s.m.p.pre+s.m.p.post))})
}

// settle feeds the finder and the screen what is on the disk, in the order of the spool.
func (s *Capture) settle() {
	for i, it := range s.waiting {
		s.waiting[i] = item{}
		if it.event != nil {
			s.m.event(*it.event)
			continue
		}
		s.m.feed(it.block)
		s.viewer.add(it.block, s.m.State, s.views.send)
		s.collect()
		select {
		case s.free <- it.block:
		default:
		}
	}
	s.waiting = s.waiting[:0]
}

// collect hands over the drops that are complete, with their footers.
func (s *Capture) collect() {
	for _, d := range s.m.ready {
		var findings []string
		for _, f := range d.Findings() {
			findings = append(findings, f.String())
		}
		s.w.Append(frameClosed, asJSON(closed{d.ID, d.First, d.Len(), d.By, d.Ended, d.Lost, findings}))
		d.at = &spooled{s.set.Spool, s.run, s.segmentOf(d.First)}
		s.hand(d, d.First-s.m.p.over)
	}
	s.m.ready = nil
}

// segmentOf is the number of the segment that holds a sample.
func (s *Capture) segmentOf(sample int64) int {
	for _, g := range s.segments {
		if g.end > sample {
			return g.Number
		}
	}
	return s.w.Number()
}

func (s *Capture) hand(d *Drop, needed int64) {
	s.out, s.open[d.ID] = append(s.out, d), needed
}

func (s *Capture) show() {
	s.mu.Lock()
	s.state, s.secured = s.m.State, s.m.Next
	s.mu.Unlock()
}

// answer does what a person or program asked for.
func (s *Capture) answer(r request) error {
	if r.taken != "" {
		err := s.forgetDrop(r.taken)
		r.done <- err
		return nil
	}
	s.more()
	if err := s.commit(); err != nil {
		r.done <- err
		return err
	}
	now := s.set.Clock.Now()
	s.w.Append(frameOrder, asJSON(ordered{r.order, now}))
	s.m.obey(r.order, now)
	s.collect()
	err := s.w.Commit()
	s.show()
	r.done <- err
	return err
}

// forgetDrop notes that a drop is kept elsewhere.
func (s *Capture) forgetDrop(id string) error {
	switch {
	case s.old[id]:
		if len(s.old) > 1 {
			delete(s.old, id)
			s.w.Append(frameTaken, []byte(id))
			return s.commit()
		}
		delete(s.old, id)
		return s.w.Remove(s.found.segments...)
	default:
		if _, ok := s.open[id]; !ok {
			return fmt.Errorf("drop %s was not handed over, or is kept already", id)
		}
		delete(s.open, id)
		s.w.Append(frameTaken, []byte(id))
		return errors.Join(s.commit(), s.forget())
	}
}

// forget deletes the segments of this run that nothing needs.
func (s *Capture) forget() error {
	needed := s.m.needed()
	for _, n := range s.open {
		needed = min(needed, n)
	}
	for len(s.segments) > 0 && s.segments[0].end <= needed {
		if err := s.w.Remove(s.segments[0].Segment); err != nil {
			return err
		}
		s.segments = s.segments[1:]
	}
	return nil
}
