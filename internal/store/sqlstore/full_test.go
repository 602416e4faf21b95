package sqlstore

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"testing"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/store/storetest"
)

// noise is a record that does not compress.
func noise(n int, seed uint64) []byte {
	r := rand.New(rand.NewPCG(seed, 1))
	b := make([]byte, n)
	for i := range b {
		b[i] = byte(r.Uint32())
	}
	return b
}

// fillUp adds traces until one is refused.
func fillUp(ctx context.Context, s *Store) (kept int, err error) {
	for i := 0; ; i++ {
		id := fmt.Sprint("fill", i)
		err := s.Update(ctx, func(tx store.Tx) error {
			if _, err := tx.AddDrop(ctx, storetest.Drop(id)); err != nil {
				return err
			}
			_, err := tx.AddTrace(ctx, id, id+".csv", store.Bytes(noise(40e3, uint64(i))))
			return err
		})
		if err != nil {
			return i, err
		}
	}
}

// TestFull meets the full disk as SQLite's page limit, which gives the same error by the same way.
func TestFull(t *testing.T) {
	path := newPath(t)
	s := created(t, path)
	limit := func(pages int) {
		if _, err := s.writer.ExecContext(t.Context(), fmt.Sprintf("PRAGMA max_page_count = %d", pages)); err != nil {
			t.Fatal(err)
		}
	}
	limit(150)
	kept, err := fillUp(t.Context(), s)
	refused(t, err, store.ErrFull, path)
	if kept == 0 {
		t.Error("nothing was stored before the disk was full")
	}
	v, err := s.Verify(t.Context())
	if err != nil || v.Break != nil || v.Drops != int64(kept) || v.Entries != int64(1+2*kept) {
		t.Errorf("after the disk was full: %+v, %v; want the %d drops stored", v, err, kept)
	}

	// A caller that passes the error over does not get half of its batch stored.
	head, err := s.Head(t.Context())
	mustDo(t, err)
	err = s.Update(t.Context(), func(tx store.Tx) error {
		if _, err := tx.AddDrop(t.Context(), storetest.Drop("1")); err != nil {
			return err
		}
		if _, err := tx.AddTrace(t.Context(), "1", "1.csv", store.Bytes(noise(1e6, 9))); !errors.Is(err, store.ErrFull) {
			t.Errorf("the large trace gives %v", err)
		}
		return nil
	})
	refused(t, err, store.ErrFull, path)
	if after, err := s.Head(t.Context()); err != nil || after != head {
		t.Errorf("the head went from %v to %v, %v", head, after, err)
	}

	limit(1 << 20)
	if _, err := s.AddDrop(t.Context(), storetest.Drop("1")); err != nil {
		t.Errorf("after space was freed: %v", err)
	}
	if err := verified(t.Context(), s); err != nil {
		t.Error(err)
	}
}

func TestTooLarge(t *testing.T) {
	path := newPath(t)
	s := created(t, path)
	conn, err := s.writer.Conn(t.Context())
	mustDo(t, err)
	if _, err := sqlite.Limit(conn, sqlite3.SQLITE_LIMIT_LENGTH, 100e3); err != nil {
		t.Fatal(err)
	}
	mustDo(t, conn.Close())
	if _, err := s.AddDrop(t.Context(), storetest.Drop("1")); err != nil {
		t.Fatal(err)
	}
	_, err = s.AddTrace(t.Context(), "1", "1.csv", store.Bytes(noise(200e3, 1)))
	refused(t, err, store.ErrTooLarge, path)
	if err := verified(t.Context(), s); err != nil {
		t.Error(err)
	}
}
