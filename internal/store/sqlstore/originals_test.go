package sqlstore

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/store"
)

// long is a record of three parts, the last of them short.
func long() []byte {
	b := make([]byte, 0, 2*partBytes+100)
	for i := 0; len(b) < 2*partBytes+10; i++ {
		b = append(strconv.AppendInt(b, int64(i)*7919%1000003, 10), '\n')
	}
	return b
}

// longAtRest adds a long record to the drop of a file at rest.
func longAtRest(t *testing.T, path string) {
	t.Helper()
	s, err := Open(t.Context(), path, Options{})
	mustDo(t, err)
	_, err = s.AddTrace(t.Context(), "1", "long.csv", store.Bytes(long()))
	mustDo(t, err)
	mustDo(t, s.Close())
}

// A long record comes back to the byte, is proved by verify, and is kept once.
func TestLongRecordInParts(t *testing.T) {
	path := newPath(t)
	atRest(t, path)
	longAtRest(t, path)
	longAtRest(t, path)
	want := long()
	s, err := OpenReadOnly(t.Context(), path)
	mustDo(t, err)
	closeLater(t, s)
	v, got, err := s.Trace(t.Context(), "1")
	if err != nil || !bytes.Equal(got, want) || v.Value.Bytes != int64(len(want)) || v.Value.SHA256 != store.SumHex(want) {
		t.Fatalf("%+v, %d bytes, %v", v, len(got), err)
	}
	proof, err := s.Verify(t.Context())
	if err != nil || proof.Break != nil || proof.Traces != 3 {
		t.Errorf("%+v %v", proof, err)
	}
	db := raw(t, path)
	n, _, err := first(t.Context(), reads{q: db, place: path}, scanCount, "SELECT count(*) FROM trace_part")
	if err != nil || n != 2 {
		t.Errorf("%d parts after the first, want 2: %v", n, err)
	}
	mustDo(t, db.Close())
}

// What somebody changes in a part is found.
func TestPartsAreProved(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	for _, change := range []string{
		"DELETE FROM trace_part WHERE number = 2",
		"DELETE FROM trace_part WHERE number = 1",
		"UPDATE trace_part SET number = 3 - number + 10; UPDATE trace_part SET number = number - 10",
		"UPDATE trace_part SET data = substr(data, 1, 100) WHERE number = 1",
		"INSERT INTO trace_part SELECT sha256, 3, data FROM trace_part WHERE number = 2",
	} {
		path := newPath(t)
		atRest(t, path)
		longAtRest(t, path)
		tamper(t, path, strings.Split(change, "; ")...)
		if b := verifyFile(t, path).Break; b == nil {
			t.Errorf("%s: verify finds nothing", change)
		}
		s, err := OpenReadOnly(t.Context(), path)
		mustDo(t, err)
		_, _, err = s.Trace(t.Context(), "1")
		refused(t, err, store.ErrDamaged, path)
		mustDo(t, s.Close())
	}
	path := newPath(t)
	atRest(t, path)
	tamper(t, path, "INSERT INTO trace_part VALUES ('"+strings.Repeat("0", 64)+"', 1, x'00')")
	if b := verifyFile(t, path).Break; b == nil || !strings.Contains(fmt.Sprint(b), "trace_part") {
		t.Errorf("a part of nothing: %v", b)
	}
}

// shifting gives other bytes the second time.
type shifting struct{ times *int }

func (s shifting) Open() (io.ReadCloser, error) {
	*s.times++
	return io.NopCloser(strings.NewReader(strings.Repeat(strconv.Itoa(*s.times), 1000))), nil
}

// A record that changes while it is entered is refused, and nothing of it is kept.
func TestRecordThatChanges(t *testing.T) {
	path := newPath(t)
	head := atRest(t, path)
	s, err := Open(t.Context(), path, Options{})
	mustDo(t, err)
	closeLater(t, s)
	if _, err := s.AddTrace(t.Context(), "1", "x.csv", shifting{new(int)}); err == nil || !strings.Contains(err.Error(), "changed while it was read") {
		t.Errorf("%v", err)
	}
	if _, err := s.AddTrace(t.Context(), "1", "x.csv", failing{}); !errors.Is(err, errBroken) {
		t.Errorf("%v", err)
	}
	now, err := s.Head(t.Context())
	if err != nil || now != head {
		t.Errorf("%v, was %v: %v", now, head, err)
	}
}

var errBroken = errors.New("the cable is out")

type failing struct{}

func (failing) Open() (io.ReadCloser, error) { return nil, errBroken }
