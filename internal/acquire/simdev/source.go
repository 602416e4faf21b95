package simdev

import (
	"context"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire"
)

type source struct {
	d     *acquire.Description
	clock acquire.Clock
}

// NewSource makes the tower a source of kind simulated, in real time. Its first channel is the force in N, to be
// scaled as described; others stay at zero.
func NewSource(d *acquire.Description, clock acquire.Clock) acquire.Source { return source{d, clock} }

// Description is part of acquire.Source.
func (s source) Description() *acquire.Description { return s.d }

// Run is part of acquire.Source.
func (s source) Run(ctx context.Context, out acquire.Sink) error {
	st, err := Tower{Rate: s.d.Rate, Drops: s.d.Drops, Every: s.d.Every, Seed: 1}.Start(ctx)
	if err != nil {
		return err
	}
	n := max(1, int(s.d.Rate.SI()*0.02))
	b := acquire.NewBlock(len(s.d.Channels), n)
	numbers := make([]float64, n)
	start := s.clock.Now()
	for {
		if _, ok := st.Drop(); !ok {
			return nil
		}
		b.First = st.Next()
		st.Read(numbers)
		for c := range b.Values {
			b.Values[c] = b.Values[c][:n]
			for i := range numbers {
				if c > 0 {
					numbers[i] = 0
				}
				b.Values[c][i] = s.d.Channels[c].Value(numbers[i])
			}
		}
		due := start.Add(time.Duration(float64(st.Next()) / s.d.Rate.SI() * float64(time.Second)))
		if wait := due.Sub(s.clock.Now()); wait > 0 {
			if err := s.clock.Sleep(ctx, wait); err != nil {
				return err
			}
		}
		b.Arrived = s.clock.Now()
		if err := out.Samples(b); err != nil {
			return err
		}
	}
}
