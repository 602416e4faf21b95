package sqlstore

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/hardcatch/hardcatch/internal/store"
)

// Verify implements store.Store. It checks, in this order, SQLite's own structure, the tables, each
// history entry with the row of state that belongs to it, that no row of state is without an entry,
// and that the triggers that guard against changes are in place.
func (s *Store) Verify(ctx context.Context, pins ...string) (store.Verification, error) {
	wanted, err := store.NewPinSet(pins)
	if err != nil {
		return store.Verification{}, err
	}
	v := verifier{ctx: ctx, pins: wanted, summed: map[string]bool{}, seen: map[string]bool{}, rows: map[string]int64{}}
	err = s.View(ctx, func(r store.Reader) error {
		v.reads = r.(reads)
		return v.run(s.schema)
	})
	v.out.Head = v.walk.Head()
	v.out.Entries = v.out.Head.Seq
	// A file whose pages do not hold together any more shows itself as an error of reading.
	if errors.Is(err, store.ErrDamaged) {
		v.out.Break = store.BreakIn("file", err.Error())
		return v.out, nil
	}
	return v.out, err
}

// verifier goes once through a file. It stops at the first break, which is then in out.Break.
type verifier struct {
	reads
	ctx    context.Context
	walk   store.Walk
	pins   *store.PinSet
	summed map[string]bool  // originals whose SHA-256 was recomputed
	seen   map[string]bool  // photos whose SHA-256 was recomputed
	rows   map[string]int64 // rows of state accounted for, by table
	out    store.Verification
}

func (v *verifier) run(s schema) error {
	steps := []func() error{
		v.pages,
		func() error { return v.objects(s, "table", "index") },
		v.entries,
		v.orphans,
		func() error { return v.objects(s, "trigger", "view") },
	}
	for _, step := range steps {
		if err := step(); err != nil || v.out.Break != nil {
			return err
		}
	}
	v.out.Break = v.pins.Missing()
	return nil
}

func scanText(rows *sql.Rows) (string, error) {
	var s string
	return s, rows.Scan(&s)
}

// pages lets SQLite check its structure.
func (v *verifier) pages() error {
	said, err := list(v.ctx, v.reads, scanText, "PRAGMA integrity_check(1)")
	if err != nil {
		return err
	}
	if len(said) != 1 || said[0] != "ok" {
		v.out.Break = store.BreakIn("file", "SQLite finds the file damaged: "+strings.Join(said, ", "))
	}
	return nil
}

// pageOfEntries is how many entries are read at once, so that a long history needs little memory.
const pageOfEntries = 256

func (v *verifier) entries() error {
	for {
		batch, err := list(v.ctx, v.reads, scanEntry, entries+"WHERE seq > ? ORDER BY seq LIMIT ?", v.walk.Head().Seq, pageOfEntries)
		if err != nil {
			return err
		}
		if len(batch) == 0 {
			break
		}
		for _, e := range batch {
			if v.out.Break = v.walk.Step(e); v.out.Break != nil {
				return nil
			}
			v.pins.See(e.Hash)
			if err := v.state(e); err != nil || v.out.Break != nil {
				return err
			}
		}
	}
	return v.startsAtOne()
}

// startsAtOne catches entries that stand before the first, which the walk upwards does not meet.
func (v *verifier) startsAtOne() error {
	e, found, err := first(v.ctx, v.reads, scanEntry, entries+"WHERE seq < 1 ORDER BY seq LIMIT 1")
	switch {
	case err != nil:
		return err
	case found:
		v.out.Break = store.BreakAt(e, "history", "stands before the first entry")
	case v.walk.Head().Seq == 0:
		v.out.Break = store.BreakIn("history", "the logbook is empty")
	}
	return nil
}

// state holds the row of state of e against what e says.
func (v *verifier) state(e store.Entry) error {
	switch e.Kind {
	case store.KindCampaign:
		return v.body(e, "campaign_revision", "''")
	case store.KindRig:
		return v.body(e, "rig_revision", "''")
	case store.KindNote:
		return v.body(e, "note", "coalesce(drop_id, '')")
	case store.KindDecision:
		return v.body(e, "decision", "drop_id")
	case store.KindDrop:
		if err := v.body(e, "drop_revision", "drop_id"); err != nil || v.out.Break != nil {
			return err
		}
		return v.dropID(e)
	case store.KindChecklist:
		return v.body(e, "checklist", "drop_id")
	case store.KindPhoto:
		return v.photo(e)
	case store.KindTrace:
		return v.trace(e)
	case store.KindReduction:
		return v.reduction(e)
	case store.KindPlan, store.KindQuestion:
		return nil // their hash has been checked, and there is no other state of them
	}
	v.out.Break = store.BreakAt(e, "history", fmt.Sprintf("its kind %q is not known", e.Kind))
	return nil
}

