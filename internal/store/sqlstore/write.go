package sqlstore

import (
	"context"
	"database/sql"
	"encoding/json"
	"time"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/store"
)

// tx implements store.Tx on a connection inside a transaction.
type tx struct {
	reads
	conn  *sql.Conn
	clock func() time.Time
	// broken is the first failure after something was written. The state and the history may then
	// differ, so that nothing of the batch may be kept even if fn passes the error over.
	broken error
	ended  bool
}

var _ store.Tx = (*tx)(nil)

func newTx(conn *sql.Conn, place string, version int, clock func() time.Time) *tx {
	t := &tx{conn: conn, clock: clock}
	t.reads = reads{q: t, place: place, version: version}
	return t
}

func (t *tx) end() { t.ended = true }

// QueryContext makes tx the querier of its own reads.
func (t *tx) QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error) {
	if err := t.usable(); err != nil {
		return nil, err
	}
	return t.conn.QueryContext(ctx, query, args...)
}

func (t *tx) usable() error {
	if t.ended {
		return &store.Problem{Reason: store.ErrClosed, Place: t.place, Fact: "the batch has ended", WayOut: "start another one"}
	}
	return t.broken
}

func (t *tx) exec(ctx context.Context, query string, args ...any) error {
	_, err := t.conn.ExecContext(ctx, query, args...)
	return err
}

// standing is the latest entry of the kind and subject of s.
func (t *tx) standing(ctx context.Context, s store.Sealed) (store.Entry, bool, error) {
	return first(ctx, t.reads, scanEntry, entries+"WHERE kind = ? AND subject = ? ORDER BY seq DESC LIMIT 1", s.Kind, s.Subject)
}

// enter appends s unless it stands already.
func (t *tx) enter(ctx context.Context, s store.Sealed, row func(seq int64, first bool) error) (store.Receipt, error) {
	before, found, err := t.standing(ctx, s)
	if err != nil {
		return store.Receipt{}, err
	}
	if found && before.Payload == string(s.Payload) {
		return store.Receipt{Seq: before.Seq, Hash: before.Hash, Effect: store.Unchanged}, nil
	}
	effect := store.Added
	if found {
		effect = store.Revised
	}
	return t.append(ctx, s, effect, func(seq int64) error { return row(seq, !found) })
}

// append writes a history entry and its row of state.
func (t *tx) append(ctx context.Context, s store.Sealed, effect store.Effect, row func(seq int64) error) (store.Receipt, error) {
	head, err := t.Head(ctx)
	if err != nil {
		return store.Receipt{}, err
	}
	e := s.Next(head, t.clock())
	err = t.exec(ctx, "INSERT INTO history (seq, at, kind, subject, payload, prev_hash, hash) VALUES (?, ?, ?, ?, ?, ?, ?)",
		e.Seq, e.At, string(e.Kind), e.Subject, e.Payload, e.Prev[:], e.Hash[:])
	if err == nil {
		err = row(e.Seq)
	}
	if err != nil {
		t.broken = explain(ctx, t.place, err)
		return store.Receipt{}, t.broken
	}
	return store.Receipt{Seq: e.Seq, Hash: e.Hash, Effect: effect}, nil
}

// SetCampaign implements store.Writer.
func (t *tx) SetCampaign(ctx context.Context, c store.Campaign) (store.Receipt, error) {
	c, err := store.WithCreated(ctx, t, c, t.clock)
	if err != nil {
		return store.Receipt{}, err
	}
	s, err := store.SealCampaign(c)
	if err != nil {
		return store.Receipt{}, err
	}
	return t.enter(ctx, s, func(seq int64, _ bool) error {
		return t.exec(ctx, "INSERT INTO campaign_revision (seq, body) VALUES (?, ?)", seq, string(s.Payload))
	})
}

// SetRig implements store.Writer.
func (t *tx) SetRig(ctx context.Context, r drop.Rig) (store.Receipt, error) {
	s, err := store.SealRig(r)
	if err != nil {
		return store.Receipt{}, err
	}
	return t.enter(ctx, s, func(seq int64, _ bool) error {
		return t.exec(ctx, "INSERT INTO rig_revision (seq, body) VALUES (?, ?)", seq, string(s.Payload))
	})
}

// AddDrop implements store.Writer.
func (t *tx) AddDrop(ctx context.Context, d drop.Drop) (store.Receipt, error) {
	s, err := store.SealDrop(d)
	if err != nil {
		return store.Receipt{}, err
	}
	return t.enter(ctx, s, func(seq int64, first bool) error {
		if first {
			if err := t.exec(ctx, "INSERT INTO drop_id (id, seq) VALUES (?, ?)", d.ID, seq); err != nil {
				return err
			}
		}
		return t.exec(ctx, "INSERT INTO drop_revision (seq, drop_id, body) VALUES (?, ?, ?)", seq, d.ID, string(s.Payload))
	})
}

