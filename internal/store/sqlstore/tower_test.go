package sqlstore

import (
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/store/storetest"
)

// towerAtRest is the scenario with a checklist (entry 13) and two photos (14 and 15).
func towerAtRest(t *testing.T, path string) {
	t.Helper()
	atRest(t, path)
	s, err := Open(t.Context(), path, Options{Clock: storetest.Clock()})
	mustDo(t, err)
	_, err = s.AddChecklist(t.Context(), storetest.Checklist("1"))
	mustDo(t, err)
	_, err = s.AddPhoto(t.Context(), storetest.Photo("1"), []byte("first picture"))
	mustDo(t, err)
	_, err = s.AddPhoto(t.Context(), storetest.Photo("2"), []byte("second one"))
	mustDo(t, err)
	mustDo(t, s.Close())
}

func TestVerifyFindsTamperingAtTheTower(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		table, statement string
		seq              int64 // the entry that is named, 0 for none
	}{
		{"checklist", "UPDATE checklist SET body = replace(body, 'skipped', 'done')", 13},
		{"checklist", "UPDATE checklist SET drop_id = '2'", 13},
		{"checklist", "DELETE FROM checklist", 13},
		{"checklist", "INSERT INTO checklist SELECT 12, drop_id, body FROM checklist", 0},
		{"photo", "UPDATE photo SET body = replace(body, 'knot', 'body') WHERE seq = 14", 14},
		{"photo", "UPDATE photo SET drop_id = '2' WHERE seq = 14", 14},
		{"photo", "UPDATE photo SET sha256 = (SELECT sha256 FROM photo WHERE seq = 15) WHERE seq = 14", 14},
		{"photo", "DELETE FROM photo WHERE seq = 15", 15},
		{"photo", "INSERT INTO photo SELECT 12, drop_id, sha256, body FROM photo WHERE seq = 14", 0},
		{"photo_bytes", "UPDATE photo_bytes SET data = CAST('first picturE' AS BLOB) WHERE length(data) = 13", 14},
		{"photo_bytes", "DELETE FROM photo_bytes WHERE length(data) = 10", 15},
		{"photo_bytes", "INSERT INTO photo_bytes VALUES ('" + strings.Repeat("0", 64) + "', x'00')", 0},
	} {
		t.Run(c.statement, func(t *testing.T) {
			path := newPath(t)
			towerAtRest(t, path)
			tamper(t, path, c.statement)
			b := verifyFile(t, path).Break
			if b == nil {
				t.Fatal("was not found")
			}
			if b.Table != c.table || b.Seq != c.seq || b.Fact == "" || b.WayOut == "" {
				t.Errorf("the break is at entry %d in table %s, want entry %d in table %s: %s", b.Seq, b.Table, c.seq, c.table, b)
			}
		})
	}
}
