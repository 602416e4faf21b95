package memstore

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/store/sqlstore"
	"github.com/hardcatch/hardcatch/internal/store/storetest"
)

// TestFileAgreesWithMemory does the same random acts on a file and in memory. Both must give the same
// receipts, refuse the same acts, and read the same, to the hash, also after the file was reopened.
func TestFileAgreesWithMemory(t *testing.T) {
	t.Parallel()
	ctx, folder, run := t.Context(), t.TempDir(), 0
	template := filepath.Join(folder, "template")
	first, err := sqlstore.Create(ctx, template, storetest.Question(), sqlstore.Options{Clock: storetest.Clock()})
	mustDo(t, err)
	mustDo(t, first.Close())
	begun, err := os.ReadFile(template)
	mustDo(t, err)
	rapid.Check(t, func(rt *rapid.T) {
		run++
		path := filepath.Join(folder, fmt.Sprint(run))
		mustDo(t, os.WriteFile(path, begun, 0o666))
		fileClock := storetest.Clock()
		fileClock() // Created
		fileClock() // and the first entry
		file, err := sqlstore.Open(ctx, path, sqlstore.Options{Clock: fileClock})
		if err != nil {
			rt.Fatal(err)
		}
		defer func() { mustDo(t, file.Close()) }()
		memory, err := New(ctx, storetest.Question(), storetest.Clock())
		if err != nil {
			rt.Fatal(err)
		}
		for range rapid.IntRange(1, 25).Draw(rt, "acts") {
			act := anAct(rt)
			a, errA := act(file)
			b, errB := act(memory)
			if a != b || (errA == nil) != (errB == nil) || errA != nil && errA.Error() != errB.Error() {
				rt.Fatalf("on file: %+v, %v; in memory: %+v, %v", a, errA, b, errB)
			}
			if rapid.IntRange(0, 9).Draw(rt, "reopen") == 0 {
				mustDo(t, file.Close())
				if file, err = sqlstore.Open(ctx, path, sqlstore.Options{Clock: fileClock}); err != nil {
					rt.Fatal(err)
				}
			}
		}
		fromFile, err := storetest.Everything(ctx, file)
		if err != nil {
			rt.Fatal(err)
		}
		fromMemory, err := storetest.Everything(ctx, memory)
		if err != nil {
			rt.Fatal(err)
		}
		if d := cmp.Diff(fromMemory, fromFile); d != "" {
			rt.Fatalf("the file differs from memory (-memory +file):\n%s", d)
		}
		va, err := file.Verify(ctx)
		if err != nil || va.Break != nil {
			rt.Fatalf("verify: %v, %v", va.Break, err)
		}
		if vb, err := memory.Verify(ctx); err != nil || vb != va {
			rt.Fatalf("verify in memory: %+v, %v; on file: %+v", vb, err, va)
		}
	})
}

// anAct draws one write.
func anAct(rt *rapid.T) func(store.Writer) (store.Receipt, error) {
	ctx := rt.Context()
	id := rapid.SampledFrom([]string{"1", "2", "3", ""}).Draw(rt, "drop")
	n := rapid.IntRange(0, 3).Draw(rt, "variant")
	records := [][]byte{nil, []byte("0,0\n1,2\n"), make([]byte, 5000), []byte("\xff\x00")}
	switch rapid.SampledFrom([]string{"campaign", "rig", "drop", "trace", "reduction", "decision", "note"}).Draw(rt, "kind") {
	case "campaign":
		c := storetest.Question()
		c.Notes = fmt.Sprint(n)
		return func(w store.Writer) (store.Receipt, error) { return w.SetCampaign(ctx, c) }
	case "rig":
		r := storetest.Rig()
		r.Mass = quantity.Mass(n)
		return func(w store.Writer) (store.Receipt, error) { return w.SetRig(ctx, r) }
	case "drop":
		d := storetest.Drop(id)
		d.Fall = quantity.Length(n)
		return func(w store.Writer) (store.Receipt, error) { return w.AddDrop(ctx, d) }
	case "trace":
		return func(w store.Writer) (store.Receipt, error) {
			return w.AddTrace(ctx, id, "r.csv", store.Bytes(records[n]))
		}
	case "reduction":
		r := store.Reduction{Drop: id, TraceSHA256: store.SumHex(records[n]), Version: "v", Settings: []byte("{}"), Result: []byte("{}")}
		return func(w store.Writer) (store.Receipt, error) { return w.AddReduction(ctx, r) }
	case "decision":
		d := drop.Decision{Drop: id, Outcome: []drop.Outcome{drop.Held, drop.Broke, drop.Void, "odd"}[n]}
		return func(w store.Writer) (store.Receipt, error) { return w.Decide(ctx, d) }
	default:
		return func(w store.Writer) (store.Receipt, error) {
			return w.AddNote(ctx, store.Note{Drop: id, Text: []string{"", "a", "b", "c"}[n]})
		}
	}
}

func mustDo(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