// differs records a break of the table unless a row was found and gives back subject and payload.
func (v *verifier) differs(e store.Entry, table string, found bool, subject, payload string) bool {
	switch {
	case !found:
		v.out.Break = store.BreakAt(e, table, "the table "+table+" has lost its row")
	case subject != e.Subject:
		v.out.Break = store.BreakAt(e, table, fmt.Sprintf("in the table %s it belongs to %q", table, subject))
	case payload != e.Payload:
		v.out.Break = store.BreakAt(e, table, fmt.Sprintf("the table %s holds %s, but %s was entered", table, excerpt(payload, e.Payload), excerpt(e.Payload, payload)))
	default:
		v.rows[table]++
		return false
	}
	return true
}

// unreadable records a break of the table at what cannot be read back. That is a finding, no failure
// of the verification, and it returns nil.
func (v *verifier) unreadable(e store.Entry, table string, cause error) error {
	v.out.Break = store.BreakAt(e, table, "the table "+table+" holds what cannot be read back: "+cause.Error())
	return nil
}

// excerpt is the part of text around the first byte that differs from other.
func excerpt(text, other string) string {
	const around = 40
	at := 0
	for at < len(text) && at < len(other) && text[at] == other[at] {
		at++
	}
	from, to := max(0, at-around), min(len(text), at+around)
	return strings.ToValidUTF8(fmt.Sprintf("…%s…", text[from:to]), "")
}

func (v *verifier) body(e store.Entry, table, subject string) error {
	type row struct{ subject, body string }
	r, found, err := first(v.ctx, v.reads, func(rows *sql.Rows) (row, error) {
		var r row
		return r, rows.Scan(&r.subject, &r.body)
	}, fmt.Sprintf("SELECT %s, body FROM %s WHERE seq = ?", subject, table), e.Seq)
	if err != nil {
		return err
	}
	v.differs(e, table, found, r.subject, r.body)
	return nil
}

// dropID holds the list of drops against the first entry of each.
func (v *verifier) dropID(e store.Entry) error {
	since, found, err := first(v.ctx, v.reads, func(rows *sql.Rows) (int64, error) {
		var seq int64
		return seq, rows.Scan(&seq)
	}, "SELECT seq FROM drop_id WHERE id = ?", e.Subject)
	switch {
	case err != nil:
		return err
	case !found:
		v.out.Break = store.BreakAt(e, "drop_id", "the table drop_id has lost its row")
	case since > e.Seq:
		v.out.Break = store.BreakAt(e, "drop_id", fmt.Sprintf("the table drop_id says that the drop was first added by entry %d", since))
	case since == e.Seq:
		v.out.Drops++
		v.rows["drop_id"]++
	}
	return nil
}

func (v *verifier) trace(e store.Entry) error {
	t, found, err := first(v.ctx, v.reads, func(rows *sql.Rows) (store.Trace, error) {
		var t store.Trace
		return t, rows.Scan(&t.Drop, &t.Name, &t.SHA256, &t.Bytes)
	}, "SELECT r.drop_id, r.name, r.sha256, coalesce(b.bytes, 0) FROM trace r LEFT JOIN trace_bytes b ON b.sha256 = r.sha256 WHERE r.seq = ?", e.Seq)
	if err != nil {
		return err
	}
	sealed, err := store.ResealTrace(t)
	if err != nil {
		return v.unreadable(e, "trace", err)
	}
	if v.differs(e, "trace", found, t.Drop, string(sealed.Payload)) || v.summed[t.SHA256] {
		return nil
	}
	return v.original(e, t)
}

// original recomputes the SHA-256 of a trace.
func (v *verifier) original(e store.Entry, t store.Trace) error {
	parts, found, err := v.readOriginal(v.ctx, t.SHA256, io.Discard)
	switch {
	case errors.Is(err, errNotOriginal):
		return v.unreadable(e, "trace_bytes", fmt.Errorf("trace %s (%s): %w", t.SHA256, t.Name, err))
	case err != nil:
		return err
	case !found:
		v.out.Break = store.BreakAt(e, "trace_bytes", "the bytes of trace "+t.SHA256+" are gone")
		return nil
	}
	v.summed[t.SHA256] = true
	v.rows["trace_bytes"]++
	v.rows["trace_part"] += parts
	v.out.Traces++
	v.out.TraceBytes += t.Bytes
	return nil
}

func (v *verifier) reduction(e store.Entry) error {
	r, found, err := first(v.ctx, v.reads, func(rows *sql.Rows) (store.Reduction, error) {
		var r store.Reduction
		var settings, result []byte
		err := rows.Scan(&r.Drop, &r.TraceSHA256, &r.Version, &settings, &result)
		r.Settings, r.Result = settings, result
		return r, err
	}, "SELECT drop_id, trace_sha256, version, settings, result FROM reduction WHERE seq = ?", e.Seq)
	if err != nil {
		return err
	}
	sealed, err := store.ResealReduction(r)
	if err != nil {
		return v.unreadable(e, "reduction", err)
	}
	v.differs(e, "reduction", found, r.Drop, string(sealed.Payload))
	return nil
}

