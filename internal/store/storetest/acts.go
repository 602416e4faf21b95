package storetest

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/store"
)

// Scenario enters one value of every kind and a revision or two: eleven entries, after which stores that
// were made with Question and Clock have the same head.
func Scenario(ctx context.Context, s store.Writer) error {
	original := []byte("t_s,F_N\n0,0\n0.001,12\n0.002,7\n")
	var errs []error
	act := func(_ store.Receipt, err error) { errs = append(errs, err) }
	act(s.SetRig(ctx, Rig()))
	act(s.AddDrop(ctx, Drop("1")))
	act(s.AddDrop(ctx, Drop("2")))
	act(s.AddTrace(ctx, "1", "1.csv", store.Bytes(original)))
	act(s.AddTrace(ctx, "2", "2.csv", store.Bytes(append([]byte("# second\n"), original...))))
	act(s.AddReduction(ctx, store.Reduction{
		Drop: "1", TraceSHA256: store.SumHex(original), Version: "reduce/1",
		Settings: json.RawMessage(`{"filter":"cfc60"}`), Result: json.RawMessage(`{"peak_N":12}`),
	}))
	act(s.Decide(ctx, drop.Decision{Drop: "1", Outcome: drop.Held, Reason: "tail at rest"}))
	act(s.Decide(ctx, drop.Decision{Drop: "1", Outcome: drop.Void, Reason: "release stuck", By: "ab"}))
	second := Drop("2")
	second.Specimen.Knot = "figure-eight"
	act(s.AddDrop(ctx, second))
	act(s.AddNote(ctx, store.Note{Drop: "2", Text: "swung"}))
	act(s.AddNote(ctx, store.Note{Text: "rain"}))
	return errors.Join(errs...)
}

func sameHead(t *testing.T, open Maker) {
	var heads [2]store.Head
	for i := range heads {
		ctx, s := newCampaign(t, open)
		if err := Scenario(ctx, s); err != nil {
			t.Fatal(err)
		}
		heads[i] = must[store.Head](t)(s.Head(ctx))
		holds(t, s)
	}
	if heads[0].Seq != 12 || heads[0] != heads[1] {
		t.Errorf("heads %v and %v, want the same at entry 12", heads[0], heads[1])
	}
}

func history(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	if err := Scenario(ctx, s); err != nil {
		t.Fatal(err)
	}
	entries := must[[]store.Entry](t)(s.History(ctx))
	var walk store.Walk
	var kinds []string
	for _, e := range entries {
		if b := walk.Step(e); b != nil {
			t.Fatal(b)
		}
		if !json.Valid([]byte(e.Payload)) {
			t.Errorf("entry %d: payload %s is not JSON", e.Seq, e.Payload)
		}
		kinds = append(kinds, string(e.Kind)+" "+e.Subject)
	}
	equal(t, kinds, []string{
		"campaign ", "rig ", "drop 1", "drop 2", "trace 1", "trace 2", "reduction 1", "decision 1", "decision 1", "drop 2", "note 2", "note ",
	})
	if entries[0].Prev != (store.Hash{}) {
		t.Errorf("the first entry follows %s, want zeros", entries[0].Prev)
	}
	// Two ticks of 1.25 s come before: one for Created, one for the entry.
	equal(t, entries[0].At, "2026-03-04T08:00:02.5Z")
	equal(t, entries[1].At, "2026-03-04T08:00:03.75Z")
	equal(t, entries[8].Payload, `{"by":"ab","drop":"1","outcome":"void","reason":"release stuck"}`)
	equal(t, must[store.Head](t)(s.Head(ctx)), walk.Head())
}

