package outlet

import (
	"context"
	"errors"
	"runtime"
	"testing"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/acquiretest"
	"github.com/hardcatch/hardcatch/internal/acquire/drivers"
	"github.com/hardcatch/hardcatch/internal/acquire/rehearsal"
	"github.com/hardcatch/hardcatch/internal/waittest"
)

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// What is lost and damaged on purpose arrives as exactly so many losses and lines of garbage, over every connection.
func TestLossesArriveAsPlayed(t *testing.T) {
	kinds := []acquire.Kind{acquire.TCP, acquire.MQTT}
	if runtime.GOOS == "linux" {
		kinds = append(kinds, acquire.Serial)
	}
	for _, kind := range kinds {
		t.Run(string(kind), func(t *testing.T) {
			set := rehearsal.Settings{Rate: 5000, Channels: 2, Every: 8, Lose: 0.01, Garbage: 0.005, Seed: 3}
			p, err := rehearsal.NewPlayer(t.Context(), set)
			must(t, err)
			o, err := Open(t.Context(), kind, "", "")
			must(t, err)
			clock := new(acquiretest.Watched)
			d := set.Description(o)
			must(t, d.Complete())
			src, err := drivers.Open(&d, clock)
			must(t, err)
			ctx, cancel := context.WithCancel(t.Context())
			var r acquiretest.Recorder
			ended := make(chan error, 1)
			go func() { ended <- src.Run(ctx, &r) }()
			must(t, o.Ready(ctx))
			clock.Opened(t)
			_, err = o.Write([]byte("\r\n")) // a serial port begins at a line end
			must(t, err)
			for p.Tally().Samples < 10000 {
				_, err := o.Write(p.Append(nil, 20, false))
				must(t, err)
				// A port takes 4 kB ahead of its reader, some 200 samples, and what is more is lost.
				waittest.Until(t, waittest.For("the source to keep up"), func() bool { return p.Tally().Samples-r.Next() < 100 })
			}
			tally := p.Tally()
			waittest.Holds(func() bool { // what does not hold is said below
				return r.Numbers() == tally.Sent-tally.Garbage && r.Count(acquire.Garbage) == tally.Garbage
			})
			cancel()
			if err := <-ended; !errors.Is(err, context.Canceled) {
				t.Error(err)
			}
			must(t, o.Close())
			// What is lost before the first or behind the last line cannot be known: nobody counts there.
			atEnds := tally.Samples - r.Next()
			if n := r.Count(acquire.Lost) + atEnds; tally.Lost < 50 || n != tally.Lost+tally.Garbage || atEnds > 5 {
				t.Errorf("%d samples are said to be lost (%d at the ends), %d were left out and %d damaged", n, atEnds, tally.Lost, tally.Garbage)
			}
			if n := r.Count(acquire.Garbage); tally.Garbage < 20 || n != tally.Garbage {
				t.Errorf("%d lines of garbage are said, %d were sent", n, tally.Garbage)
			}
			if n := r.Numbers(); n != tally.Sent-tally.Garbage {
				t.Errorf("%d samples came, %d were sent whole", n, tally.Sent-tally.Garbage)
			}
		})
	}
}

func TestUnknownOutlet(t *testing.T) {
	if _, err := Open(t.Context(), acquire.Folder, "", ""); err == nil {
		t.Error("a rehearsal was played into a folder")
	}
}