// AddTrace implements store.Writer.
func (t *tx) AddTrace(ctx context.Context, dropID, name string, original store.Original) (store.Receipt, error) {
	if err := t.mustHaveDrop(ctx, dropID); err != nil {
		return store.Receipt{}, err
	}
	trace, s, err := store.SealTrace(dropID, name, original)
	if err != nil {
		return store.Receipt{}, err
	}
	return t.enter(ctx, s, func(seq int64, _ bool) error {
		if err := t.keepBytes(ctx, trace, original); err != nil {
			return err
		}
		return t.exec(ctx, "INSERT INTO trace (seq, drop_id, sha256, name) VALUES (?, ?, ?, ?)", seq, dropID, trace.SHA256, name)
	})
}

// AddReduction implements store.Writer.
func (t *tx) AddReduction(ctx context.Context, r store.Reduction) (store.Receipt, error) {
	if err := t.mustHaveDrop(ctx, r.Drop); err != nil {
		return store.Receipt{}, err
	}
	s, err := store.SealReduction(r)
	if err != nil {
		return store.Receipt{}, err
	}
	its, err := t.exists(ctx, "SELECT 1 FROM trace WHERE drop_id = ? AND sha256 = ?", r.Drop, r.TraceSHA256)
	if err != nil {
		return store.Receipt{}, err
	}
	if !its {
		return store.Receipt{}, store.NotFound("drop "+r.Drop, "trace of SHA-256 "+r.TraceSHA256, "add the record before its reduction")
	}
	return t.enter(ctx, s, func(seq int64, _ bool) error {
		return t.exec(ctx, "INSERT INTO reduction (seq, drop_id, trace_sha256, version, settings, result) VALUES (?, ?, ?, ?, ?, ?)",
			seq, r.Drop, r.TraceSHA256, r.Version, []byte(r.Settings), []byte(r.Result))
	})
}

// Decide implements store.Writer.
func (t *tx) Decide(ctx context.Context, d drop.Decision) (store.Receipt, error) {
	s, err := store.SealDecision(d)
	if err != nil {
		return store.Receipt{}, err
	}
	return t.act(ctx, s, func(seq int64) error {
		return t.exec(ctx, "INSERT INTO decision (seq, drop_id, body) VALUES (?, ?, ?)", seq, d.Drop, string(s.Payload))
	})
}

// act appends what a person did about a drop, though the same may stand already.
func (t *tx) act(ctx context.Context, s store.Sealed, row func(seq int64) error) (store.Receipt, error) {
	if err := t.mustHaveDrop(ctx, s.Subject); err != nil {
		return store.Receipt{}, err
	}
	_, found, err := t.standing(ctx, s)
	if err != nil {
		return store.Receipt{}, err
	}
	effect := store.Added
	if found {
		effect = store.Revised
	}
	return t.append(ctx, s, effect, row)
}

// SetPlan implements store.Writer.
func (t *tx) SetPlan(ctx context.Context, p json.RawMessage) (store.Receipt, error) {
	s, err := store.SealPlan(p)
	if err != nil {
		return store.Receipt{}, err
	}
	return t.enter(ctx, s, func(int64, bool) error { return nil })
}

// Ask implements store.Writer.
func (t *tx) Ask(ctx context.Context, q drop.Question) (store.Receipt, error) {
	s, err := store.SealQuestion(q)
	if err != nil {
		return store.Receipt{}, err
	}
	return t.enter(ctx, s, func(int64, bool) error { return nil })
}

// AddNote implements store.Writer.
func (t *tx) AddNote(ctx context.Context, n store.Note) (store.Receipt, error) {
	s, err := store.SealNote(n)
	if err != nil {
		return store.Receipt{}, err
	}
	if n.Drop != "" {
		if err := t.mustHaveDrop(ctx, n.Drop); err != nil {
			return store.Receipt{}, err
		}
	}
	return t.append(ctx, s, store.Added, func(seq int64) error {
		return t.exec(ctx, "INSERT INTO note (seq, drop_id, body) VALUES (?, nullif(?, ''), ?)", seq, n.Drop, string(s.Payload))
	})
}

func (t *tx) mustHaveDrop(ctx context.Context, id string) error {
	there, err := t.exists(ctx, "SELECT 1 FROM drop_id WHERE id = ?", id)
	if err == nil && !there {
		err = store.NoDrop(id)
	}
	return err
}

func (t *tx) exists(ctx context.Context, query string, args ...any) (bool, error) {
	_, found, err := first(ctx, t.reads, func(rows *sql.Rows) (int, error) {
		var one int
		return one, rows.Scan(&one)
	}, query, args...)
	return found, err
}
