package acquire

import (
	"context"
	"time"
)

// Clock tells the time and waits. It is passed in, so that a test can hold it.
type Clock interface {
	Now() time.Time
	// Sleep waits, or returns the context's error when that ends first.
	Sleep(ctx context.Context, d time.Duration) error
	// Tick sends now and then until stop is called; a tick that nobody takes is left out.
	Tick(d time.Duration) (c <-chan time.Time, stop func())
}

// WallClock is the computer's own clock.
type WallClock struct{}

// Now is part of Clock.
func (WallClock) Now() time.Time { return time.Now() }

// Sleep is part of Clock.
func (WallClock) Sleep(ctx context.Context, d time.Duration) error {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// Tick is part of Clock.
func (WallClock) Tick(d time.Duration) (<-chan time.Time, func()) {
	t := time.NewTicker(d)
	return t.C, t.Stop
}
