package arrest

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Reading writes what the load cell shows (N) at the times from, from + 1/rate, ... after first taut into out, up to its end, whatever the case's Until.
// Before first taut that is nothing. It looks only at that, with the tolerance of Drop and the ledger at the end of the run.
func (e *Engine) Reading(c *Case, rate, from float64, out []float64) error {
	one := *c
	one.Drops, one.AtLeast = 1, false
	one.Until = quantity.Duration(from + float64(len(out)-1)/rate)
	if !(rate > 0) || !(one.Until > 0) {
		panic("arrest: a reading needs a rate, and an end after first taut")
	}
	if err := one.Validate(); err != nil {
		return err
	}
	first := min(max(int(math.Ceil(-from*rate-1e-9)), 0), len(out))
	for i := range out {
		out[i] = 0
	}
	m := &e.m
	e.setUpForSummary(m, &one)
	m.probe = sampler{on: true, rate: rate, start: from, next: first, count: len(out), cell: out}
	err := m.run(e.context())
	m.probe = sampler{}
	if err != nil {
		return fmt.Errorf("reading: %w", err)
	}
	return nil
}
