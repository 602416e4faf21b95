// Package acquiretest is what every live source must do, as a test.
package acquiretest

import (
	"context"

	"github.com/hardcatch/hardcatch/internal/acquire"
)

// Play delivers a made-up stream.
type Play func(ctx context.Context, out acquire.Sink, clock acquire.Clock) error

// Source plays a made-up stream. With Hold it begins once a session is armed, so that nothing is missed.
type Source struct {
	D     *acquire.Description
	Play  Play
	Clock acquire.Clock
	Hold  bool
}

// Description is part of acquire.Source.
func (s Source) Description() *acquire.Description { return s.D }

// Run is part of acquire.Source.
func (s Source) Run(ctx context.Context, out acquire.Sink) error {
	if w, ok := out.(interface{ State() acquire.Phase }); ok && s.Hold {
		for w.State() == acquire.Idle {
			if err := s.Clock.Sleep(ctx, 1e6); err != nil {
				return err
			}
		}
	}
	return s.Play(ctx, out, s.Clock)
}

// Forever plays blocks of 20 ms in real time until the context ends.
func Forever(samples func(first int64, n int) [][]float64) Play {
	return func(ctx context.Context, out acquire.Sink, clock acquire.Clock) error {
		for at := int64(0); ; at += 200 {
			if err := clock.Sleep(ctx, 20e6); err != nil {
				return err
			}
			if err := out.Samples(&acquire.Block{First: at, Values: samples(at, 200), Arrived: clock.Now()}); err != nil {
				return err
			}
		}
	}
}
