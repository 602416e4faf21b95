package look

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"github.com/hardcatch/hardcatch/internal/jobs"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/same"
	"github.com/hardcatch/hardcatch/internal/store"
)

// Repeats is what came of making kept reductions again from their records, each by the reader and the generation of then.
type Repeats struct {
	Kept   int         // reductions that stand in the campaign
	Same   int         // came out to the same bits
	Differ []Departure // did not, in the order of the drops
	Other  []error     // not tried: this program lacks the generation that made them
}

// Departure is a kept reduction that its record does not give again.
type Departure struct {
	Drop string
	// Where is the name of the first value that differs, a larger difference before one in the last bits; Kept and Repeated are that value.
	Where, Kept, Repeated string
	More                  int          // how many other values differ
	LastBits              bool         // only numbers differ, and no more than on a machine that rounds otherwise
	Made                  same.Machine // on which the reduction was made; empty where the file does not say
	Why                   error        // the record could not be reduced at all; nil when it could
}

// Says is the departure as a sentence.
func (d Departure) Says() message.Sentence {
	if d.Why != nil {
		return message.Say("drop %s: its record cannot be reduced again (%s), so the kept reduction is not what this version makes of this record: the file was changed, or other settings made it; do not act on this drop before hardcatch redo has reduced its record anew", message.Own(d.Drop), d.Why)
	}
	value := message.Say("drop %s: %s is kept as %s, the repeat gives %s", message.Own(d.Drop), message.Own(d.Where), message.Own(d.Kept), message.Own(d.Repeated))
	if d.More > 0 {
		value = value.Say(" (%d more {value differs|values differ})", d.More)
	}
	if d.LastBits {
		return value.Say("; no number differs by more than 1e-7 of it, as rounding differs between processors: it was made on %s, this is %s", message.Own(d.Made.String()), message.Own(same.Here().String()))
	}
	return value.Say("; the kept reduction is not what this version makes of this record: the file was changed, or other settings made it; do not act on this drop before hardcatch redo has reduced its record anew")
}

// Of is the departure of a drop, nil when it has none.
func (r *Repeats) Of(drop string) *Departure {
	if r == nil {
		return nil
	}
	for i := range r.Differ {
		if r.Differ[i].Drop == drop {
			return &r.Differ[i]
		}
	}
	return nil
}

// RecordsOf are the records of kept reductions, read part by part from s.
func (a *Access) RecordsOf(ctx context.Context, s store.Reader, rs []store.Revision[store.Reduction]) ([]*Record, error) {
	traces, err := s.Traces(ctx)
	if err != nil {
		return nil, err
	}
	sizes := map[string]int64{}
	for _, t := range traces {
		sizes[t.Value.SHA256] = t.Value.Bytes
	}
	out := make([]*Record, len(rs))
	for i, r := range rs {
		t, err := TraceOf(ctx, s, r.Value)
		if err != nil {
			return nil, err
		}
		t.Bytes = sizes[t.SHA256]
		if out[i], err = a.Streamed(ctx, s, t, &r.Value); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// Repeat makes each kept reduction again from its record, on all cores, and compares bit for bit. It fails when a record cannot be read
// from the file; a record that cannot be reduced is a departure. seen is shown what was made of each, on all cores at once, so that nobody who
// wants to look at the records reads them twice; nil when nobody does.
func (a *Access) Repeat(ctx context.Context, records []*Record, rs []store.Revision[store.Reduction], seen func(i int, w *reduce.WholeReduction)) (*Repeats, error) {
	out := &Repeats{Kept: len(rs)}
	differ, other := make([]*Departure, len(rs)), make([]error, len(rs))
	done := 0
	err := jobs.Local(ctx, len(rs), func() func(context.Context, int) error {
		return func(ctx context.Context, i int) error {
			g, err := a.Generation(rs[i].Value)
			if err != nil {
				other[i] = err
				return nil //nolint:nilerr // a generation that is not there departs; the others are repeated
			}
			again, err := records[i].again(ctx, g, i, seen)
			if err := errors.Join(ctx.Err(), records[i].Damage()); err != nil {
				return err
			}
			if err != nil {
				differ[i] = &Departure{Drop: rs[i].Value.Drop, Why: err}
				return nil //nolint:nilerr // what cannot be reduced departs; the others are repeated
			}
			text, err := json.Marshal(again)
			if err != nil {
				return fmt.Errorf("drop %s: %w", rs[i].Value.Drop, err)
			}
			differ[i], err = departure(rs[i].Value, text)
			return err
		}
	}, func(int) bool {
		done++
		a.Progress("reductions repeated", done, len(rs))
		return true
	})
	if err != nil {
		return nil, fmt.Errorf("stopped after %d reductions: %w", done, err)
	}
	for i := range rs {
		switch {
		case other[i] != nil:
			out.Other = append(out.Other, other[i])
		case differ[i] != nil:
			out.Differ = append(out.Differ, *differ[i])
		default:
			out.Same++
		}
	}
	return out, nil
}

// again is the reduction, with a look at the whole where somebody wants it.
func (r *Record) again(ctx context.Context, g reduce.Generation, i int, seen func(int, *reduce.WholeReduction)) (*reduce.Reduction, error) {
	if seen == nil {
		return r.Reduce(ctx, g)
	}
	w, err := r.whole(ctx, g)
	if err != nil {
		return nil, err
	}
	seen(i, w)
	return w.Reduction, nil
}

// departure compares a kept result with what the repeat gives; nil when they are the same bytes.
func departure(r store.Reduction, again []byte) (*Departure, error) {
	if bytes.Equal(r.Result, again) {
		return nil, nil //nolint:nilnil // there is none
	}
	found, err := same.JSON(r.Result, again, 0)
	if err != nil {
		return nil, fmt.Errorf("drop %s: %w", r.Drop, err)
	}
	d := &Departure{Drop: r.Drop, More: max(0, len(found.Differ)-1)}
	if k, err := ReadKept(r); err == nil {
		d.Made = k.Made
	}
	if len(found.Differ) == 0 {
		d.Where, d.Kept, d.Repeated = "the text of the result", fmt.Sprintf("%d bytes", len(r.Result)), fmt.Sprintf("%d bytes", len(again))
		return d, nil
	}
	shown := found.Differ[0]
	if d.Made != (same.Machine{}) && !d.Made.RoundsAs(same.Here()) {
		// Another machine explains what it may change, and nothing else.
		beyond, err := same.JSON(r.Result, again, same.Elsewhere)
		if err != nil {
			return nil, fmt.Errorf("drop %s: %w", r.Drop, err)
		}
		if d.LastBits = len(beyond.Differ) == 0; !d.LastBits {
			shown = beyond.Differ[0]
		}
	}
	d.Where, d.Kept, d.Repeated = shown.Where, shown.Expected, shown.Found
	return d, nil
}
