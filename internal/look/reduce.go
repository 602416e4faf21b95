package look

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"runtime"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/traceio"
)

// ReduceRecord reduces one record without a campaign, as it streams by.
func (a *Access) ReduceRecord(ctx context.Context, name string, r io.Reader, o traceio.Options, s reduce.Settings) (*reduce.Reduction, error) {
	return a.ReduceBy(ctx, a.Known().Latest(), name, r, o, s)
}

// ReduceBy reduces one record by the generation given.
func (a *Access) ReduceBy(ctx context.Context, g reduce.Generation, name string, r io.Reader, o traceio.Options, s reduce.Settings) (*reduce.Reduction, error) {
	o.Keep = func(channels []drop.Channel) int { return g.Channel(channels, s) }
	t, err := a.Formats.Open(ctx, name, r, o)
	if err != nil {
		return nil, err
	}
	return consume(g, t, s)
}

// longTrace is from how many samples on the memory that reading took is given back before the reduction takes its own.
const longTrace = 1 << 22

// consume reduces a trace that nobody needs any more.
func consume(g reduce.Generation, t *drop.Trace, s reduce.Settings) (*reduce.Reduction, error) {
	if t.Len() > longTrace {
		runtime.GC()
	}
	return g.Consume(t, s)
}

// Kept is what is stored as the settings of a reduction: enough to repeat it from the original bytes.
type Kept struct {
	Reader readerHints     `json:"reader"`
	Reduce reduce.Settings `json:"reduce"`
}

// readerHints are the options of the reader that change what is read, in the form that is stored.
type readerHints struct {
	Rate      quantity.Frequency `json:"rate_Hz,omitempty"`
	Channel   string             `json:"channel,omitempty"`
	Mass      quantity.Mass      `json:"mass_kg,omitempty"`
	ForceUnit string             `json:"force_unit,omitempty"`
	TimeUnit  string             `json:"time_unit,omitempty"`
	FullScale string             `json:"full_scale,omitempty"`
}

func Hints(o traceio.Options) readerHints {
	return readerHints{Rate: o.Rate, Channel: o.Channel, Mass: o.Mass, ForceUnit: o.ForceUnit, TimeUnit: o.TimeUnit, FullScale: o.FullScale}
}

func (h readerHints) Options() traceio.Options {
	return traceio.Options{Rate: h.Rate, Channel: h.Channel, Mass: h.Mass, ForceUnit: h.ForceUnit, TimeUnit: h.TimeUnit, FullScale: h.FullScale}
}

// ReduceDrop reads and reduces one drop's record.
func (a *Access) ReduceDrop(ctx context.Context, d drop.Drop, original store.Original, k Kept) (*reduce.Reduction, store.Reduction, error) {
	g := a.Known().Latest()
	o := k.Reader.Options()
	o.Keep = func(channels []drop.Channel) int { return g.Channel(channels, k.Reduce) }
	if s, ok := original.(interface{ Samples() int }); ok {
		o.Samples = s.Samples()
	}
	t, err := store.Read(original, func(r io.Reader) (*drop.Trace, error) { return a.Formats.Open(ctx, d.Record, r, o) })
	if err != nil {
		return nil, store.Reduction{}, fmt.Errorf("drop %s: %w", d.ID, err)
	}
	r, err := consume(g, t, k.Reduce)
	if err != nil {
		return nil, store.Reduction{}, fmt.Errorf("drop %s: %w", d.ID, err)
	}
	settings, err := json.Marshal(k)
	if err != nil {
		return nil, store.Reduction{}, fmt.Errorf("drop %s: settings: %w", d.ID, err)
	}
	result, err := json.Marshal(r)
	if err != nil {
		return nil, store.Reduction{}, fmt.Errorf("drop %s: result: %w", d.ID, err)
	}
	return r, store.Reduction{Drop: d.ID, TraceSHA256: t.SHA256, Version: g.Version, Settings: settings, Result: result}, nil
}

// WithHand keeps the events that a person set.
func (k Kept) WithHand(h *reduce.Hand) Kept {
	k.Reduce.Hand = h
	return k
}

func SettingsFor(rig drop.Rig, d drop.Drop, f reduce.Filter, h readerHints) Kept {
	set := reduce.FromRig(rig, d, f)
	if h.Channel != "" && set.Channel == "" {
		set.Channel = h.Channel
	}
	h.Mass = set.Mass
	return Kept{Reader: h, Reduce: set}
}

// RecordName is the record name under which the reduction was made.
func RecordName(ctx context.Context, s store.Reader, r store.Reduction) (string, error) {
	var named struct {
		Record string `json:"record"`
	}
	if err := json.Unmarshal(r.Result, &named); err == nil && named.Record != "" {
		return named.Record, nil
	}
	d, err := s.Drop(ctx, r.Drop)
	if err != nil {
		return "", err
	}
	return d.Value.Record, nil
}

func ReadKept(r store.Reduction) (Kept, error) {
	var k Kept
	if err := json.Unmarshal(r.Settings, &k); err != nil {
		return k, fmt.Errorf("drop %s: its stored settings cannot be read: %w", r.Drop, err)
	}
	return k, nil
}

func ReadReduction(r store.Reduction) (*reduce.Reduction, error) {
	var out reduce.Reduction
	if err := json.Unmarshal(r.Result, &out); err != nil {
		return nil, fmt.Errorf("drop %s: its stored reduction cannot be read: %w", r.Drop, err)
	}
	return &out, nil
}