// photo holds the row of a photo against its entry, and its bytes against their hash.
func (v *verifier) photo(e store.Entry) error {
	if err := v.body(e, "photo", "drop_id"); err != nil || v.out.Break != nil {
		return err
	}
	sum, _, err := first(v.ctx, v.reads, scanText, "SELECT sha256 FROM photo WHERE seq = ?", e.Seq)
	if err != nil {
		return err
	}
	var p store.Photo
	if err := json.Unmarshal([]byte(e.Payload), &p); err != nil {
		return v.unreadable(e, "photo", err)
	}
	if sum != p.SHA256 {
		v.out.Break = store.BreakAt(e, "photo", fmt.Sprintf("in the table photo it points to the bytes %s, but %s was entered", sum, p.SHA256))
		return nil
	}
	if v.seen[sum] {
		return nil
	}
	kept, found, err := first(v.ctx, v.reads, scanBlob, "SELECT data FROM photo_bytes WHERE sha256 = ?", sum)
	if err != nil {
		return err
	}
	if !found {
		v.out.Break = store.BreakAt(e, "photo_bytes", "the bytes of photo "+sum+" are gone")
		return nil
	}
	if got := store.SumHex(kept); got != sum {
		return v.unreadable(e, "photo_bytes", fmt.Errorf("photo %s (%s): its bytes have the SHA-256 %s", sum, p.Name, got))
	}
	v.seen[sum] = true
	v.rows["photo_bytes"]++
	v.out.Photos++
	v.out.PhotoBytes += int64(len(kept))
	return nil
}

// stateTables is every table beside the history, with its key and the schema version that brought it.
var stateTables = []struct {
	name, key string
	since     int
}{
	{"campaign_revision", "seq", 1}, {"rig_revision", "seq", 1}, {"drop_id", "id", 1}, {"drop_revision", "seq", 1}, {"trace", "seq", 1},
	{"trace_bytes", "sha256", 1}, {"reduction", "seq", 1}, {"decision", "seq", 1}, {"note", "seq", 1},
	{"checklist", "seq", towerSchema}, {"photo", "seq", towerSchema}, {"photo_bytes", "sha256", towerSchema},
	{"trace_part", "sha256", partSchema},
}

// orphans finds a table with more rows than the history accounts for.
func (v *verifier) orphans() error {
	for _, t := range stateTables {
		if t.since > v.version {
			continue
		}
		count, _, err := first(v.ctx, v.reads, func(rows *sql.Rows) (int64, error) {
			var n int64
			return n, rows.Scan(&n)
		}, "SELECT count(*) FROM "+t.name)
		if err != nil {
			return err
		}
		if count != v.rows[t.name] {
			v.out.Break = store.BreakIn(t.name, fmt.Sprintf("the table %s has %d rows, but the logbook accounts for %d", t.name, count, v.rows[t.name]))
			return nil
		}
	}
	return nil
}

// objects compares what the file has of two types of schema object with what a new file has.
func (v *verifier) objects(s schema, type1, type2 string) error {
	want, err := s.fresh()
	if err != nil {
		return err
	}
	have, err := objectsOf(v.ctx, v.reads)
	if err != nil {
		return err
	}
	others := func(o object) bool { return o.kind != type1 && o.kind != type2 }
	if fact := compare(slices.DeleteFunc(slices.Clone(want), others), slices.DeleteFunc(have, others)); fact != "" {
		v.out.Break = store.BreakIn("schema", fact)
	}
	return nil
}

// freshObjects is what a new file of the schema has.
func freshObjects(s schema) (out []object, err error) {
	db, err := sql.Open("sqlite", ":memory:")
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	ctx := context.Background()
	conn, err := db.Conn(ctx)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, conn.Close()) }()
	if err := s.migrate(ctx, conn); err != nil {
		return nil, err
	}
	return objectsOf(ctx, reads{q: conn, place: "new schema"})
}

// compare says the first difference of two sorted lists, "" when there is none.
func compare(want, have []object) string {
	for i := range max(len(want), len(have)) {
		switch {
		case i >= len(want) || i < len(have) && have[i].name < want[i].name:
			return fmt.Sprintf("the %s %s does not belong in a campaign", have[i].kind, have[i].name)
		case i >= len(have) || have[i].name > want[i].name:
			return fmt.Sprintf("the %s %s is missing", want[i].kind, want[i].name)
		case have[i] != want[i]:
			return fmt.Sprintf("the %s %s was altered", have[i].kind, have[i].name)
		}
	}
	return ""
}

// object is a table, index, trigger or view.
type object struct{ name, kind, text string }

// objectsOf lists the schema without what SQLite keeps for itself, sorted by name.
func objectsOf(ctx context.Context, r reads) ([]object, error) {
	return list(ctx, r, func(rows *sql.Rows) (object, error) {
		var o object
		return o, rows.Scan(&o.name, &o.kind, &o.text)
	}, "SELECT name, type, coalesce(sql, '') FROM sqlite_schema WHERE name NOT LIKE 'sqlite\\_%' ESCAPE '\\' ORDER BY name")
}
