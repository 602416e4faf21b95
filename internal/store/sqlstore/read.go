package sqlstore

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/store"
)

// querier is a connection, a transaction or the pool.
type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
}

// reads implements store.Reader on a querier.
type reads struct {
	q       querier
	place   string
	version int // of the file's schema
}

// list runs a query and scans every row.
func list[T any](ctx context.Context, r reads, scan func(*sql.Rows) (T, error), query string, args ...any) (out []T, err error) {
	defer func() { err = explain(ctx, r.place, err) }()
	rows, err := r.q.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		v, err := scan(rows)
		if err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	return out, rows.Err()
}

// first is the first row of a query; found is false when there is none.
func first[T any](ctx context.Context, r reads, scan func(*sql.Rows) (T, error), query string, args ...any) (v T, found bool, err error) {
	all, err := list(ctx, r, scan, query, args...)
	if err != nil || len(all) == 0 {
		return v, false, err
	}
	return all[0], true, nil
}

// scanBody reads seq, at and a JSON body.
func scanBody[T any](rows *sql.Rows) (store.Revision[T], error) {
	var v store.Revision[T]
	var at, body string
	if err := rows.Scan(&v.Seq, &at, &body); err != nil {
		return v, err
	}
	if err := json.Unmarshal([]byte(body), &v.Value); err != nil {
		return v, unreadable(v.Seq, err)
	}
	return v, stamp(&v.At, v.Seq, at)
}

func stamp(to *time.Time, seq int64, at string) error {
	t, err := store.Entry{Seq: seq, At: at}.Time()
	if err != nil {
		return unreadable(seq, err)
	}
	*to = t
	return nil
}

// unreadable is the Problem of a row whose text does not read back.
func unreadable(seq int64, cause error) error {
	return &store.Problem{
		Reason: store.ErrDamaged, Place: fmt.Sprintf("logbook entry %d", seq), Fact: "its value cannot be read: " + cause.Error(),
		WayOut: "check it with hardcatch prove; it was damaged or changed by another program", Cause: cause,
	}
}

const (
	// bodies selects what scanBody reads from a table of JSON bodies named by %s.
	bodies = "SELECT r.seq, h.at, r.body FROM %s r JOIN history h ON h.seq = r.seq "
	// latestPerDrop keeps the last row of each drop, in the order in which the drops were added.
	latestPerDrop = "JOIN drop_id d ON d.id = r.drop_id WHERE r.seq = (SELECT max(seq) FROM %[1]s x WHERE x.drop_id = r.drop_id) ORDER BY d.seq"
	ofDrop        = "WHERE r.drop_id = ? ORDER BY r.seq"
	lastOfDrop    = "WHERE r.drop_id = ? ORDER BY r.seq DESC LIMIT 1"
	last          = "ORDER BY r.seq DESC LIMIT 1"
	inOrder       = "ORDER BY r.seq"
)

// Campaign implements store.Reader.
func (r reads) Campaign(ctx context.Context) (store.Revision[store.Campaign], error) {
	v, found, err := first(ctx, r, scanBody[store.Campaign], fmt.Sprintf(bodies, "campaign_revision")+last)
	if err == nil && !found {
		err = store.NotFound(r.place, "question", "check the file with hardcatch prove: a campaign always has one")
	}
	return v, err
}

// Rig implements store.Reader.
func (r reads) Rig(ctx context.Context) (store.Revision[drop.Rig], error) {
	v, found, err := first(ctx, r, scanBody[drop.Rig], fmt.Sprintf(bodies, "rig_revision")+last)
	if err == nil && !found {
		err = store.NotFound(r.place, "rig", "enter the rig first")
	}
	return v, err
}

// RigHistory implements store.Reader.
func (r reads) RigHistory(ctx context.Context) ([]store.Revision[drop.Rig], error) {
	return list(ctx, r, scanBody[drop.Rig], fmt.Sprintf(bodies, "rig_revision")+inOrder)
}

// Drop implements store.Reader.
func (r reads) Drop(ctx context.Context, id string) (store.Revision[drop.Drop], error) {
	v, found, err := first(ctx, r, scanBody[drop.Drop], fmt.Sprintf(bodies, "drop_revision")+lastOfDrop, id)
	if err == nil && !found {
		err = store.NoDrop(id)
	}
	return v, err
}

// Drops implements store.Reader.
func (r reads) Drops(ctx context.Context) ([]store.Revision[drop.Drop], error) {
	return list(ctx, r, scanBody[drop.Drop], fmt.Sprintf(bodies+latestPerDrop, "drop_revision"))
}

// DropHistory implements store.Reader.
func (r reads) DropHistory(ctx context.Context, id string) ([]store.Revision[drop.Drop], error) {
	return list(ctx, r, scanBody[drop.Drop], fmt.Sprintf(bodies, "drop_revision")+ofDrop, id)
}

const traces = "SELECT r.seq, h.at, r.drop_id, r.name, r.sha256, b.bytes FROM trace r JOIN history h ON h.seq = r.seq JOIN trace_bytes b ON b.sha256 = r.sha256 "

func scanTrace(rows *sql.Rows) (store.Revision[store.Trace], error) {
	var v store.Revision[store.Trace]
	var at string
	if err := rows.Scan(&v.Seq, &at, &v.Value.Drop, &v.Value.Name, &v.Value.SHA256, &v.Value.Bytes); err != nil {
		return v, err
	}
	return v, stamp(&v.At, v.Seq, at)
}

// Trace implements store.Reader.
func (r reads) Trace(ctx context.Context, dropID string) (store.Revision[store.Trace], []byte, error) {
	v, found, err := first(ctx, r, scanTrace, traces+lastOfDrop, dropID)
	if err == nil && !found {
		err = store.NotFound("drop "+dropID, "trace", "add its force record")
	}
	if err != nil {
		return v, nil, err
	}
	original, err := r.TraceBytes(ctx, v.Value.SHA256)
	return v, original, err
}

