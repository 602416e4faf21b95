package day

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/sourcefile"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
)

// Sources makes the source that is described; it runs when its session does. It is given by the program's main, so
// that no use case knows a driver.
type Sources func(d *acquire.Description, clock acquire.Clock) (acquire.Source, error)

// Watch starts a live source for a campaign. What an earlier run left in the spool comes first.
func Watch(ctx context.Context, b *Bench, path, name string, description []byte, o TriggerOptions) (Live, error) {
	if b.Sources == nil || b.Clock == nil {
		return nil, fmt.Errorf("%s: this program was built without live sources", name)
	}
	var rig drop.Rig
	s, err := b.Files.OpenReadOnly(ctx, path)
	err = look.Within(s, err, func(s store.Store) error {
		r, err := s.Rig(ctx)
		if errors.Is(err, store.ErrNotFound) {
			return nil // records are kept without one
		}
		rig = r.Value
		return err
	})
	if err != nil {
		return nil, err
	}
	d, err := sourcefile.Read(name, bytes.NewReader(description))
	if err != nil {
		return nil, err
	}
	src, err := b.Sources(d, b.Clock)
	if err != nil {
		return nil, err
	}
	return startCapture(ctx, b.Clock, src, rig, o)
}

// capture is a session as Live.
type capture struct {
	session *acquire.Capture
	ctx     context.Context // ends with the session
	stop    context.CancelFunc
	signals chan Signal
	done    chan struct{}
	d       *acquire.Description
	channel int
	force   func(float64) quantity.Force // nil when no force is known
}

// waiting is how many signals wait for whoever follows; views beyond it are left out.
const waiting = 256

func startCapture(ctx context.Context, clock acquire.Clock, src acquire.Source, rig drop.Rig, o TriggerOptions) (*capture, error) {
	c := &capture{d: src.Description(), signals: make(chan Signal, waiting), done: make(chan struct{})}
	t := o.Trigger
	if len(c.d.Channels) > 0 { // a logger's own records have none
		var err error
		if c.channel, err = c.d.ChannelAt(o.Channel); err != nil {
			return nil, fmt.Errorf("source %s: %w", c.d.Name, err)
		}
		unit := c.d.Channels[c.channel].Unit
		force, number, ok := reduce.Scale(rig.LoadCell.Calibration, unit)
		if ok {
			c.force = force
		}
		var stated quantity.Force
		switch err = stated.UnmarshalText([]byte(o.Level)); {
		case o.Level == "":
		case err != nil: // no force
			if t, err = o.inUnit(c.d); err != nil {
				return nil, fmt.Errorf("source %s: %w", c.d.Name, err)
			}
		case stated > 0 && !ok:
			return nil, fmt.Errorf("source %s: channel %s gives %s, of which the rig's calibration knows no force, so that a level of %s means nothing; enter a calibration in %s, or trigger by hand with a level of 0 N", c.d.Name, c.d.Channels[c.channel].Name, orUnitless(unit), stated, orUnitless(unit))
		case stated > 0:
			level := number(stated)
			t.Level, t.Falling = &level, level < number(0) != o.Falling
			t.Hysteresis = math.Abs(level-number(0)) / 10
		}
	}
	session, err := acquire.Open(src, acquire.Settings{Trigger: t, Spool: o.Spool, Clock: clock})
	if err != nil {
		return nil, err
	}
	c.session = session
	c.ctx, c.stop = context.WithCancel(ctx)
	views, leaveViews := session.Views(waiting)
	events, leaveEvents := session.Events(waiting)
	ran := make(chan error, 1)
	go func() {
		ran <- session.Run(c.ctx)
	}()
	go func() {
		defer close(c.done)
		defer close(c.signals)
		defer leaveViews()
		defer leaveEvents()
		c.relay(views, events)
		err := <-ran
		c.stop()
		if err != nil && !errors.Is(err, context.Canceled) {
			select {
			case c.signals <- Signal{Ended: err}:
			default:
			}
		}
	}()
	return c, nil
}

func orUnitless(unit string) string {
	if unit == "" {
		return "numbers without a unit"
	}
	return unit
}

