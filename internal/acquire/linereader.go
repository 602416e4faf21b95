package acquire

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"
)

// PollInterval is how often a Conn must come back from Read when nothing arrives.
const PollInterval = 100 * time.Millisecond

// Conn is an open line of bytes. Read returns 0 and no error when nothing arrived for about Poll; an error means
// that the line is gone.
type Conn interface{ io.ReadCloser }

// LineReader runs a source of lines over connections that may be lost. It is for drivers.
type LineReader struct {
	D     *Description
	Clock Clock
	// Open connects. Its error at the first call ends Run; later ones are tried again.
	Open func(ctx context.Context) (Conn, error)
	// Whole tells that each Read gives whole lines: datagrams, messages.
	Whole bool
	// MidLine tells that a fresh connection may begin inside a line.
	MidLine bool
	// Stay tells that a silent connection is kept open, as opening it again would disturb the device.
	Stay bool
}

// Run is Source.Run.
func (r LineReader) Run(ctx context.Context, out Sink) error {
	x, err := NewDecoder(r.D, out)
	if err != nil {
		return err
	}
	first, gone, told := true, false, false
	x.skip = r.MidLine
	for wait := PollInterval; ; wait = min(2*wait, time.Second) {
		c, err := r.Open(ctx)
		switch {
		case ctx.Err() != nil:
			if err == nil {
				_ = c.Close() // nobody reads it any more
			}
			return errors.Join(x.Close(r.Clock.Now()), ctx.Err())
		case err != nil && first:
			return err
		case errors.Is(err, ErrRefused) && !told: // it does not mend itself
			told = true
			if serr := x.event(Event{Kind: Disconnected, At: r.Clock.Now(), From: x.Next(), Text: err.Error()}); serr != nil {
				return serr
			}
		case err == nil:
			first, told, wait = false, false, PollInterval
			if gone, err = r.read(ctx, c, x, gone); err != nil {
				return err
			}
			if ctx.Err() != nil {
				return errors.Join(x.Close(r.Clock.Now()), ctx.Err())
			}
		}
		if err := r.Clock.Sleep(ctx, wait); err != nil {
			return errors.Join(x.Close(r.Clock.Now()), err)
		}
	}
}

// read reads one connection until it is gone. The error is the sink's; gone tells that the loss was said.
func (r LineReader) read(ctx context.Context, c Conn, x *Decoder, gone bool) (bool, error) {
	closed := context.AfterFunc(ctx, func() { _ = c.Close() })
	defer closed()
	room := make([]byte, 64<<10)
	heard := r.Clock.Now()
	for {
		n, err := c.Read(room)
		now := r.Clock.Now()
		if n > 0 {
			heard = now
			if gone {
				gone = false
				if serr := x.event(Event{Kind: Reconnected, At: now, From: x.Next()}); serr != nil {
					return gone, errors.Join(serr, c.Close())
				}
			}
			if serr := r.write(x, room[:n], now); serr != nil {
				return gone, errors.Join(serr, c.Close())
			}
		}
		silent := err == nil && n == 0 && now.Sub(heard).Seconds() > r.D.Timeout.SI()
		if err == nil && !silent || silent && r.Stay && gone {
			continue
		}
		if ctx.Err() != nil {
			_ = c.Close() // it is closed already, by the end of ctx
			return gone, nil
		}
		why := fmt.Sprintf("nothing came for %s", r.D.Timeout)
		if err != nil {
			why = err.Error()
			if errors.Is(err, io.EOF) {
				why = "the other side closed the connection"
			}
		}
		if !gone {
			gone = true
			if serr := x.event(Event{Kind: Disconnected, At: now, From: x.Next(), Text: why}); serr != nil {
				return gone, errors.Join(serr, c.Close())
			}
		}
		if serr := x.Interrupt(r.MidLine && err != nil); serr != nil {
			return gone, errors.Join(serr, c.Close())
		}
		if silent && r.Stay {
			continue
		}
		_ = c.Close() // it is lost, and that was said
		return gone, nil
	}
}

func (r LineReader) write(x *Decoder, b []byte, now time.Time) error {
	if r.Whole {
		return x.Message(b, now)
	}
	return x.Write(b, now)
}
