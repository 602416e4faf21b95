package look

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"runtime"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/same"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/traceio"
)

// Record is a record with all that is needed to read and reduce it: whose it is, its bytes, and the settings.
type Record struct {
	Drop string // empty outside a campaign
	Name string // of the record
	Kept Kept   // where Reader.By is empty, the reader that knows the record best reads it

	original store.Original
	access   *Access
	checked  string // SHA-256 of the original when its bytes are known to have it
	unnamed  bool   // it was read before readers were named
}

// unnamed are the readers that there were before a reduction said which had read its record: whichever of them knew the
// record best had read it, and nothing else may read it now.
var unnamed = []string{"csv/1", "wav/1"}

// New is a record that no campaign has, or none yet; drop is empty when it is of none.
func (a *Access) New(drop, name string, original store.Original, k Kept) *Record {
	return &Record{Drop: drop, Name: name, Kept: k, original: original, access: a}
}

// Streamed is a record of a campaign, read part by part, so that it is never in memory as a whole. Settings and reader are
// those of r, a reduction of the same drop, nil when there is none. Where r is of other bytes, its reader does not count.
func (a *Access) Streamed(ctx context.Context, s store.Reader, t store.Trace, r *store.Reduction) (*Record, error) {
	return a.kept(t, &keptRecord{ctx: ctx, s: s, sha256: t.SHA256, bytes: t.Bytes}, r)
}

// Held is the same with its bytes in memory, which the store has checked.
func (a *Access) Held(t store.Trace, original []byte, r *store.Reduction) (*Record, error) {
	rec, err := a.kept(t, store.Bytes(original), r)
	if err != nil {
		return nil, err
	}
	rec.checked = t.SHA256
	return rec, nil
}

func (a *Access) kept(t store.Trace, original store.Original, r *store.Reduction) (*Record, error) {
	rec := a.New(t.Drop, t.Name, original, Kept{Reduce: reduce.Settings{Filter: reduce.DefaultFilter}})
	if r == nil {
		return rec, nil
	}
	var err error
	if rec.Kept, err = ReadKept(*r); err != nil {
		return nil, err
	}
	if r.TraceSHA256 != t.SHA256 {
		rec.Kept.Reader.By = ""
	} else {
		rec.unnamed = rec.Kept.Reader.By == ""
	}
	return rec, nil
}

// TraceOf is the record of a stored reduction, under the name that it had then. Its size is not known.
func TraceOf(ctx context.Context, s store.Reader, r store.Reduction) (store.Trace, error) {
	t := store.Trace{Drop: r.Drop, SHA256: r.TraceSHA256}
	var named struct {
		Record string `json:"record"`
	}
	if err := json.Unmarshal(r.Result, &named); err == nil && named.Record != "" {
		t.Name = named.Record
		return t, nil
	}
	d, err := s.Drop(ctx, r.Drop)
	t.Name = d.Value.Record
	return t, err
}

// WholeOf reads the record of a stored reduction and reduces it to be looked at, by the reader and the generation of then.
func (a *Access) WholeOf(ctx context.Context, s store.Reader, r store.Reduction) (*reduce.WholeReduction, error) {
	g, err := a.Generation(r)
	if err != nil {
		return nil, err
	}
	t, err := TraceOf(ctx, s, r)
	if err != nil {
		return nil, err
	}
	original, err := s.TraceBytes(ctx, t.SHA256)
	if err != nil {
		return nil, err
	}
	rec, err := a.Held(t, original, &r)
	if err != nil {
		return nil, err
	}
	w, err := rec.whole(ctx, g)
	if err != nil {
		return nil, fmt.Errorf("drop %s: %w", r.Drop, err)
	}
	return w, nil
}

// longTrace is from how many samples on the memory that reading took is given back before the reduction takes its own.
const longTrace = 1 << 22

