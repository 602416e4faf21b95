package cli_test

import (
	"context"
	"math"
	"os"

	"github.com/rogpeppe/go-internal/testscript"

	"github.com/hardcatch/hardcatch/internal/traceio"
	"github.com/hardcatch/hardcatch/internal/traceio/csvtrace"
	"github.com/hardcatch/hardcatch/internal/traceio/wav/wavtest"
)

// sound writes a record of text as a sound card with a full scale of 50 kN would: sound RECORD FILE.
func sound(ts *testscript.TestScript, _ bool, args []string) {
	f, err := os.Open(ts.MkAbs(args[0]))
	ts.Check(err)
	t, err := traceio.NewRegistry(csvtrace.Format{}).Open(context.Background(), args[0], f, traceio.Options{})
	ts.Check(err)
	ts.Check(f.Close())
	w := wavtest.File{Channels: 1, Rate: int(math.Round(t.Rate.SI())), Bits: 24}
	samples := make([]float64, t.Len())
	for i, v := range t.Channels[0].Values {
		samples[i] = math.Round(v / 50e3 * (1 << 23))
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), w.Bytes(samples), 0o644))
}
