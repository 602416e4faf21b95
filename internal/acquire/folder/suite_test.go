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

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func TestFolder(t *testing.T) {
	acquiretest.Run(t, func(t *testing.T) *acquiretest.Bench {
		dir := t.TempDir()
		must(t, os.WriteFile(filepath.Join(dir, "old.csv"), []byte("from before"), 0o644))
		d := acquiretest.Describe(t, acquire.Description{Kind: acquire.Folder, Address: dir, Quiet: 0.15})
		write := func(name string, pieces ...string) {
			f, err := os.Create(filepath.Join(dir, name))
			must(t, err)
			for _, p := range pieces {
				_, err := f.WriteString(p)
				must(t, err)
				// Waits for time: the pace of a logger that writes more often than the file may be quiet.
				time.Sleep(60 * time.Millisecond)
			}
			must(t, f.Close())
		}
		clock := new(acquiretest.Watched)
		return &acquiretest.Bench{Source: folder.New(d, clock), Write: write, Ready: func() { clock.Ticking(t) }}
	})
}

func TestMissingFolder(t *testing.T) {
	d := acquiretest.Describe(t, acquire.Description{Kind: acquire.Folder, Address: filepath.Join(t.TempDir(), "none")})
	var r acquiretest.Recorder
	if err := folder.New(d, acquire.WallClock{}).Run(t.Context(), &r); err == nil {
		t.Error("a folder that is not there was watched")
	}
}