func nothingShared(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	d, r, original := Drop("1"), Rig(), record(800)
	d.Factors = map[string]string{"winters": "4"}
	reduction := store.Reduction{Drop: "1", TraceSHA256: store.SumHex(original), Version: "v", Settings: json.RawMessage(`{"a":1}`), Result: json.RawMessage(`[2]`)}
	wrote(t, store.Added)(s.SetRig(ctx, r))
	wrote(t, store.Added)(s.AddDrop(ctx, d))
	wrote(t, store.Added)(s.AddTrace(ctx, "1", "1.csv", store.Bytes(original)))
	wrote(t, store.Added)(s.AddReduction(ctx, reduction))
	spoil := func(d drop.Drop, r drop.Rig, original []byte, reduction store.Reduction) {
		d.Factors["winters"] = "5"
		*r.Latitude, r.LoadCell.Calibration.Readings[0].Shown = 1, 9
		original[5] ^= 1
		reduction.Settings[1], reduction.Result[1] = 'x', 'x'
	}
	spoil(d, r, original, reduction)
	for range 2 {
		gotDrop := must[store.Revision[drop.Drop]](t)(s.Drop(ctx, "1")).Value
		gotRig := must[store.Revision[drop.Rig]](t)(s.Rig(ctx)).Value
		gotReduction := must[store.Revision[store.Reduction]](t)(s.Reduction(ctx, "1")).Value
		_, data, err := s.Trace(ctx, "1")
		if err != nil || store.SumHex(data) != reduction.TraceSHA256 {
			t.Fatalf("the bytes changed, or %v", err)
		}
		equal(t, gotDrop.Factors, map[string]string{"winters": "4"})
		equal(t, gotRig, Rig())
		equal(t, string(gotReduction.Settings)+string(gotReduction.Result), `{"a":1}[2]`)
		spoil(gotDrop, gotRig, data, gotReduction)
	}
	holds(t, s)
}

