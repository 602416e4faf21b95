package simdev

import (
	"context"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire"
)

type source struct{ acquire.Made }

// NewSource makes the tower a source of kind simulated, in real time. Its first channel is the force in N, to be
// scaled as described; others stay at zero.
func NewSource(d *acquire.Description, clock acquire.Clock) acquire.Source {
	return source{acquire.Made{D: d, Clock: clock}}
}

// Run is part of acquire.Source.
func (s source) Run(ctx context.Context, out acquire.Sink) error {
	st, err := Tower{Rate: s.D.Rate, Drops: s.D.Drops, Every: s.D.Every, Seed: 1}.Start(ctx)
	if err != nil {
		return err
	}
	n := max(1, int(s.D.Rate.SI()*0.02))
	b := acquire.NewBlock(len(s.D.Channels), n)
	numbers := make([]float64, n)
	start := s.Clock.Now()
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
				b.Values[c][i] = s.D.Channels[c].Value(numbers[i])
			}
		}
		due := start.Add(time.Duration(float64(st.Next()) / s.D.Rate.SI() * float64(time.Second)))
		if wait := due.Sub(s.Clock.Now()); wait > 0 {
			if err := s.Clock.Sleep(ctx, wait); err != nil {
				return err
			}
		}
		b.Arrived = s.Clock.Now()
		if err := out.Samples(b); err != nil {
			return err
		}
	}
}
