// Package storetest is what every store must do. A store's own test calls Run.
package storetest

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/store"
)

// Maker makes a new store with campaign c as its first entry.
type Maker func(t *testing.T, c store.Campaign, clock func() time.Time) store.Store

// Run holds the stores that open makes against the contract of store.Store.
func Run(t *testing.T, open Maker) {
	for _, c := range []struct {
		name string
		test func(*testing.T, Maker)
	}{
		{"campaign", campaign},
		{"rig", rig},
		{"drops", drops},
		{"drop kept whole", dropKeptWhole},
		{"drops refused", dropsRefused},
		{"traces", traces},
		{"trace of any bytes", traceOfAnyBytes},
		{"trace replaced", traceReplaced},
		{"reductions", reductions},
		{"reductions refused", reductionsRefused},
		{"decisions", decisions},
		{"notes", notes},
		{"checklists", checklists},
		{"photos", photos},
		{"photos refused", photosRefused},
		{"plan", planned},
		{"questions", asked},
		{"text that is not UTF-8", notUTF8},
		{"history", history},
		{"same acts, same head", sameHead},
		{"nothing shared with the caller", nothingShared},
		{"batch kept whole", batchKept},
		{"batch dropped whole", batchDropped},
		{"batch that panics", batchPanics},
		{"batch reads itself", batchReadsItself},
		{"batch that has ended", batchEnded},
		{"cancelled", cancelled},
		{"view of one state", viewOfOneState},
		{"many writers", manyWriters},
		{"verify", verify},
		{"pins", pins},
		{"closed", closed},
	} {
		t.Run(c.name, func(t *testing.T) { c.test(t, open) })
	}
}

// Question is the campaign that the suite works on.
func Question() store.Campaign {
	return store.Campaign{Name: "trial", Question: "does a knot halve the strength?", Invented: true, Notes: "made up for a test"}
}

// Clock ticks by 1.25 s from 2026-03-04 10:00 in a zone two hours ahead of UTC.
func Clock() func() time.Time {
	at := time.Date(2026, 3, 4, 10, 0, 0, 0, time.FixedZone("", 2*3600))
	return func() time.Time {
		at = at.Add(1250 * time.Millisecond)
		return at
	}
}

// Drop is a drop that passes Validate.
func Drop(id string) drop.Drop {
	return drop.Drop{
		ID:       id,
		Specimen: drop.Specimen{ID: "S-" + id, Material: "polyester", Construction: "webbing", Length: 0.9, Knot: "sewn"},
		Fall:     0.9,
		Record:   id + ".csv",
	}
}

// Rig is a rig that passes Validate, with a value in every kind of field.
func Rig() drop.Rig {
	latitude := quantity.Angle(0.8)
	return drop.Rig{
		Name: "mast", Mass: 100, MassU: 0.05, FallU: 0.002, Latitude: &latitude, Stiffness: 2e6, NodeMass: 0.5, Damping: 0.03,
		LoadCell: drop.LoadCell{Serial: "LC-1", Capacity: 5e4, Calibration: drop.CalibrationData{
			Date: "2026-01-01", Expires: "2027-01-01", Input: "mV/V",
			Readings: []drop.Reading{{Applied: 0, Shown: 0.0001}, {Applied: 1e4, Shown: 0.4}},
		}},
		Invented: true,
	}
}

// Checklist has every question answered, one of them skipped.
func Checklist(dropID string) drop.Checklist {
	c := drop.NewChecklist(dropID)
	for i := range c.Items {
		c.Items[i].State = drop.CheckDone
	}
	*c.Item(drop.CameraRuns) = drop.CheckItem{Key: drop.CameraRuns, State: drop.CheckSkipped, Reason: "battery empty"}
	c.Item(drop.ZeroStable).Found = "3 N over 1.0 s"
	return c
}

// Photo is a photo with all that must be stated.
func Photo(dropID string) store.Photo {
	return store.Photo{
		Drop: dropID, Name: "break.jpg", Caption: "parted at the knot", OriginalSHA256: store.SumHex([]byte("the original")), OriginalBytes: 12,
		Width: 4, Height: 3,
	}
}

func newCampaign(t *testing.T, open Maker) (context.Context, store.Store) {
	t.Helper()
	s := open(t, Question(), Clock())
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Errorf("Close: %v", err)
		}
	})
	return t.Context(), s
}

func must[T any](t *testing.T) func(T, error) T {
	t.Helper()
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func wrote(t *testing.T, want store.Effect) func(store.Receipt, error) store.Receipt {
	t.Helper()
	return func(r store.Receipt, err error) store.Receipt {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		if r.Effect != want {
			t.Fatalf("effect is %s, want %s", r.Effect, want)
		}
		return r
	}
}

// refused checks the reason, and that the sentence says place or fact and a way out.
func refused(t *testing.T, err, reason error) {
	t.Helper()
	if !errors.Is(err, reason) {
		t.Fatalf("error is %v, want one with the reason %q", err, reason)
	}
	var p *store.Problem
	if !errors.As(err, &p) {
		t.Fatalf("error %v is no Problem", err)
	}
	if p.Error() == "" || p.Fact == "" {
		t.Fatalf("the Problem %#v says nothing", p)
	}
}

// unmoved checks that fn leaves the history as it was.
func unmoved(t *testing.T, s store.Store, fn func()) {
	t.Helper()
	before := must[store.Head](t)(s.Head(t.Context()))
	fn()
	if after := must[store.Head](t)(s.Head(t.Context())); after != before {
		t.Fatalf("the head went from %d to %d", before.Seq, after.Seq)
	}
}

func holds(t *testing.T, s store.Store) store.Verification {
	t.Helper()
	v := must[store.Verification](t)(s.Verify(t.Context()))
	if v.Break != nil {
		t.Fatalf("verify: %s", v.Break)
	}
	return v
}

// Everything is all that a campaign's readers give.
func Everything(ctx context.Context, r store.Reader) (all []any, err error) {
	var errs []error
	add := func(v any, err error) {
		if err != nil && !errors.Is(err, store.ErrNotFound) {
			errs = append(errs, err)
		}
		all = append(all, v)
	}
	keep := func(f func() (any, error)) { add(f()) }
	keep(func() (any, error) { return r.Campaign(ctx) })
	keep(func() (any, error) { return r.RigHistory(ctx) })
	keep(func() (any, error) { return r.Traces(ctx) })
	keep(func() (any, error) { return r.Reductions(ctx) })
	keep(func() (any, error) { return r.Decisions(ctx) })
	keep(func() (any, error) { return r.Notes(ctx) })
	keep(func() (any, error) { return r.History(ctx) })
	drops, err := r.Drops(ctx)
	add(drops, err)
	for _, d := range drops {
		id := d.Value.ID
		keep(func() (any, error) { return r.DropHistory(ctx, id) })
		keep(func() (any, error) { return r.ReductionHistory(ctx, id) })
		keep(func() (any, error) { return r.DecisionHistory(ctx, id) })
		keep(func() (any, error) { _, data, err := r.Trace(ctx, id); return data, err })
	}
	return all, errors.Join(errs...)
}
