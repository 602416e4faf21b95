package sqlstore

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/store/storetest"
)

// tamper changes a file at rest as somebody with a SQLite shell would who knows of the triggers: they
// are taken off and put back.
func tamper(t *testing.T, path string, statements ...string) {
	t.Helper()
	db := raw(t, path)
	execRaw(t, db, "PRAGMA foreign_keys = off")
	guards, err := objectsOf(t.Context(), reads{q: db, place: path})
	mustDo(t, err)
	guards = slices.DeleteFunc(guards, func(o object) bool { return o.kind != "trigger" })
	if len(guards) < 20 {
		t.Fatalf("only %d triggers guard the file", len(guards))
	}
	for _, g := range guards {
		execRaw(t, db, "DROP TRIGGER "+g.name)
	}
	for _, q := range statements {
		done, err := db.ExecContext(t.Context(), q)
		if err != nil {
			t.Fatalf("%s: %v", q, err)
		}
		if n, err := done.RowsAffected(); err != nil || n == 0 {
			t.Fatalf("%s: changed %d rows, %v", q, n, err)
		}
	}
	for _, g := range guards {
		execRaw(t, db, g.text)
	}
	mustDo(t, db.Close())
}

func verifyFile(t *testing.T, path string, pins ...string) store.Verification {
	t.Helper()
	s, err := OpenReadOnly(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { mustDo(t, s.Close()) }()
	v, err := s.Verify(t.Context(), pins...)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// The scenario's entries: 1 campaign, 2 rig, 3 drop 1, 4 drop 2, 5 trace 1, 6 trace 2, 7 reduction 1,
// 8 and 9 decision 1, 10 drop 2, 11 note 2, 12 note.
func TestVerifyFindsTampering(t *testing.T) {
	t.Parallel()
	const anyHash = "zeroblob(32)"
	for _, c := range []struct {
		table, statement string
		seq              int64 // the entry that is named, 0 for none
	}{
		{"history", "UPDATE history SET at = '2026-03-04T08:00:00Z' WHERE seq = 8", 8},
		{"history", "UPDATE history SET kind = 'note' WHERE seq = 8", 8},
		{"history", "UPDATE history SET subject = '2' WHERE seq = 8", 8},
		{"history", "UPDATE history SET payload = replace(payload, 'held', 'broke') WHERE seq = 8", 8},
		{"history", "UPDATE history SET payload = payload || ' ' WHERE seq = 12", 12},
		{"history", "UPDATE history SET prev_hash = " + anyHash + " WHERE seq = 8", 8},
		{"history", "UPDATE history SET hash = " + anyHash + " WHERE seq = 8", 8},
		{"history", "UPDATE history SET seq = 20 WHERE seq = 12", 20},
		{"history", "UPDATE history SET seq = 0 WHERE seq = 1", 2},
		{"history", "UPDATE history SET seq = -3 WHERE seq = 12", -3},
		{"history", "DELETE FROM history WHERE seq = 1", 2},
		{"history", "DELETE FROM history WHERE seq = 8", 9},
		{"drop_revision", "DELETE FROM history WHERE seq > 8", 0},
		{"history", "DELETE FROM history", 0},
		{"history", "INSERT INTO history SELECT 13, at, kind, subject, payload, hash, " + anyHash + " FROM history WHERE seq = 12", 13},
		{"history", "INSERT INTO history SELECT -1, at, kind, subject, payload, hash, " + anyHash + " FROM history WHERE seq = 12", -1},

		{"campaign_revision", "UPDATE campaign_revision SET body = replace(body, 'halve', 'double')", 1},
		{"campaign_revision", "DELETE FROM campaign_revision", 1},
		{"campaign_revision", "INSERT INTO campaign_revision VALUES (12, '{}')", 0},
		{"rig_revision", "UPDATE rig_revision SET body = replace(body, '100', '101')", 2},
		{"rig_revision", "DELETE FROM rig_revision", 2},
		{"rig_revision", "INSERT INTO rig_revision SELECT 12, body FROM rig_revision", 0},
		{"drop_id", "UPDATE drop_id SET id = '3' WHERE id = '1'", 3},
		{"drop_id", "UPDATE drop_id SET seq = 10 WHERE id = '2'", 4},
		{"drop_id", "UPDATE drop_id SET seq = 1 WHERE id = '2'", 0},
		{"drop_id", "DELETE FROM drop_id WHERE id = '2'", 4},
		{"drop_id", "INSERT INTO drop_id VALUES ('3', 12)", 0},
		{"drop_revision", "UPDATE drop_revision SET body = replace(body, '0.9', '0.8') WHERE seq = 3", 3},
		{"drop_revision", "UPDATE drop_revision SET drop_id = '2' WHERE seq = 3", 3},
		{"drop_revision", "UPDATE drop_revision SET seq = 11 WHERE seq = 10", 10},
		{"drop_revision", "DELETE FROM drop_revision WHERE seq = 10", 10},
		{"drop_revision", "INSERT INTO drop_revision SELECT 12, drop_id, body FROM drop_revision WHERE seq = 3", 0},
		{"trace", "UPDATE trace SET name = '2.csv' WHERE seq = 5", 5},
		{"trace", "UPDATE trace SET drop_id = '2' WHERE seq = 5", 5},
		{"trace", "UPDATE trace SET sha256 = (SELECT sha256 FROM trace WHERE seq = 6) WHERE seq = 5", 5},
		{"trace", "DELETE FROM trace WHERE seq = 5", 5},
		{"trace", "INSERT INTO trace SELECT 12, drop_id, sha256, name FROM trace WHERE seq = 5", 0},
		{"trace_bytes", "UPDATE trace_bytes SET data = CAST(replace(CAST(data AS TEXT), '12', '13') AS BLOB) WHERE bytes = 29", 5},
		{"trace_bytes", "UPDATE trace_bytes SET data = substr(data, 1, 20) WHERE bytes = 29", 5},
		{"trace_bytes", "UPDATE trace_bytes SET coding = 'zstd' WHERE bytes = 29", 5},
		{"trace", "UPDATE trace_bytes SET bytes = 28 WHERE bytes = 29", 5},
		{"trace", "DELETE FROM trace_bytes WHERE bytes = 38", 6},
		{"trace_bytes", "INSERT INTO trace_bytes VALUES ('" + strings.Repeat("0", 64) + "', 1, 'plain', x'00')", 0},
		{"reduction", "UPDATE reduction SET result = CAST('{\"peak_N\":11}' AS BLOB)", 7},
		{"reduction", "UPDATE reduction SET settings = CAST('{}' AS BLOB)", 7},
		{"reduction", "UPDATE reduction SET version = 'reduce/2'", 7},
		{"reduction", "UPDATE reduction SET drop_id = '2'", 7},
		{"reduction", "UPDATE reduction SET trace_sha256 = (SELECT sha256 FROM trace WHERE seq = 6)", 7},
		{"reduction", "DELETE FROM reduction", 7},
		{"reduction", "INSERT INTO reduction SELECT 12, drop_id, trace_sha256, version, settings, result FROM reduction", 0},
		{"decision", "UPDATE decision SET body = replace(body, 'void', 'held') WHERE seq = 9", 9},
		{"decision", "UPDATE decision SET drop_id = '2' WHERE seq = 9", 9},
		{"decision", "DELETE FROM decision WHERE seq = 9", 9},
		{"decision", "INSERT INTO decision SELECT 12, drop_id, body FROM decision WHERE seq = 8", 0},
		{"note", "UPDATE note SET body = '{\"text\":\"sun\"}' WHERE seq = 12", 12},
		{"note", "UPDATE note SET body = 'not JSON' WHERE seq = 12", 12},
		{"note", "UPDATE note SET drop_id = NULL WHERE seq = 11", 11},
		{"note", "DELETE FROM note WHERE seq = 12", 12},
		{"note", "INSERT INTO note SELECT 10, NULL, body FROM note WHERE seq = 12", 0},
	} {
		t.Run(c.statement, func(t *testing.T) {
			path := newPath(t)
			atRest(t, path)
			tamper(t, path, c.statement)
			b := verifyFile(t, path).Break
			if b == nil {
				t.Fatal("was not found")
			}
			t.Log(b)
			if b.Table != c.table || b.Seq != c.seq || b.Fact == "" || b.WayOut == "" {
				t.Errorf("the break is at entry %d in table %s, want entry %d in table %s", b.Seq, b.Table, c.seq, c.table)
			}
		})
	}
}

// Tampering alone with the test's way of doing it must not be what Verify finds.
func TestVerifyHoldsAfterGuardsWereTakenOffAndPutBack(t *testing.T) {
	path := newPath(t)
	atRest(t, path)
	tamper(t, path)
	if b := verifyFile(t, path).Break; b != nil {
		t.Error(b)
	}
}

func TestVerifyFindsAlteredSchema(t *testing.T) {
	for _, statement := range []string{
		"DROP TRIGGER history_no_update",
		"DROP INDEX trace_by_drop",
		"CREATE TRIGGER late AFTER INSERT ON note BEGIN SELECT 1; END",
		"CREATE TABLE song (title TEXT)",
		"ALTER TABLE note ADD COLUMN mood TEXT",
		"CREATE VIEW loud AS SELECT * FROM note",
	} {
		t.Run(statement, func(t *testing.T) {
			path := newPath(t)
			atRest(t, path)
			db := raw(t, path)
			execRaw(t, db, statement)
			mustDo(t, db.Close())
			b := verifyFile(t, path).Break
			if b == nil || b.Table != "schema" {
				t.Fatalf("the break is %v", b)
			}
			t.Log(b)
		})
	}
}

// rewrite makes the history of a file anew from entry seq on, with change applied to that entry: what
// somebody does who knows how the hash is made.
func rewrite(t *testing.T, path string, seq int64, change func(*store.Entry), alsoState string) {
	t.Helper()
	s, err := OpenReadOnly(t.Context(), path)
	mustDo(t, err)
	all, err := s.History(t.Context())
	mustDo(t, err)
	mustDo(t, s.Close())
	statements := []string{alsoState}
	for i := seq - 1; i < int64(len(all)); i++ {
		e := all[i]
		if e.Seq == seq {
			change(&e)
		}
		e.Prev = store.Hash{}
		if i > 0 {
			e.Prev = all[i-1].Hash
		}
		e.Hash = store.HashEntry(e)
		all[i] = e
		statements = append(statements, fmt.Sprintf("UPDATE history SET payload = '%s', prev_hash = x'%s', hash = x'%s' WHERE seq = %d",
			strings.ReplaceAll(e.Payload, "'", "''"), e.Prev, e.Hash, e.Seq))
	}
	tamper(t, path, statements...)
}

// A history that was made anew throughout, or cut off at the end together with its state, is whole in
// itself. Only a logbook hash printed before gives it away.
func TestPinFindsRewrittenHistory(t *testing.T) {
	for name, forge := range map[string]func(t *testing.T, path string){
		"rewritten": func(t *testing.T, path string) {
			rewrite(t, path, 8, func(e *store.Entry) { e.Payload = strings.Replace(e.Payload, "tail at rest", "no tail", 1) },
				"UPDATE decision SET body = replace(body, 'tail at rest', 'no tail') WHERE seq = 8")
		},
		"cut off": func(t *testing.T, path string) {
			tamper(t, path, "DELETE FROM note WHERE seq = 12", "DELETE FROM history WHERE seq = 12")
		},
	} {
		t.Run(name, func(t *testing.T) {
			path := newPath(t)
			head := atRest(t, path)
			forge(t, path)
			if b := verifyFile(t, path).Break; b != nil {
				t.Fatalf("the forgery is not whole: %s", b)
			}
			b := verifyFile(t, path, head.Hash.String()).Break
			if b == nil {
				t.Fatal("the pin did not find it")
			}
			t.Log(b)
		})
	}
}

// In an entry's middle the rewriting stops: the next one still names the old hash.
func TestVerifyFindsRehashedEntry(t *testing.T) {
	path := newPath(t)
	atRest(t, path)
	s, err := OpenReadOnly(t.Context(), path)
	mustDo(t, err)
	all, err := s.History(t.Context())
	mustDo(t, err)
	mustDo(t, s.Close())
	e := all[7]
	e.Payload = strings.Replace(e.Payload, "held", "slipped", 1)
	tamper(t, path, fmt.Sprintf("UPDATE history SET payload = '%s', hash = x'%s' WHERE seq = 8", e.Payload, store.HashEntry(e)),
		"UPDATE decision SET body = replace(body, 'held', 'slipped') WHERE seq = 8")
	if b := verifyFile(t, path).Break; b == nil || b.Seq != 9 {
		t.Errorf("the break is %v, want it at entry 9", b)
	}
}

func TestTriggersGuardEveryTable(t *testing.T) {
	path := newPath(t)
	towerAtRest(t, path)
	longAtRest(t, path)
	db := raw(t, path)
	tables := []string{"history"}
	for _, s := range stateTables {
		tables = append(tables, s.name)
	}
	for _, table := range tables {
		columns, err := list(t.Context(), reads{q: db, place: path}, scanText, "SELECT name FROM pragma_table_info(?)", table)
		mustDo(t, err)
		for _, q := range []string{
			"DELETE FROM " + table,
			"UPDATE " + table + " SET " + columns[0] + " = " + columns[0],
			"INSERT OR REPLACE INTO " + table + " SELECT * FROM " + table + " LIMIT 1",
			"INSERT OR IGNORE INTO " + table + " SELECT * FROM " + table + " LIMIT 1",
		} {
			if _, err := db.ExecContext(t.Context(), q); err == nil || !strings.Contains(err.Error(), table) {
				t.Errorf("%s: %v", q, err)
			}
		}
	}
	// A row of state for an entry of another kind, or for one that is not the last.
	for _, q := range []string{
		"INSERT INTO rig_revision SELECT 12, body FROM rig_revision",
		"INSERT INTO note SELECT 1, NULL, body FROM note WHERE seq = 12",
		"INSERT INTO history SELECT 13, at, kind, subject, payload, zeroblob(32), randomblob(32) FROM history WHERE seq = 12",
		"INSERT INTO history SELECT 14, at, kind, subject, payload, hash, randomblob(32) FROM history WHERE seq = 12",
	} {
		if _, err := db.ExecContext(t.Context(), q); err == nil {
			t.Errorf("%s: was taken", q)
		}
	}
	mustDo(t, db.Close())
	if b := verifyFile(t, path).Break; b != nil {
		t.Error(b)
	}
}

func TestReadingChecksTheTrace(t *testing.T) {
	path := newPath(t)
	atRest(t, path)
	tamper(t, path, "UPDATE trace_bytes SET data = zeroblob(29) WHERE bytes = 29")
	s, err := OpenReadOnly(t.Context(), path)
	mustDo(t, err)
	closeLater(t, s)
	_, _, err = s.Trace(t.Context(), "1")
	refused(t, err, store.ErrDamaged, path)
	if _, _, err := s.Trace(t.Context(), "2"); err != nil {
		t.Errorf("the trace that was left alone: %v", err)
	}
}

// TestFlippedBits flips single bits anywhere in the file. Each must be refused, or found by Verify, or
// lie where nothing is kept, so that everything reads as before.
func TestFlippedBits(t *testing.T) {
	t.Parallel()
	path := newPath(t)
	atRest(t, path)
	good := fileBytes(path)
	read := func() ([]any, error) {
		s, err := OpenReadOnly(t.Context(), path)
		if err != nil {
			return nil, err
		}
		defer func() { mustDo(t, s.Close()) }()
		if err := verified(t.Context(), s); err != nil {
			return nil, err
		}
		return storetest.Everything(t.Context(), s)
	}
	want, err := read()
	mustDo(t, err)
	r := rand.New(rand.NewPCG(11, 12))
	found, harmless := 0, 0
	for range 150 {
		bad := bytes.Clone(good)
		at := r.IntN(len(bad))
		bad[at] ^= 1 << r.IntN(8)
		mustDo(t, os.WriteFile(path, bad, 0o666))
		got, err := read()
		if err != nil {
			found++
			continue
		}
		harmless++
		if d := cmp.Diff(want, got); d != "" {
			t.Fatalf("a bit of byte %d was flipped and not found, yet the campaign differs:\n%s", at, d)
		}
	}
	t.Logf("%d flips found, %d harmless", found, harmless)
	if found == 0 {
		t.Error("no flip was found")
	}
}
