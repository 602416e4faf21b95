package sqlstore

import (
	"context"
	"database/sql"
	"fmt"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/store"
)

// towerSchema is the version that brought checklists and photos. A file of an earlier version that is open for
// reading only has neither.
const towerSchema = 2

// ChecklistHistory implements store.Reader.
func (r reads) ChecklistHistory(ctx context.Context, dropID string) ([]store.Revision[drop.Checklist], error) {
	if r.version < towerSchema {
		return nil, ctx.Err()
	}
	return list(ctx, r, scanBody[drop.Checklist], fmt.Sprintf(bodies, "checklist")+ofDrop, dropID)
}

// Checklists implements store.Reader.
func (r reads) Checklists(ctx context.Context) ([]store.Revision[drop.Checklist], error) {
	if r.version < towerSchema {
		return nil, ctx.Err()
	}
	return list(ctx, r, scanBody[drop.Checklist], fmt.Sprintf(bodies+latestPerDrop, "checklist"))
}

// Photos implements store.Reader.
func (r reads) Photos(ctx context.Context) ([]store.Revision[store.Photo], error) {
	if r.version < towerSchema {
		return nil, ctx.Err()
	}
	return list(ctx, r, scanBody[store.Photo], fmt.Sprintf(bodies, "photo")+inOrder)
}

// DropPhotos implements store.Reader.
func (r reads) DropPhotos(ctx context.Context, dropID string) ([]store.Revision[store.Photo], error) {
	if r.version < towerSchema {
		return nil, ctx.Err()
	}
	return list(ctx, r, scanBody[store.Photo], fmt.Sprintf(bodies, "photo")+ofDrop, dropID)
}

// PhotoBytes implements store.Reader.
func (r reads) PhotoBytes(ctx context.Context, sha256 string) ([]byte, error) {
	missing := store.NotFound(r.place, "photo of SHA-256 "+sha256, "check the hash")
	if r.version < towerSchema {
		return nil, missing
	}
	kept, found, err := first(ctx, r, scanBlob, "SELECT data FROM photo_bytes WHERE sha256 = ?", sha256)
	if err != nil {
		return nil, err
	}
	if !found {
		return nil, missing
	}
	if sum := store.SumHex(kept); sum != sha256 {
		return nil, &store.Problem{
			Reason: store.ErrDamaged, Place: r.place, Fact: fmt.Sprintf("photo %s: its bytes have the SHA-256 %s", sha256, sum),
			WayOut: "check the file with hardcatch prove, and take the picture from a copy or from the camera again",
		}
	}
	return kept, nil
}

func scanBlob(rows *sql.Rows) ([]byte, error) {
	var b []byte
	return b, rows.Scan(&b)
}
