package sqlstore

import (
	"errors"
	"flag"
	"os"
	"path/filepath"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/store"
)

var makeFrozen = flag.Bool("make-frozen", false, "make the frozen file of the current schema version, if it is not there")

// frozen is the file that schema version 1 was released with. The maker refuses to overwrite it: a
// file made by later code would no longer show that the first release's files open.
const frozen = "testdata/v1.sqlite"

// frozenHead was recomputed from the file by testdata/chain.py (Python 3.11.7, sqlite3 and hashlib).
const frozenHead = "93d058035e61890e851c9b51eea9e4a8386ac6870a215e56f81cfa299d4f192d"

func TestMakeFrozen(t *testing.T) {
	path := filepath.Join(t.TempDir(), "made.hardcatch")
	if *makeFrozen {
		path = frozen
	}
	atRest(t, path)
	v := verifyFile(t, path)
	if v.Break != nil {
		t.Error(v.Break)
	}
	t.Logf("head %s", v.Head.Hash)
}

func TestFrozenFileOpens(t *testing.T) {
	b, err := os.ReadFile(frozen)
	if err != nil {
		t.Fatal(err)
	}
	for way, open := range ways {
		t.Run(way, func(t *testing.T) {
			path := newPath(t)
			mustDo(t, os.WriteFile(path, b, 0o666))
			s, err := open(t.Context(), path)
			if err != nil {
				t.Fatal(err)
			}
			closeLater(t, s)
			v, err := s.Verify(t.Context(), frozenHead)
			if err != nil || v.Break != nil {
				t.Fatalf("verify: %v, %v", v.Break, err)
			}
			if v.Entries != 12 || v.Drops != 2 || v.Traces != 2 {
				t.Errorf("verify saw %+v", v)
			}
			knownContent(t, s)
			noTower(t, s)
		})
	}
}

// noTower reads what came with a later schema: there is none of it, and reading says no more than that.
func noTower(t *testing.T, s *Store) {
	t.Helper()
	ctx := t.Context()
	for what, read := range map[string]func() (int, error){
		"checklists": func() (int, error) { v, err := s.Checklists(ctx); return len(v), err },
		"history":    func() (int, error) { v, err := s.ChecklistHistory(ctx, "1"); return len(v), err },
		"photos":     func() (int, error) { v, err := s.Photos(ctx); return len(v), err },
		"drop":       func() (int, error) { v, err := s.DropPhotos(ctx, "1"); return len(v), err },
	} {
		if n, err := read(); n != 0 || err != nil {
			t.Errorf("%s: %d, %v", what, n, err)
		}
	}
	_, err := s.PhotoBytes(ctx, frozenHead)
	if !errors.Is(err, store.ErrNotFound) {
		t.Error(err)
	}
}

func knownContent(t *testing.T, s *Store) {
	t.Helper()
	ctx := t.Context()
	c, err := s.Campaign(ctx)
	mustDo(t, err)
	if c.Value.Question != "does a knot halve the strength?" || !c.Value.Invented || c.At.Format("2006-01-02 15:04:05.0") != "2026-03-04 08:00:02.5" {
		t.Errorf("campaign %+v", c)
	}
	rig, err := s.Rig(ctx)
	mustDo(t, err)
	if rig.Value.Mass != 100 || rig.Value.LoadCell.Calibration.Readings[1].Shown != 0.4 || *rig.Value.Latitude != 0.8 {
		t.Errorf("rig %+v", rig)
	}
	d, err := s.Drop(ctx, "2")
	mustDo(t, err)
	if d.Seq != 10 || d.Value.Specimen.Knot != "figure-eight" || d.Value.Fall != 0.9 {
		t.Errorf("drop %+v", d)
	}
	trace, data, err := s.Trace(ctx, "1")
	mustDo(t, err)
	if trace.Value.Name != "1.csv" || string(data) != "t_s,F_N\n0,0\n0.001,12\n0.002,7\n" {
		t.Errorf("trace %+v, %q", trace, data)
	}
	r, err := s.Reduction(ctx, "1")
	mustDo(t, err)
	if r.Value.Version != "reduce/1" || string(r.Value.Settings) != `{"filter":"cfc60"}` || string(r.Value.Result) != `{"peak_N":12}` {
		t.Errorf("reduction %+v", r)
	}
	decisions, err := s.DecisionHistory(ctx, "1")
	mustDo(t, err)
	if len(decisions) != 2 || decisions[0].Value.Outcome != drop.Held || decisions[1].Value.Outcome != drop.Void {
		t.Errorf("decisions %+v", decisions)
	}
	notes, err := s.Notes(ctx)
	mustDo(t, err)
	if len(notes) != 2 || notes[0].Value != (store.Note{Drop: "2", Text: "swung"}) || notes[1].Value.Text != "rain" {
		t.Errorf("notes %+v", notes)
	}
}
