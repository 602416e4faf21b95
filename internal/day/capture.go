package day

import (
	"context"
	"fmt"
	"io"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/sourcefile"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// CaptureOptions say when a drop begins and ends.
type CaptureOptions struct {
	Channel string            // that triggers; "" = the first
	Level   string            // "500 N"; a bare number is in the channel's unit
	Slope   float64           // in the channel's unit per second
	Falling bool              //
	Hand    bool              // trigger at once
	Pre     quantity.Duration //
	Post    quantity.Duration //
	Quiet   quantity.Duration //
	Spool   string            // folder
}

// Capture takes one drop from a source, and before it what the spool still holds from a capture that was cut off.
// event is told what happens to the source; save keeps a drop elsewhere, and only then the spool forgets it.
func Capture(ctx context.Context, b *Bench, name string, r io.Reader, o CaptureOptions, event func(acquire.Event), save func(*acquire.Drop) error) (*acquire.Drop, error) {
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

// trigger brings the level into the unit of the channel that triggers.
func (o CaptureOptions) trigger(d *acquire.Description) (acquire.Trigger, error) {
	t := acquire.Trigger{Channel: o.Channel, Slope: o.Slope, Falling: o.Falling, Pre: o.Pre, Post: o.Post, Quiet: o.Quiet}
	if d.Kind == acquire.Folder || d.Finished {
		if o.Level != "" || o.Slope != 0 || o.Hand {
			return t, fmt.Errorf("the source gives finished records, nothing in them triggers; leave level, slope and hand out")
		}
		return t, nil
	}
	if o.Level == "" {
		if o.Slope == 0 && !o.Hand {
			return t, fmt.Errorf("nothing would trigger; give a level, for example --level \"500 N\", or a slope, or trigger at once with --hand")
		}
		return t, nil
	}
	i, err := d.ChannelAt(o.Channel)
	if err != nil {
		return t, err
	}
	v, u, bare, err := quantity.ParseAny(o.Level)
	if err != nil {
		return t, fmt.Errorf("level: %w", err)
	}
	if !bare {
		own, err := quantity.ParseUnit(d.Channels[i].Unit)
		if err != nil || own.Dim != u.Dim {
			return t, fmt.Errorf("level %q: channel %s is in %q, which is not %s; give the level in that unit, as a bare number", o.Level, d.Channels[i].Name, d.Channels[i].Unit, u.Dim)
		}
		v /= own.Factor
	}
	t.Level = &v
	return t, nil
}
