// Command hardcatch turns drop tests of textile fall-arrest gear into evidence.
package main

import (
	"context"
	"os"
	"os/signal"
	"time"

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

// version is the program's; the release sets it.
var version = "0.1.0"

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	formats := traceio.NewRegistry()
	formats.Register(csvtrace.Format{})
	formats.Register(csvtrace.First())
	formats.Register(wavtrace.Format{})
	b := &day.Bench{Access: &look.Access{Files: sqlstore.Files{}, Formats: formats, Now: time.Now, Version: version},
		Clock: acquire.WallClock{}, Sources: drivers.Open, Outlets: outlet.Open}
	code := cli.Run(ctx, b, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}
