package acquire

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"
)

// WriteCSV writes the drop as a record: what is known of it in lines that begin with #, a line of names and units, and
// one line for each sample. Numbers are written so that they read back the same; what was lost is NaN. The samples go
// by in blocks, so that a long drop needs no more memory than a short one; the same bytes come each time.
func (d *Drop) WriteCSV(to io.Writer) error {
	w := bufio.NewWriterSize(to, 1<<20)
	if _, err := w.Write(d.head()); err != nil {
		return err
	}
	var row []byte
	err := d.Each(func(values [][]float64) error {
		for i := range values[0] {
			row = row[:0]
			for c := range values {
				if c > 0 {
					row = append(row, ';')
				}
				if v := values[c][i]; math.IsNaN(v) {
					row = append(row, "NaN"...)
				} else {
					row = strconv.AppendFloat(row, v, 'g', -1, 64)
				}
			}
			if _, err := w.Write(append(row, '\n')); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	return w.Flush()
}

// CSV is what WriteCSV writes, for a drop that is short.
func (d *Drop) CSV() ([]byte, error) {
	var b bytes.Buffer
	err := d.WriteCSV(&b)
	return b.Bytes(), err
}

// saturated are the samples of a channel that the source called overloaded, counted from the first of the record; csvtrace reads them back
// into the mask.
func (d *Drop) saturated(channel string) string {
	var parts []string
	for _, e := range d.Events {
		from, to := max(e.From-d.First, 0), min(e.From-d.First+e.Count, int64(d.Len()))
		if e.Kind == Overload && e.Channel == channel && from < to {
			parts = append(parts, fmt.Sprintf("%d to %d", from, to-1))
		}
	}
	return strings.Join(parts, ", ")
}

// head is what stands before the samples.
func (d *Drop) head() []byte {
	var out []byte
	say := func(format string, args ...any) {
		out = append(out, "# "...)
		out = append(out, strings.NewReplacer("\r", " ", "\n", " ").Replace(fmt.Sprintf(format, args...))...)
		out = append(out, '\n')
	}
	say("captured drop %s", d.ID)
	if d.Description.Made() {
		say("Invented scenario: a rehearsal or the simulated rig made this record; it describes no real product")
	}
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
	for i, c := range d.Description.Channels {
		if s := d.saturated(c.Name); s != "" {
			say("saturated: channel %d, samples %s", i+1, s)
		}
	}
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
	return append(out, '\n')
}
