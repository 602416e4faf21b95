package acquiretest

import (
	"context"
	"sync/atomic"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/waittest"
)

// Watched is the computer's own clock, which counts how often a source asked for the time and can be set forward. A source of lines asks first when its connection
// is open, and then each time that it has read; one that watches a folder asks at each look.
type Watched struct {
	acquire.WallClock
	asked, slept, ticking, ahead atomic.Int64
	awake                        atomic.Bool // it asked since it slept last
}

// Now is part of acquire.Clock.
func (w *Watched) Now() time.Time {
	w.asked.Add(1)
	w.awake.Store(true)
	return w.WallClock.Now().Add(time.Duration(w.ahead.Load()))
}

// Ahead sets the clock forward: a source that waits for something to come takes it that so much longer nothing came.
func (w *Watched) Ahead(d time.Duration) { w.ahead.Add(int64(d)) }

// Sleep is part of acquire.Clock.
func (w *Watched) Sleep(ctx context.Context, d time.Duration) error {
	w.awake.Store(false)
	w.slept.Add(1)
	return w.WallClock.Sleep(ctx, d)
}

// Slept is how often the source slept: it does before each try to connect again.
func (w *Watched) Slept() int64 { return w.slept.Load() }

// Reopened waits until a source that had slept so often has slept again, and has asked for the time since: the connection is open again.
func (w *Watched) Reopened(t testing.TB, before int64) {
	t.Helper()
	waittest.Until(t, waittest.For("the source to connect again"), func() bool { return w.Slept() > before && w.awake.Load() })
}

// Tick is part of acquire.Clock.
func (w *Watched) Tick(d time.Duration) (<-chan time.Time, func()) {
	w.ticking.Add(1)
	return w.WallClock.Tick(d)
}

// Asked is how often the time was asked for.
func (w *Watched) Asked() int64 { return w.asked.Load() }

// Opened waits until the time is asked for: the connection is open.
func (w *Watched) Opened(t testing.TB) {
	t.Helper()
	w.More(t, 0, 1)
}

// More waits until the time was asked for so many times more than before.
func (w *Watched) More(t testing.TB, before, times int64) {
	t.Helper()
	waittest.Until(t, waittest.For("the source to ask for the time"), func() bool { return w.Asked() >= before+times })
}

// Ticking waits until the source looks at its folder again and again.
func (w *Watched) Ticking(t testing.TB) {
	t.Helper()
	waittest.Until(t, waittest.For("the source to watch"), func() bool { return w.ticking.Load() > 0 })
}
