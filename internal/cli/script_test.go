package cli_test

import (
	"context"
	"os"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/drivers"
	"github.com/hardcatch/hardcatch/internal/acquire/outlet"
	"github.com/hardcatch/hardcatch/internal/cli"
	"github.com/hardcatch/hardcatch/internal/day"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/store/sqlstore"
	"github.com/hardcatch/hardcatch/internal/traceio"
	"github.com/hardcatch/hardcatch/internal/traceio/csvtrace"
	"github.com/hardcatch/hardcatch/internal/traceio/wavtrace"
)

func hardcatch() int {
	formats := traceio.NewRegistry()
	formats.Register(csvtrace.Format{})
	formats.Register(csvtrace.First())
	formats.Register(wavtrace.Format{})
	b := &day.Bench{Access: &look.Access{Files: sqlstore.Files{}, Formats: formats, Now: time.Now, Version: "test"},
		Clock: acquire.WallClock{}, Sources: drivers.Open, Outlets: outlet.Open}
	return cli.Run(context.Background(), b, os.Args[1:], os.Stdout, os.Stderr)
}

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"hardcatch": func() { os.Exit(hardcatch()) }})
}

func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:   "testdata/script",
		Setup: freePort,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"exits":      exits,
			"expand":     expand,
			"eventually": eventually,
			"fields":     fields,
			"picture":    picture,
			"sound":      sound,
		},
	})
}
