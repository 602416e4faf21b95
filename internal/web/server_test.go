package web_test

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/store/sqlstore"
	"github.com/hardcatch/hardcatch/internal/traceio"
	"github.com/hardcatch/hardcatch/internal/traceio/csvtrace"
	"github.com/hardcatch/hardcatch/internal/web"
)

// The demonstration's certificate holds until 2027-01-18.
var today = time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)

func newApp() *look.Access {
	formats := traceio.NewRegistry()
	formats.Register(csvtrace.Format{})
	formats.Register(csvtrace.First())
	return &look.Access{Files: sqlstore.Files{}, Formats: formats, Now: func() time.Time { return today }, Version: "test"}
}

var demo struct {
	once sync.Once
	data []byte
	err  error
}

// made is the bytes of the invented campaign, made once.
func made(t testing.TB) []byte {
	t.Helper()
	demo.once.Do(func() {
		dir, err := os.MkdirTemp("", "hardcatch-web-")
		if err != nil {
			demo.err = err
			return
		}
		defer func() { demo.err = joined(demo.err, os.RemoveAll(dir)) }()
		path := filepath.Join(dir, "demo.hardcatch")
		if _, demo.err = app.Demo(context.Background(), newApp(), path); demo.err == nil {
			demo.data, demo.err = os.ReadFile(path)
		}
	})
	if demo.err != nil {
		t.Fatal(demo.err)
	}
	return demo.data
}

// demonstration is a fresh copy of the invented campaign, for a test that changes it.
func demonstration(t testing.TB) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "demo.hardcatch")
	if err := os.WriteFile(path, made(t), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func joined(a, b error) error {
	if a != nil {
		return a
	}
	return b
}

// readers is the one server of the demonstration for all tests that only read: what it works out is worked out once.
var readers struct {
	once sync.Once
	dir  string
	s    started
	end  func() error
	err  error
}

// shared is a server of the demonstration that is only read; TestMain holds its tests to that.
func shared(t testing.TB) started {
	t.Helper()
	data := made(t)
	readers.once.Do(func() {
		if readers.dir, readers.err = os.MkdirTemp("", "hardcatch-web-"); readers.err != nil {
			return
		}
		path := filepath.Join(readers.dir, "demo.hardcatch")
		if readers.err = os.WriteFile(path, data, 0o600); readers.err == nil {
			readers.s, readers.end, readers.err = serveAt(path, "127.0.0.1:0", time.Minute, func(text string) { fmt.Fprintln(os.Stderr, text) })
		}
	})
	if readers.err != nil {
		t.Fatal(readers.err)
	}
	return readers.s
}

// unchanged ends the shared server and tells whether its campaign is as it was made.
func unchanged() (err error) {
	if readers.end == nil {
		return nil
	}
	was, now := int64(0), int64(0)
	fresh := filepath.Join(readers.dir, "fresh.hardcatch")
	err = errors.Join(readers.end(), os.WriteFile(fresh, demo.data, 0o600), head(fresh, &was), head(readers.s.path, &now), os.RemoveAll(readers.dir))
	if err == nil && was != now {
		err = fmt.Errorf("the shared campaign ends at entry %d and was made with %d: a test that changes it needs start(t, demonstration(t))", now, was)
	}
	return err
}

func head(path string, seq *int64) error {
	return newApp().Read(context.Background(), path, func(r store.Reader) error {
		h, err := r.Head(context.Background())
		*seq = h.Seq
		return err
	})
}

func TestMain(m *testing.M) {
	code := m.Run()
	if chrome.stop != nil {
		chrome.stop()
	}
	if err := unchanged(); err != nil {
		fmt.Fprintln(os.Stderr, err)
		code = 1
	}
	os.Exit(code)
}

// started is a server on a port of its own.
type started struct {
	addr string // host and port
	url  string
	path string // of the campaign
	app  *look.Access
	srv  *web.Server
	stop func() // before the test ends
}

func start(t testing.TB, path string) started {
	t.Helper()
	return startAt(t, path, "127.0.0.1:0")
}

func startAt(t testing.TB, path, addr string) started {
	t.Helper()
	return startWith(t, path, addr, time.Minute)
}

// startWith starts a server whose page of the comparison waits as long as said.
func startWith(t testing.TB, path, addr string, patience time.Duration) started {
	t.Helper()
	s, end, err := serveAt(path, addr, patience, func(text string) { t.Log(text) })
	if err != nil {
		t.Fatal(err)
	}
	s.stop = sync.OnceFunc(func() {
		if err := end(); err != nil {
			t.Error(err)
		}
	})
	t.Cleanup(s.stop)
	return s
}

// serveAt starts a server, with what ends it.
func serveAt(path, addr string, patience time.Duration, log func(string)) (s started, end func() error, err error) {
	a := newApp()
	ctx, stop := context.WithCancel(context.Background())
	defer func() {
		if err != nil {
			stop()
		}
	}()
	c, err := a.Open(ctx, path)
	if err != nil {
		return s, nil, err
	}
	srv, err := web.New(a, c, web.Options{Names: []string{"bench.example"}, Patience: patience, Log: log})
	if err != nil {
		return s, nil, errors.Join(err, c.Close())
	}
	l, err := net.Listen("tcp", addr)
	if err != nil {
		return s, nil, errors.Join(err, c.Close())
	}
	done := make(chan error, 1)
	go func() { done <- srv.Serve(ctx, l) }()
	return started{addr: l.Addr().String(), url: "http://" + l.Addr().String(), path: path, app: a, srv: srv}, func() error {
		stop()
		return errors.Join(<-done, c.Close())
	}, nil
}
