package cli_test

import (
	"context"
	"os"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"hardcatch/internal/app"
	"hardcatch/internal/cli"
	"hardcatch/internal/store"
	"hardcatch/internal/store/sqlstore"
	"hardcatch/internal/traceio"
	"hardcatch/internal/traceio/csvtrace"
)

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

func hardcatch() int {
	formats := traceio.NewRegistry()
	formats.Register(csvtrace.Format{})
	a := &app.App{Files: files{}, Formats: formats, Now: time.Now, Version: "test"}
	return cli.Run(context.Background(), a, os.Args[1:], os.Stdout, os.Stderr)
}

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"hardcatch": func() { os.Exit(hardcatch()) }})
}

func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"exits":  exits,
			"fields": fields,
		},
	})
}