// relay passes everything on until the session has ended.
func (c *capture) relay(views <-chan acquire.View, events <-chan acquire.Event) {
	drops := c.session.Drops()
	for drops != nil {
		select {
		case d, ok := <-drops:
			if !ok {
				drops = nil
				continue
			}
			c.pass(Signal{Drop: c.captured(d)})
		case e, ok := <-events:
			if !ok {
				events = nil
				continue
			}
			c.pass(Signal{Event: e.String()})
		case v, ok := <-views:
			if !ok {
				views = nil
				continue
			}
			select {
			case c.signals <- Signal{View: c.view(v)}:
			default:
			}
		}
	}
}

// pass waits until the signal is taken or the capture is closed; the spool keeps what was not.
func (c *capture) pass(s Signal) {
	select {
	case c.signals <- s:
	case <-c.ctx.Done():
	}
}

func (c *capture) view(v acquire.View) *LiveView {
	rate := c.d.Rate.SI()
	out := &LiveView{State: string(v.State), Missing: true, Span: acquire.ViewSpan}
	if rate > 0 {
		out.At = quantity.Duration(float64(v.First) / rate)
	}
	if c.channel >= len(v.Ranges) || !v.Ranges[c.channel].Any {
		return out
	}
	r := v.Ranges[c.channel]
	out.Missing = v.Missing > 0
	scale := c.force
	if scale == nil {
		out.Unit = orUnitless(c.d.Channels[c.channel].Unit)
		scale = func(v float64) quantity.Force { return quantity.Force(v) }
	}
	out.Min, out.Max, out.Last = scale(r.Min), scale(r.Max), scale(r.Last)
	if out.Min > out.Max { // a cell that reads downwards under load
		out.Min, out.Max = out.Max, out.Min
	}
	return out
}

// mostRemarks is how many findings of a drop are kept as notes; all stand in its record.
const mostRemarks = 20

func (c *capture) captured(d *acquire.Drop) *Captured {
	out := &Captured{ID: d.ID, Invented: d.Description.Made(), Keep: func() error { return c.session.Taken(c.ctx, d.ID) }}
	if d.Whole != nil {
		out.Name, out.Original = d.Whole.Name, store.Bytes(d.Whole.Data)
		return out
	}
	out.Original = spooledRecord{d}
	for i, f := range d.Findings() {
		if i == mostRemarks {
			out.Remarks = append(out.Remarks, fmt.Sprintf("more findings stand in the record, %d in all", len(d.Findings())))
			break
		}
		out.Remarks = append(out.Remarks, f.String())
	}
	if d.Recovered {
		out.Found = message.Say("found in the spool, triggered at %s, not yet in the campaign", d.Begun.Local().Format("2006-01-02 15:04:05"))
	}
	return out
}

// spooledRecord is the record of a drop whose samples are in the spool. Each reading writes it anew, so that it is never
// in memory as a whole.
type spooledRecord struct{ d *acquire.Drop }

// Open implements store.Original.
func (s spooledRecord) Open() (io.ReadCloser, error) {
	r, w := io.Pipe()
	p := look.NewPiped(r)
	go func() {
		defer close(p.Done)
		_ = w.CloseWithError(s.d.WriteCSV(w)) // it has no error
	}()
	return p, nil
}

// Samples tells how many samples of each channel there are.
func (s spooledRecord) Samples() int { return s.d.Len() }

func (c *capture) Signals() <-chan Signal { return c.signals }
func (c *capture) Arm() error             { return c.order(c.session.Arm) }
func (c *capture) Disarm() error          { return c.order(c.session.Disarm) }
func (c *capture) Fire() error            { return c.order(c.session.Fire) }
func (c *capture) Finish() error          { return c.order(c.session.Finish) }

func (c *capture) order(do func(context.Context) error) error {
	if err := do(c.ctx); err != nil {
		return fmt.Errorf("the source does not obey any more: %w", err)
	}
	return nil
}

// Close stops the capture. A drop that is being recorded is finished in the spool and found there by the next run.
func (c *capture) Close() error {
	c.stop()
	<-c.done
	return nil
}
