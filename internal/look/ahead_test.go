package look_test

import (
	"context"
	"path/filepath"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/store/sqlstore"
	"github.com/hardcatch/hardcatch/internal/traceio"
	"github.com/hardcatch/hardcatch/internal/traceio/csvtrace"
	"github.com/hardcatch/hardcatch/internal/waittest"
)

// What is read ahead is there when it is asked for; closing waits for what is being read.
func TestReadAhead(t *testing.T) {
	ctx := context.Background()
	a := &look.Access{Files: sqlstore.Files{}, Formats: traceio.NewRegistry(csvtrace.Format{}), Now: time.Now}
	path := filepath.Join(t.TempDir(), "demo.hardcatch")
	if _, err := app.Demo(ctx, a, path); err != nil {
		t.Fatal(err)
	}
	s, err := a.Open(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	s.ReadAhead("nowhere", "d02", "d03")
	waittest.Until(t, waittest.For("2 records to be ready"), func() bool { return s.Ready() == 2 })
	if _, err := s.Look(ctx, "d03"); err != nil || s.Ready() != 2 {
		t.Errorf("looked at: %d ready (%v)", s.Ready(), err)
	}
	s.ReadAhead("d04", "d05", "d06")
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s.ReadAhead("d07")
	if s.ReadingAhead() {
		t.Error("reading goes on after the end")
	}
}
