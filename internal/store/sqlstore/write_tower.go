package sqlstore

import (
	"context"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/store"
)

// AddChecklist implements store.Writer.
func (t *tx) AddChecklist(ctx context.Context, c drop.Checklist) (store.Receipt, error) {
	s, err := store.SealChecklist(c)
	if err != nil {
		return store.Receipt{}, err
	}
	return t.act(ctx, s, func(seq int64) error {
		return t.exec(ctx, "INSERT INTO checklist (seq, drop_id, body) VALUES (?, ?, ?)", seq, c.Drop, string(s.Payload))
	})
}

// AddPhoto implements store.Writer.
func (t *tx) AddPhoto(ctx context.Context, p store.Photo, kept []byte) (store.Receipt, error) {
	if err := t.mustHaveDrop(ctx, p.Drop); err != nil {
		return store.Receipt{}, err
	}
	p, s, err := store.SealPhoto(p, kept)
	if err != nil {
		return store.Receipt{}, err
	}
	same, found, err := first(ctx, t.reads, scanEntry, entries+"WHERE kind = ? AND subject = ? AND payload = ? LIMIT 1", s.Kind, s.Subject, string(s.Payload))
	if err != nil {
		return store.Receipt{}, err
	}
	if found {
		return store.Receipt{Seq: same.Seq, Hash: same.Hash, Effect: store.Unchanged}, nil
	}
	there, err := t.exists(ctx, "SELECT 1 FROM photo_bytes WHERE sha256 = ?", p.SHA256)
	if err != nil {
		return store.Receipt{}, err
	}
	return t.append(ctx, s, store.Added, func(seq int64) error {
		if !there {
			if err := t.exec(ctx, "INSERT INTO photo_bytes (sha256, data) VALUES (?, ?)", p.SHA256, kept); err != nil {
				return err
			}
		}
		return t.exec(ctx, "INSERT INTO photo (seq, drop_id, sha256, body) VALUES (?, ?, ?, ?)", seq, p.Drop, p.SHA256, string(s.Payload))
	})
}
