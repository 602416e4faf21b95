// Command hardcatch turns drop tests of textile fall-arrest gear into evidence.
package main

import (
	"context"
	"os"
	"os/signal"
	"time"

	"hardcatch/internal/app"
	"hardcatch/internal/cli"
	"hardcatch/internal/store"
	"hardcatch/internal/store/sqlstore"
	"hardcatch/internal/traceio"
	"hardcatch/internal/traceio/csvtrace"
)

// version is the program's; the release sets it.
var version = "0.1.0"

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	formats := traceio.NewRegistry()
	formats.Register(csvtrace.Format{})
	a := &app.App{Files: files{}, Formats: formats, Now: time.Now, Version: version}
	code := cli.Run(ctx, a, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

// files opens campaigns in SQLite files.
type files struct{}

func (files) Create(ctx context.Context, path string, c store.Campaign) (store.Store, error) {
	s, err := sqlstore.Create(ctx, path, c, sqlstore.Options{})
	if err != nil {
		return nil, err
	}
	return s, nil
}

func (files) Open(ctx context.Context, path string) (store.Store, error) {
	s, err := sqlstore.Open(ctx, path, sqlstore.Options{})
	if err != nil {
		return nil, err
	}
	return s, nil
}

func (files) OpenReadOnly(ctx context.Context, path string) (store.Store, error) {
	s, err := sqlstore.OpenReadOnly(ctx, path)
	if err != nil {
		return nil, err
	}
	return s, nil
}