// Reduce reads the record and reduces it by the generation given.
func (r *Record) Reduce(ctx context.Context, g reduce.Generation) (*reduce.Reduction, error) {
	red, _, err := r.consume(ctx, g)
	return red, err
}

// consume also gives the trace, which is used up.
func (r *Record) consume(ctx context.Context, g reduce.Generation) (*reduce.Reduction, *drop.Trace, error) {
	t, err := r.read(ctx, g)
	if err != nil {
		return nil, nil, err
	}
	if t.Len() > longTrace {
		runtime.GC()
	}
	red, err := g.ReduceInPlace(t, r.numbered(t))
	return red, t, err
}

// Entry is Reduce by the latest generation, with what is stored of it, the reader among it; the errors name the drop.
func (r *Record) Entry(ctx context.Context) (*reduce.Reduction, store.Reduction, error) {
	g := r.access.Known().Latest()
	red, t, err := r.consume(ctx, g)
	if err != nil {
		return nil, store.Reduction{}, fmt.Errorf("drop %s: %w", r.Drop, err)
	}
	k := r.Kept
	k.Reader.By, k.Made = t.Format, same.Here()
	settings, err := json.Marshal(k)
	if err != nil {
		return nil, store.Reduction{}, fmt.Errorf("drop %s: settings: %w", r.Drop, err)
	}
	result, err := json.Marshal(red)
	if err != nil {
		return nil, store.Reduction{}, fmt.Errorf("drop %s: result: %w", r.Drop, err)
	}
	return red, store.Reduction{Drop: r.Drop, TraceSHA256: t.SHA256, Version: g.Version, Settings: settings, Result: result}, nil
}

// Whole reads the record and reduces it by the generation given, to be looked at.
func (r *Record) Whole(ctx context.Context, g reduce.Generation) (*reduce.WholeReduction, error) {
	return r.whole(ctx, g)
}

func (r *Record) whole(ctx context.Context, g reduce.Generation) (*reduce.WholeReduction, error) {
	t, err := r.read(ctx, g)
	if err != nil {
		return nil, err
	}
	return g.ReduceWhole(t, r.numbered(t))
}

func (r *Record) read(ctx context.Context, g reduce.Generation) (*drop.Trace, error) {
	o := traceio.Options{Reading: r.Kept.Reader, Checked: r.checked}
	o.Keep = func(channels []drop.Channel) int { return g.ForceChannel(channels, r.Kept.Reduce) }
	if s, ok := r.original.(interface{ Samples() int }); ok {
		o.Samples = s.Samples()
	}
	t, err := store.Read(r.original, func(in io.Reader) (*drop.Trace, error) { return r.readers().Open(ctx, r.Name, in, o) })
	if err != nil {
		return nil, err
	}
	return t, r.ask(t.Channels, g)
}

// readers are those that may read the record.
func (r *Record) readers() *traceio.Registry {
	if r.unnamed {
		return r.access.Formats.Among(unnamed...)
	}
	return r.access.Formats
}

// Stated tells that the reduction says which reader read the record.
func (r *Record) Stated() bool { return !r.unnamed }

// Reader is the name of the reader that reads the record; an error when there is none.
func (r *Record) Reader() (string, error) {
	if by := r.Kept.Reader.By; by != "" {
		if err := r.access.Formats.Need(by); err != nil {
			return "", fmt.Errorf("drop %s: its record %w", r.Drop, err)
		}
		return by, nil
	}
	head, err := store.Read(r.original, func(in io.Reader) ([]byte, error) { return io.ReadAll(io.LimitReader(in, traceio.SniffLen)) })
	if err != nil {
		return "", fmt.Errorf("drop %s: %w", r.Drop, err)
	}
	return r.readers().Best(head, r.Name), nil
}

// Damage is why the store could not give the record's bytes, after they were read; nil when it could.
func (r *Record) Damage() error {
	if k, ok := r.original.(*keptRecord); ok {
		return k.damage
	}
	return nil
}
