package day

import (
	"context"
	"fmt"
	"io"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/sourcefile"
)

// Capture takes one drop from a source, and before it what the spool still holds from a capture that was cut off.
// event is told what happens to the source; save keeps a drop elsewhere, and only then the spool forgets it.
func Capture(ctx context.Context, b *Bench, name string, r io.Reader, o TriggerOptions, event func(acquire.Event), save func(*acquire.Drop) error) (*acquire.Drop, error) {
	if b.Sources == nil || b.Clock == nil {
		return nil, fmt.Errorf("this program was built without live sources")
	}
	d, err := sourcefile.Read(name, r)
	if err != nil {
		return nil, err
	}
	src, err := b.Sources(d, b.Clock)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	t, err := o.trigger(src.Description())
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	s, err := acquire.Open(src, acquire.Settings{Trigger: t, Spool: o.Spool, Clock: b.Clock})
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	x, err := oneDrop(ctx, s, o.Hand, event, save)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return x, nil
}

// oneDrop runs a session until a drop of its own is saved.
func oneDrop(ctx context.Context, s *acquire.Capture, hand bool, event func(acquire.Event), save func(*acquire.Drop) error) (*acquire.Drop, error) {
	inner, stop := context.WithCancel(ctx)
	defer stop()
	events, leave := s.Events(1000)
	defer leave()
	told := make(chan struct{})
	go func() {
		defer close(told)
		for e := range events {
			event(e)
		}
	}()
	ended := make(chan error, 1)
	go func() { ended <- s.Run(inner) }()
	begin := s.Arm
	if hand {
		begin = s.Fire
	}
	var mine *acquire.Drop
	err := begin(inner)
	for mine == nil && err == nil {
		x, ok := <-s.Drops()
		if !ok {
			break
		}
		if err = save(x); err == nil {
			err = s.Taken(inner, x.ID)
		}
		if !x.Recovered {
			mine = x
		}
	}
	stop()
	for range s.Drops() { // what comes now stays in the spool
	}
	rerr := <-ended
	<-told
	switch {
	case rerr != nil:
		return nil, rerr
	case err != nil:
		return nil, err
	case mine == nil && ctx.Err() != nil:
		return nil, ctx.Err()
	case mine == nil:
		return nil, fmt.Errorf("the source ended before a drop was complete; look at level and source")
	}
	return mine, nil
}

// trigger is the trigger of a source of which no calibration is known.
func (o TriggerOptions) trigger(d *acquire.Description) (acquire.Trigger, error) {
	switch {
	case d.Kind == acquire.Folder || d.Finished:
		if o.Level != "" || o.Slope != 0 || o.Hand {
			return o.Trigger, fmt.Errorf("the source gives finished records, nothing in them triggers; leave level, slope and hand out")
		}
	case o.Level != "":
		return o.inUnit(d)
	case o.Slope == 0 && !o.Hand:
		return o.Trigger, fmt.Errorf("nothing would trigger; give a level, for example --level \"500 N\", or a slope, or trigger at once with --hand")
	}
	return o.Trigger, nil
}
