package acquire

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// CSV is the drop as a record: what is known of it in lines that begin with #, a line of names and units, and one
// line for each sample. Numbers are written so that they read back the same; what was lost is NaN.
func (d *Drop) CSV() []byte {
	out := make([]byte, 0, 2000+d.Len()*len(d.Values)*14)
	say := func(format string, args ...any) {
		out = append(out, "# "...)
		out = append(out, strings.NewReplacer("\r", " ", "\n", " ").Replace(fmt.Sprintf(format, args...))...)
		out = append(out, '\n')
	}
	say("captured drop %s", d.ID)
	say("Sample rate: %s Hz", strconv.FormatFloat(d.Description.Rate.SI(), 'f', -1, 64))
	say("source %s of kind %s", d.Description.Name, d.Description.Kind)
	say("triggered by %s at %s, %d samples after the first", d.By, d.Begun.UTC().Format(time.RFC3339Nano), d.Trigger-d.First)
	say("ended by %s", d.Ended)
	if d.Recovered {
		say("finished from the spool after the capture was cut off")
	}
	for i, c := range d.Description.Channels {
		if c.Scale != 0 || c.Offset != 0 {
			say("channel %d, %s, is %.17g times the number sent plus %.17g", i+1, c.Name, c.scale(), c.Offset)
		}
	}
	say("%d of %d samples lost", d.Lost, d.Len())
	for i, f := range d.Findings() {
		if i == 20 {
			say("and %d more findings", len(d.Findings())-i)
			break
		}
		say("%s: %s", f.Grade, f)
	}
	for i, c := range d.Description.Channels {
		if i > 0 {
			out = append(out, ';')
		}
		out = append(out, c.Name...)
		if c.Unit != "" {
			out = append(out, " ["...)
			out = append(out, c.Unit...)
			out = append(out, ']')
		}
	}
	out = append(out, '\n')
	for i := range d.Len() {
		for c := range d.Values {
			if c > 0 {
				out = append(out, ';')
			}
			if v := d.Values[c][i]; math.IsNaN(v) {
				out = append(out, "NaN"...)
			} else {
				out = strconv.AppendFloat(out, v, 'g', -1, 64)
			}
		}
		out = append(out, '\n')
	}
	return out
}
