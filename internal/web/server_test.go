package web_test

import (
	"context"
	"net"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/look"
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

// demonstration is a fresh copy of the invented campaign.
func demonstration(t testing.TB) string {
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
	path := filepath.Join(t.TempDir(), "demo.hardcatch")
	if err := os.WriteFile(path, demo.data, 0o600); err != nil {
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
	a := newApp()
	ctx, stop := context.WithCancel(context.Background())
	s, err := a.Open(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	srv, err := web.New(a, s, web.Options{Names: []string{"bench.example"}, Patience: patience, Log: func(text string) { t.Log(text) }})
	if err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", addr)
	if err != nil {
		t.Fatal(err)
	}
	done := make(chan error, 1)
	go func() { done <- srv.Serve(ctx, l) }()
	end := sync.OnceFunc(func() {
		stop()
		if err := <-done; err != nil {
			t.Error(err)
		}
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	t.Cleanup(end)
	return started{addr: l.Addr().String(), url: "http://" + l.Addr().String(), path: path, app: a, srv: srv, stop: end}
}
