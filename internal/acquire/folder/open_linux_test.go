package folder_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/acquiretest"
	"github.com/hardcatch/hardcatch/internal/acquire/folder"
	"github.com/hardcatch/hardcatch/internal/waittest"
)

// A file that is quiet but still open is not complete.
func TestOpenFileWaits(t *testing.T) {
	dir := t.TempDir()
	d := acquiretest.Describe(t, acquire.Description{Kind: acquire.Folder, Address: dir, Quiet: 0.1})
	var r acquiretest.Recorder
	clock := new(acquiretest.Watched)
	go func() { _ = folder.New(d, clock).Run(t.Context(), &r) }()
	clock.Ticking(t)
	f, err := os.Create(filepath.Join(dir, "slow.csv"))
	must(t, err)
	_, err = f.WriteString("half")
	must(t, err)
	// At each look, one in 0.1 s, it asks for the time thrice at most: five looks, of which three are at a file that was quiet for 0.1 s.
	clock.More(t, clock.Asked(), 15)
	if n := len(r.Records()); n != 0 {
		t.Errorf("%d records of a file that is being written", n)
	}
	_, err = f.WriteString(" and half")
	must(t, err)
	must(t, f.Close())
	waittest.Until(t, waittest.For("the record"), func() bool { return len(r.Records()) > 0 })
	if x := r.Records(); len(x) != 1 || string(x[0].Data) != "half and half" {
		t.Errorf("records %v", x)
	}
}