func batchKept(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	err := s.Update(ctx, func(tx store.Tx) error {
		for i := range 70 {
			id := fmt.Sprint(i)
			if _, err := tx.AddDrop(ctx, Drop(id)); err != nil {
				return err
			}
			if _, err := tx.AddTrace(ctx, id, id+".csv", store.Bytes(record(2000+20*i))); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	v := holds(t, s)
	equal(t, [3]int64{v.Entries, v.Drops, v.Traces}, [3]int64{141, 70, 70})
}

func batchDropped(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	withTrace(t, s, "1")
	stop := errors.New("stop")
	unmoved(t, s, func() {
		err := s.Update(ctx, func(tx store.Tx) error {
			if err := Scenario(ctx, tx); err != nil {
				return err
			}
			return stop
		})
		if !errors.Is(err, stop) {
			t.Errorf("Update returned %v, want what fn returned", err)
		}
	})
	equal(t, len(must[[]store.Revision[drop.Drop]](t)(s.Drops(ctx))), 1)
	_, err := s.Drop(ctx, "2")
	refused(t, err, store.ErrNotFound)
	wrote(t, store.Added)(s.AddDrop(ctx, Drop("2")))
	v := holds(t, s)
	equal(t, [2]int64{v.Drops, v.Traces}, [2]int64{2, 1})
}

func batchPanics(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	unmoved(t, s, func() {
		defer func() {
			if recover() == nil {
				t.Error("the panic was swallowed")
			}
		}()
		_ = s.Update(ctx, func(tx store.Tx) error {
			wrote(t, store.Added)(tx.AddDrop(ctx, Drop("1")))
			panic("bug in the caller")
		})
	})
	wrote(t, store.Added)(s.AddDrop(ctx, Drop("1")))
	holds(t, s)
}

func batchReadsItself(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	err := s.Update(ctx, func(tx store.Tx) error {
		wrote(t, store.Added)(tx.AddDrop(ctx, Drop("1")))
		if _, err := tx.Drop(ctx, "1"); err != nil {
			return err
		}
		// A value that is refused does not end the batch.
		if _, err := tx.AddDrop(ctx, Drop("")); err == nil {
			t.Error("a nameless drop was taken")
		}
		if _, err := s.Drop(ctx, "1"); !errors.Is(err, store.ErrNotFound) {
			t.Errorf("outside the batch its drop is seen: %v", err)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	must[store.Revision[drop.Drop]](t)(s.Drop(ctx, "1"))
}

func batchEnded(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	var kept store.Tx
	if err := s.Update(ctx, func(tx store.Tx) error { kept = tx; return nil }); err != nil {
		t.Fatal(err)
	}
	unmoved(t, s, func() {
		_, err := kept.AddDrop(ctx, Drop("1"))
		refused(t, err, store.ErrClosed)
		_, err = kept.Drops(ctx)
		refused(t, err, store.ErrClosed)
	})
}

func cancelled(t *testing.T, open Maker) {
	_, s := newCampaign(t, open)
	unmoved(t, s, func() {
		ctx, cancel := context.WithCancel(t.Context())
		err := s.Update(ctx, func(tx store.Tx) error {
			wrote(t, store.Added)(tx.AddDrop(ctx, Drop("1")))
			cancel()
			return nil
		})
		if !errors.Is(err, context.Canceled) {
			t.Errorf("Update returned %v, want that it was cancelled", err)
		}
		if _, err := s.AddDrop(ctx, Drop("1")); !errors.Is(err, context.Canceled) {
			t.Errorf("AddDrop returned %v, want that it was cancelled", err)
		}
		if _, err := s.Drops(ctx); !errors.Is(err, context.Canceled) {
			t.Errorf("Drops returned %v, want that it was cancelled", err)
		}
	})
	wrote(t, store.Added)(s.AddDrop(t.Context(), Drop("1")))
	holds(t, s)
}

func viewOfOneState(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	wrote(t, store.Added)(s.AddDrop(ctx, Drop("1")))
	err := s.View(ctx, func(r store.Reader) error {
		before, err := r.Head(ctx)
		if err != nil {
			return err
		}
		wrote(t, store.Added)(s.AddDrop(ctx, Drop("2")))
		equal(t, must[store.Head](t)(r.Head(ctx)), before)
		equal(t, len(must[[]store.Revision[drop.Drop]](t)(r.Drops(ctx))), 1)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	equal(t, len(must[[]store.Revision[drop.Drop]](t)(s.Drops(ctx))), 2)
	want := errors.New("of the caller")
	if err := s.View(ctx, func(store.Reader) error { return want }); !errors.Is(err, want) {
		t.Errorf("View returned %v, want what fn returned", err)
	}
}

func manyWriters(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	const writers, each = 6, 15
	var wg sync.WaitGroup
	for w := range writers {
		wg.Go(func() {
			for i := range each {
				id := fmt.Sprintf("%d-%d", w, i)
				if _, err := s.AddDrop(ctx, Drop(id)); err != nil {
					t.Errorf("AddDrop %s: %v", id, err)
				}
				if _, err := s.Drop(ctx, id); err != nil {
					t.Errorf("Drop %s: %v", id, err)
				}
			}
		})
	}
	wg.Go(func() {
		for range each {
			if v, err := s.Verify(ctx); err != nil || v.Break != nil {
				t.Errorf("Verify beside writers: %v, %v", v.Break, err)
			}
		}
	})
	wg.Wait()
	equal(t, holds(t, s).Drops, int64(writers*each))
}

func verify(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	equal(t, holds(t, s).Entries, int64(1))
	if err := Scenario(ctx, s); err != nil {
		t.Fatal(err)
	}
	v := holds(t, s)
	equal(t, v, store.Verification{Entries: 12, Head: must[store.Head](t)(s.Head(ctx)), Drops: 2, Traces: 2, TraceBytes: 29 + 38})
}

func pins(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	if err := Scenario(ctx, s); err != nil {
		t.Fatal(err)
	}
	entries := must[[]store.Entry](t)(s.History(ctx))
	early, late := entries[3].Hash.String(), entries[11].Hash.String()
	v := must[store.Verification](t)(s.Verify(ctx, early, strings.ToUpper(late[:16])))
	if v.Break != nil {
		t.Errorf("pins of this history are not found: %s", v.Break)
	}
	foreign := strings.Repeat("0123456789abcdef", 4)
	v = must[store.Verification](t)(s.Verify(ctx, early, foreign))
	if v.Break == nil || !strings.Contains(v.Break.String(), foreign) {
		t.Errorf("a pin of another history gives %v", v.Break)
	}
	for _, bad := range []string{"", early[:15], early + "0", "not a hash at all"} {
		_, err := s.Verify(ctx, bad)
		refused(t, err, store.ErrInvalid)
	}
}

func closed(t *testing.T, open Maker) {
	s := open(t, Question(), time.Now)
	ctx := t.Context()
	for range 2 {
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
	_, err := s.AddDrop(ctx, Drop("1"))
	refused(t, err, store.ErrClosed)
	_, err = s.Drops(ctx)
	refused(t, err, store.ErrClosed)
	_, err = s.Verify(ctx)
	refused(t, err, store.ErrClosed)
	refused(t, s.View(ctx, func(store.Reader) error { return nil }), store.ErrClosed)
	refused(t, s.Update(ctx, func(store.Tx) error { return nil }), store.ErrClosed)
}
