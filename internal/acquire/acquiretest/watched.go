package acquiretest

import (
	"sync/atomic"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/waittest"
)

// Watched is the computer's own clock, which counts how often a source asked for the time. A source of lines asks first when its connection
// is open, and then each time that it has read; one that watches a folder asks at each look.
type Watched struct {
	acquire.Wall
	asked, ticking atomic.Int64
}

// Now is part of acquire.Clock.
func (w *Watched) Now() time.Time {
	w.asked.Add(1)
	return w.Wall.Now()
}

// Tick is part of acquire.Clock.
func (w *Watched) Tick(d time.Duration) (<-chan time.Time, func()) {
	w.ticking.Add(1)
	return w.Wall.Tick(d)
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