// Traces implements store.Reader.
func (r reads) Traces(ctx context.Context) ([]store.Revision[store.Trace], error) {
	return list(ctx, r, scanTrace, fmt.Sprintf(traces+latestPerDrop, "trace"))
}

const reductions = "SELECT r.seq, h.at, r.drop_id, r.trace_sha256, r.version, r.settings, r.result FROM reduction r JOIN history h ON h.seq = r.seq "

func scanReduction(rows *sql.Rows) (store.Revision[store.Reduction], error) {
	var v store.Revision[store.Reduction]
	var at string
	var settings, result []byte
	if err := rows.Scan(&v.Seq, &at, &v.Value.Drop, &v.Value.TraceSHA256, &v.Value.Version, &settings, &result); err != nil {
		return v, err
	}
	v.Value.Settings, v.Value.Result = settings, result
	return v, stamp(&v.At, v.Seq, at)
}

// Reduction implements store.Reader.
func (r reads) Reduction(ctx context.Context, dropID string) (store.Revision[store.Reduction], error) {
	v, found, err := first(ctx, r, scanReduction, reductions+lastOfDrop, dropID)
	if err == nil && !found {
		err = store.NotFound("drop "+dropID, "reduction", "reduce its trace first")
	}
	return v, err
}

// Reductions implements store.Reader.
func (r reads) Reductions(ctx context.Context) ([]store.Revision[store.Reduction], error) {
	return list(ctx, r, scanReduction, fmt.Sprintf(reductions+latestPerDrop, "reduction"))
}

// ReductionHistory implements store.Reader.
func (r reads) ReductionHistory(ctx context.Context, dropID string) ([]store.Revision[store.Reduction], error) {
	return list(ctx, r, scanReduction, reductions+ofDrop, dropID)
}

// Decisions implements store.Reader.
func (r reads) Decisions(ctx context.Context) ([]store.Revision[drop.Decision], error) {
	return list(ctx, r, scanBody[drop.Decision], fmt.Sprintf(bodies+latestPerDrop, "decision"))
}

// DecisionHistory implements store.Reader.
func (r reads) DecisionHistory(ctx context.Context, dropID string) ([]store.Revision[drop.Decision], error) {
	return list(ctx, r, scanBody[drop.Decision], fmt.Sprintf(bodies, "decision")+ofDrop, dropID)
}

// Plan implements store.Reader. The history's own entry is all there is of a plan.
func (r reads) Plan(ctx context.Context) (store.Revision[json.RawMessage], error) {
	v, found, err := first(ctx, r, scanBody[json.RawMessage], "SELECT seq, at, payload FROM history WHERE kind = ? AND subject = '' ORDER BY seq DESC LIMIT 1", store.KindPlan)
	if err == nil && !found {
		err = store.NotFound(r.place, "plan", "plan the campaign first, or go without")
	}
	return v, err
}

// Questions implements store.Reader. As with a plan, the history's own entries are all there is.
func (r reads) Questions(ctx context.Context) ([]store.Revision[drop.Question], error) {
	return list(ctx, r, scanBody[drop.Question], "SELECT seq, at, payload FROM history WHERE kind = ? ORDER BY seq", store.KindQuestion)
}

// firstTold finds the first entries that tell what came of a drop. The index on kind and subject holds all that the first half asks for.
const firstTold = `SELECT subject, min(seq) FROM (
  SELECT subject, seq FROM history WHERE kind IN (?, ?, ?)
  UNION ALL
  SELECT subject, seq FROM history WHERE kind = ? AND coalesce(json_extract(payload, '$.entered.outcome'), '') <> ''
) GROUP BY subject`

// Taken implements store.Reader.
func (r reads) Taken(ctx context.Context) (map[string]int64, error) {
	type told struct {
		drop string
		seq  int64
	}
	all, err := list(ctx, r, func(rows *sql.Rows) (t told, err error) { return t, rows.Scan(&t.drop, &t.seq) }, firstTold,
		store.KindTrace, store.KindReduction, store.KindDecision, store.KindDrop)
	if err != nil {
		return nil, err
	}
	out := make(map[string]int64, len(all))
	for _, t := range all {
		out[t.drop] = t.seq
	}
	return out, nil
}

// Notes implements store.Reader.
func (r reads) Notes(ctx context.Context) ([]store.Revision[store.Note], error) {
	return list(ctx, r, scanBody[store.Note], fmt.Sprintf(bodies, "note")+inOrder)
}

const entries = "SELECT seq, at, kind, subject, payload, prev_hash, hash FROM history "

func scanEntry(rows *sql.Rows) (store.Entry, error) {
	var e store.Entry
	var prev, hash []byte
	if err := rows.Scan(&e.Seq, &e.At, &e.Kind, &e.Subject, &e.Payload, &prev, &hash); err != nil {
		return e, err
	}
	if len(prev) != len(e.Prev) || len(hash) != len(e.Hash) {
		return e, unreadable(e.Seq, fmt.Errorf("a hash has %d and %d bytes", len(prev), len(hash)))
	}
	copy(e.Prev[:], prev)
	copy(e.Hash[:], hash)
	return e, nil
}

// History implements store.Reader.
func (r reads) History(ctx context.Context) ([]store.Entry, error) {
	return list(ctx, r, scanEntry, entries+"ORDER BY seq")
}

// Head implements store.Reader.
func (r reads) Head(ctx context.Context) (store.Head, error) {
	e, _, err := first(ctx, r, scanEntry, entries+"ORDER BY seq DESC LIMIT 1")
	return store.Head{Seq: e.Seq, Hash: e.Hash}, err
}
