package sqlstore

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"io"

	"github.com/hardcatch/hardcatch/internal/store"
)

// partSchema is the version that brought parts. A file of an earlier version that is open for reading only has none.
const partSchema = 3

// partBytes is how much of an original a part holds; what is no longer is kept in one piece. It belongs to the format.
const partBytes = 16 << 20

// keepBytes stores an original that is not there yet.
func (t *tx) keepBytes(ctx context.Context, trace store.Trace, original store.Original) error {
	there, err := t.exists(ctx, "SELECT 1 FROM trace_bytes WHERE sha256 = ?", trace.SHA256)
	if err != nil || there {
		return err
	}
	_, err = store.Read(original, func(r io.Reader) (int64, error) {
		sum := sha256.New()
		text := make([]byte, min(trace.Bytes, partBytes))
		for at, number := int64(0), 0; at < trace.Bytes; number++ {
			text = text[:min(trace.Bytes-at, partBytes)]
			if _, err := io.ReadFull(r, text); err != nil {
				return at, fmt.Errorf("the record %s: %w", trace.Name, err)
			}
			at += int64(len(text))
			if _, err := sum.Write(text); err != nil {
				return at, err
			}
			if err := t.keepPart(ctx, trace, number, text); err != nil {
				return at, err
			}
		}
		if rest, err := io.Copy(io.Discard, r); err != nil || rest > 0 || hex.EncodeToString(sum.Sum(nil)) != trace.SHA256 {
			return trace.Bytes, errors.Join(fmt.Errorf("the record %s changed while it was read; keep the file as it is and enter it again", trace.Name), err)
		}
		return trace.Bytes, nil
	})
	return err
}

func (t *tx) keepPart(ctx context.Context, trace store.Trace, number int, text []byte) error {
	coding, data, err := encode(text, trace.Bytes > partBytes)
	switch {
	case err != nil:
		return err
	case number == 0:
		return t.exec(ctx, "INSERT INTO trace_bytes (sha256, bytes, coding, data) VALUES (?, ?, ?, ?)", trace.SHA256, trace.Bytes, coding, data)
	}
	return t.exec(ctx, "INSERT INTO trace_part (sha256, number, data) VALUES (?, ?, ?)", trace.SHA256, number, data)
}

// stored is a row of trace_bytes.
type stored struct {
	bytes  int64
	coding string
	data   []byte
}

func scanStored(rows *sql.Rows) (stored, error) {
	var s stored
	return s, rows.Scan(&s.bytes, &s.coding, &s.data)
}

// errNotOriginal says that the bytes that are kept do not give the original.
var errNotOriginal = errors.New("the original is damaged")

// readOriginal writes an original, part by part, and checks it. An error that is errNotOriginal is about the bytes.
func (r reads) readOriginal(ctx context.Context, sha string, to io.Writer) (parts int64, found bool, err error) {
	s, found, err := first(ctx, r, scanStored, "SELECT bytes, coding, data FROM trace_bytes WHERE sha256 = ?", sha)
	if err != nil || !found {
		return 0, false, err
	}
	if r.version >= partSchema {
		if parts, _, err = first(ctx, r, scanCount, "SELECT count(*) FROM trace_part WHERE sha256 = ?", sha); err != nil {
			return 0, true, err
		}
	}
	if w, ok := to.(*whole); ok && parts > 0 {
		w.text = make([]byte, 0, max(0, min(s.bytes, (parts+1)*partBytes)))
	}
	sum, have := sha256.New(), int64(0)
	for number := int64(0); number <= parts; number++ {
		data := s.data
		if number > 0 {
			if data, found, err = first(ctx, r, scanBlob, "SELECT data FROM trace_part WHERE sha256 = ? AND number = ?", sha, number); err != nil {
				return parts, true, err
			}
			if !found {
				return parts, true, fmt.Errorf("%w: part %d is gone", errNotOriginal, number)
			}
		}
		room := s.bytes - have
		if parts > 0 {
			room = min(room, partBytes)
		}
		text, err := decode(s.coding, data, room)
		if err != nil {
			return parts, true, fmt.Errorf("%w: %w", errNotOriginal, err)
		}
		have += int64(len(text))
		if _, err := io.MultiWriter(sum, to).Write(text); err != nil {
			return parts, true, err
		}
	}
	switch got := hex.EncodeToString(sum.Sum(nil)); {
	case have != s.bytes:
		return parts, true, fmt.Errorf("%w: %d bytes are there, %d were stored", errNotOriginal, have, s.bytes)
	case got != sha:
		return parts, true, fmt.Errorf("%w: its bytes have the SHA-256 %s", errNotOriginal, got)
	}
	return parts, true, nil
}

func scanCount(rows *sql.Rows) (int64, error) {
	var n int64
	return n, rows.Scan(&n)
}

// TraceBytes implements store.Reader.
func (r reads) TraceBytes(ctx context.Context, sha256 string) ([]byte, error) {
	var all whole
	err := r.WriteTrace(ctx, sha256, &all)
	if err != nil {
		return nil, err
	}
	return all.text, nil
}

// WriteTrace implements store.Reader.
func (r reads) WriteTrace(ctx context.Context, sha256 string, to io.Writer) error {
	_, found, err := r.readOriginal(ctx, sha256, to)
	switch {
	case errors.Is(err, errNotOriginal):
		return &store.Problem{
			Reason: store.ErrDamaged, Place: r.place, Fact: "trace " + sha256 + ": " + err.Error(),
			WayOut: "check the file with hardcatch prove, and take the record from a copy or from the logger again", Cause: err,
		}
	case err != nil:
		return err
	case !found:
		return store.NotFound(r.place, "trace of SHA-256 "+sha256, "check the hash")
	}
	return nil
}

// whole collects an original. The first part, mostly the only one, is taken over without a copy.
type whole struct{ text []byte }

func (w *whole) Write(part []byte) (int, error) {
	if w.text == nil {
		w.text = part
	} else {
		w.text = append(w.text, part...)
	}
	return len(part), nil
}
