// Command hardcatch turns drop tests of textile fall-arrest gear into evidence.
package main

import (
	"context"
	"os"
	"os/signal"
	"time"

	"hardcatch/internal/acquire"
	"hardcatch/internal/acquire/drivers"
	"hardcatch/internal/acquire/outlet"
	"hardcatch/internal/app"
	"hardcatch/internal/cli"
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
	a := &app.App{Files: sqlstore.Files{}, Formats: formats, Now: time.Now, Version: version,
		Clock: acquire.Wall{}, Sources: drivers.Open, Outlets: outlet.Open}
	code := cli.Run(ctx, a, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}
