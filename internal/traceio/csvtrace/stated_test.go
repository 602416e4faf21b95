package csvtrace_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/traceio"
	"github.com/hardcatch/hardcatch/internal/traceio/csvtrace"
)

// What a line before the samples calls saturated is masked, in its channel alone; a sample without a number there was out of range. Lines that
// do not keep the form are remarks like any other, and what lies beyond the record is left out.
func TestStatedSaturation(t *testing.T) {
	var b strings.Builder
	b.WriteString("# Sample rate: 1000 Hz\n# saturated: channel 2, samples 10 to 12, 20 to 20, 98 to 120\n# saturated: channel 1, samples 5\n# saturated: channel 3, samples 1 to 2\nF [N];G [N]\n")
	for i := range 100 {
		g := fmt.Sprint(i % 7)
		if i == 11 {
			g = "NaN"
		}
		fmt.Fprintf(&b, "%d;%s\n", i%5, g)
	}
	tr, err := csvtrace.Format{}.Read(context.Background(), "x.csv", strings.NewReader(b.String()), traceio.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(tr.Channels) != 2 || len(tr.Channels[0].Mask) != 0 {
		t.Fatalf("%+v", tr.Channels[0].Mask)
	}
	why := "at the end of its range, as the source said"
	want := drop.Mask{{From: 10, To: 11, Is: drop.Saturated, Why: why}, {From: 11, To: 12, Is: drop.OutOfRange, Why: why}, {From: 12, To: 13, Is: drop.Saturated, Why: why}, {From: 20, To: 21, Is: drop.Saturated, Why: why}, {From: 98, To: 100, Is: drop.Saturated, Why: why}}
	if fmt.Sprint(tr.Channels[1].Mask) != fmt.Sprint(want) {
		t.Errorf("%v\nwant %v", tr.Channels[1].Mask, want)
	}
}
