package folder_test

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/acquiretest"
	"github.com/hardcatch/hardcatch/internal/acquire/folder"
)

// A file that is quiet but still open is not complete.
func TestOpenFileWaits(t *testing.T) {
	dir := t.TempDir()
	d := acquiretest.Describe(t, acquire.Description{Kind: acquire.Folder, Address: dir, Quiet: 0.1})
	var r acquiretest.Recorder
	go func() { _ = folder.New(d, acquire.Wall{}).Run(t.Context(), &r) }()
	time.Sleep(500 * time.Millisecond)
	f, err := os.Create(filepath.Join(dir, "slow.csv"))
	must(t, err)
	_, err = f.WriteString("half")
	must(t, err)
	time.Sleep(700 * time.Millisecond)
	if n := len(r.Records()); n != 0 {
		t.Errorf("%d records of a file that is being written", n)
	}
	_, err = f.WriteString(" and half")
	must(t, err)
	must(t, f.Close())
	for range 1500 {
		if len(r.Records()) > 0 {
			break
		}
		time.Sleep(10 * time.Millisecond)
	}
	if x := r.Records(); len(x) != 1 || string(x[0].Data) != "half and half" {
		t.Errorf("records %v", x)
	}
}
