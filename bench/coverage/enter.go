package main

import (
	"context"
	"fmt"

	"github.com/hardcatch/hardcatch/bench/truth"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/traceio"
	"github.com/hardcatch/hardcatch/internal/traceio/csvtrace"
)

// bench reduces records as entering them into a campaign does: from the bytes of a file, by the reader that knows it best.
type bench struct {
	access     *look.Access
	generation reduce.Generation
	filter     reduce.Filter
}

// newBench takes the latest generation of the reduction when version is empty.
func newBench(version string, filter reduce.Filter) (*bench, error) {
	b := &bench{access: &look.Access{Formats: traceio.NewRegistry(csvtrace.Format{})}, generation: reduce.KnownGenerations().Latest(), filter: filter}
	if version == "" {
		return b, nil
	}
	var err error
	b.generation, err = reduce.KnownGenerations().ByVersion(version)
	return b, err
}

// reduce reads and reduces one record with what its rig file and drop list say.
func (b *bench) reduce(ctx context.Context, r *truth.Record) (*reduce.Reduction, error) {
	c := r.Case
	set := reduce.Settings{
		Filter: b.filter,
		Mass:   quantity.Mass(c.Mass), MassU: quantity.Mass(c.MassU), Fall: quantity.Length(c.Fall), FallU: quantity.Length(c.FallU),
		Gravity: quantity.Acceleration(c.Gravity), GainU: quantity.Ratio(c.GainU),
		RigFrequency: quantity.Frequency(c.RigFrequency), RigDamping: quantity.Ratio(c.RigDamping), AntiAlias: quantity.Frequency(c.AntiAlias),
	}
	name := fmt.Sprintf("%s-%d.csv", r.Row, r.Seed)
	return b.access.New("", name, store.Bytes(r.CSV()), look.Kept{Reduce: set}).Reduce(ctx, b.generation)
}
