package sqlstore

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/store/storetest"
)

func TestSuite(t *testing.T) {
	storetest.Run(t, func(t *testing.T, c store.Campaign, clock func() time.Time) store.Store {
		t.Helper()
		s, err := Create(t.Context(), filepath.Join(t.TempDir(), "trial.hardcatch"), c, Options{Clock: clock})
		if err != nil {
			t.Fatal(err)
		}
		return s
	})
}
