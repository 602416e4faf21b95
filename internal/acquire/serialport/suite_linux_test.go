package serialport_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/acquiretest"
	"github.com/hardcatch/hardcatch/internal/acquire/pty"
	"github.com/hardcatch/hardcatch/internal/acquire/serialport"
	"github.com/hardcatch/hardcatch/internal/waittest"
)

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// bench is a source at a port, with a device that writes to the other end. The first line only wakes the source,
// which begins at a line end.
func bench(t *testing.T, name string, write func([]byte) (int, error)) *acquiretest.Bench {
	d := acquiretest.Describe(t, acquire.Description{Kind: acquire.Serial, Address: name, Baud: 230400, Lines: acquiretest.Lines})
	send := func(text string) {
		for len(text) > 0 { // a pty holds 4 kB
			n := min(len(text), 2000)
			_, err := write([]byte(text[:n]))
			must(t, err)
			text = text[n:]
			time.Sleep(time.Millisecond) // Waits for time: a port has a pace, 2 MB/s here.
		}
	}
	clock := new(acquiretest.Watched)
	ready := func() {
		clock.Opened(t) // what came before is flushed away
		send("7,-12\r\n")
	}
	return &acquiretest.Bench{Source: serialport.New(d, clock), Clock: clock, Ready: ready, Send: send, Stays: true, Cut: func() { clock.Ahead(2 * acquiretest.Patience) }, Mend: func() {}}
}

func TestOwnPair(t *testing.T) {
	acquiretest.Run(t, func(t *testing.T) *acquiretest.Bench {
		p, err := pty.Open()
		must(t, err)
		t.Cleanup(func() { must(t, p.Close()) })
		return bench(t, p.Name(), p.Write)
	})
}

// socat makes the pair where it is installed; else the own opener has been tested above.
func TestSocatPair(t *testing.T) {
	socat, err := exec.LookPath("socat")
	if err != nil {
		t.Log("socat is not installed; the pair made by the program itself stands for it")
		TestOwnPair(t)
		return
	}
	acquiretest.Run(t, func(t *testing.T) *acquiretest.Bench {
		dir := t.TempDir()
		device, port := filepath.Join(dir, "device"), filepath.Join(dir, "port")
		cmd := exec.Command(socat, "pty,raw,echo=0,link="+device, "pty,raw,echo=0,link="+port)
		must(t, cmd.Start())
		t.Cleanup(func() {
			_ = cmd.Process.Kill()
			_ = cmd.Wait()
		})
		var f *os.File
		waittest.Until(t, waittest.For("the pair of socat"), func() bool {
			if _, err := os.Stat(port); err != nil {
				return false
			}
			var err error
			f, err = os.OpenFile(device, os.O_RDWR, 0)
			return err == nil
		})
		t.Cleanup(func() { must(t, f.Close()) })
		return bench(t, port, f.Write)
	})
}

// A port that is unplugged is said to be gone, and its return too.
func TestUnplugged(t *testing.T) {
	p, err := pty.Open()
	must(t, err)
	link := filepath.Join(t.TempDir(), "port")
	must(t, os.Symlink(p.Name(), link))
	b := bench(t, link, func(x []byte) (int, error) { return p.Write(x) })
	var r acquiretest.Recorder
	go func() { _ = b.Source.Run(t.Context(), &r) }()
	b.Ready()
	b.Send("1,5,5\n2,6,6\n3,7,7\n")
	wait := func(what string, ok func() bool) {
		t.Helper()
		waittest.Until(t, func() string { return fmt.Sprintf("%s: %v", what, r.Events()) }, ok)
	}
	wait("three samples", func() bool { return r.Next() == 3 })
	must(t, p.Close())
	wait("the word that the port is gone", func() bool { return r.Has(acquire.Disconnected) })
	p, err = pty.Open()
	must(t, err)
	defer func() { must(t, p.Close()) }()
	must(t, os.Remove(link))
	must(t, os.Symlink(p.Name(), link))
	n := 10
	wait("the word that it is back", func() bool {
		n++
		b.Send(fmt.Sprintf("%d,1,1\n", n))
		return r.Has(acquire.Reconnected)
	})
}

func TestUnknownPortNamesTheOthers(t *testing.T) {
	d := acquiretest.Describe(t, acquire.Description{Kind: acquire.Serial, Address: filepath.Join(t.TempDir(), "none"), Lines: acquiretest.Lines})
	var r acquiretest.Recorder
	if err := serialport.New(d, acquire.WallClock{}).Run(t.Context(), &r); err == nil {
		t.Error("a port that is not there was opened")
	}
}
