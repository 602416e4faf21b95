package sqlstore

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"

	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/store/storetest"
)

func init() {
	roles["full"] = func(args []string) error {
		if err := syscall.Mount("tmpfs", args[0], "tmpfs", 0, "size=1m,mode=0777"); err != nil {
			return err
		}
		if err := reportFull(args[0]); err != nil {
			return err
		}
		// The same folder on a medium that cannot be written.
		if err := syscall.Mount("", args[0], "", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""); err != nil {
			return err
		}
		return reportOpening([]string{filepath.Join(args[0], "trial.hardcatch")})
	}
}

// TestFullFileSystem meets a file system of 1 MiB that really is full. The process that mounts it has
// a mount name space of its own, so that nothing of it stays.
func TestFullFileSystem(t *testing.T) {
	cmd := child(t, self(t), "full", t.TempDir())
	cmd.SysProcAttr = &syscall.SysProcAttr{Cloneflags: syscall.CLONE_NEWNS}
	if os.Geteuid() != 0 {
		cmd.SysProcAttr = &syscall.SysProcAttr{
			Cloneflags:  syscall.CLONE_NEWNS | syscall.CLONE_NEWUSER,
			UidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getuid(), Size: 1}},
			GidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getgid(), Size: 1}},
		}
	}
	out, err := cmd.Output()
	t.Logf("%s", out)
	if err != nil && len(out) == 0 {
		t.Logf("this system allows no mount (%v); TestFull has met the same error by the page limit", err)
		return
	}
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"fill: true true ", "verify: true true <nil>", "create: true ", "left: [] <nil>", "reopened: <nil>", "write-protected"} {
		if !strings.Contains(string(out), want) {
			t.Errorf("the answer lacks %q", want)
		}
	}
	read := regexp.MustCompile(`(?s)entries: (\d+)\n.*read: (\d+) <nil>`).FindSubmatch(out)
	if read == nil || !bytes.Equal(read[1], read[2]) {
		t.Error("on the read-only medium the campaign is not what was stored")
	}
}

// reportFull fills the file system of the folder args[0] and says what came of it.
func reportFull(folder string) error {
	ctx := context.Background()
	path := filepath.Join(folder, "trial.hardcatch")
	s, err := Create(ctx, path, storetest.Question(), Options{})
	if err != nil {
		return err
	}
	kept, err := fillUp(ctx, s)
	fmt.Println("fill:", kept > 0, errors.Is(err, store.ErrFull), err)
	v, err := s.Verify(ctx)
	fmt.Println("entries:", v.Entries)
	fmt.Println("verify:", v.Break == nil, v.Drops == int64(kept), err)
	_, err = Create(ctx, path+"-second", storetest.Question(), Options{})
	fmt.Println("create:", errors.Is(err, store.ErrFull), err)
	left, err := filepath.Glob(path + "-second*")
	fmt.Println("left:", left, err)
	if err := s.Close(); err != nil {
		return err
	}
	r, err := OpenReadOnly(ctx, path)
	if err != nil {
		return err
	}
	fmt.Println("reopened:", verified(ctx, r))
	return r.Close()
}
