// Package wavtrace reads a WAV file as a record: what a sound card that is used as a logger writes.
//
// It is the format to copy for a new one. Parts marked "mandatory" are asked for by traceio.Format or by the suite
// traceiotest; what is left is this format's own.
package wavtrace

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/traceio"
	"github.com/hardcatch/hardcatch/internal/traceio/wav"
)

// Format reads WAV files. It has no fields: a format keeps nothing from one record to the next.
type Format struct{}

// Name is mandatory because a campaign keeps it beside every record, and "prove" must be able to make each reduction
// again: let the number rise whenever the same bytes would give other samples.
func (Format) Name() string { return "wav/1" }

// Sniff is mandatory because the registry lets the format with the highest number read. A mark in the first bytes is certain
// (100); a file name alone proves nothing, and foreign bytes must give 50 or less.
func (Format) Sniff(head []byte, _ string) int {
	if wav.Known(head) {
		return 100
	}
	return 0
}

// Read is mandatory because it is what a format is for. Every error begins with the name of the record (place), says what is
// the matter (fact) and what to do (way out).
func (x Format) Read(ctx context.Context, name string, r io.Reader, o traceio.Options) (*drop.Trace, error) {
	w, err := wav.Open(name, r)
	if err != nil {
		return nil, err
	}
	// The rate is mandatory because every measure rests on it. A file that contradicts what a person stated is refused.
	if o.Rate != 0 && math.Abs(o.Rate.SI()/w.Rate-1) > 1e-6 {
		return nil, fmt.Errorf("%s: the file has %s, but %s was stated; leave the rate out", name, quantity.Frequency(w.Rate).Text(6), o.Rate.Text(6))
	}
	t := &drop.Trace{Name: name, Format: x.Name(), Rate: quantity.Frequency(w.Rate)}
	columns, err := channels(t, w, o)
	if err != nil {
		return nil, err
	}
	if err := columns.read(ctx, t, w, o); err != nil {
		return nil, err
	}
	columns.findings(t, w)
	return t, nil
}

// column is one channel while it is read.
type column struct {
	at     int     // its place in the file
	scale  float64 // SI units in a number of 1
	keep   bool
	values []float64
	full   stretch // at the end of the range
	none   stretch // without a number
	mask   drop.Mask
}

type columns []*column

// channels names the channels, gives them their units and leaves out what nobody asked for.
func channels(t *drop.Trace, w *wav.Reader, o traceio.Options) (columns, error) {
	// Names are mandatory because people and settings choose a channel by its name. A WAV file has none.
	names := make([]string, w.Channels)
	for i := range names {
		names[i] = "channel " + strconv.Itoa(i+1)
	}
	// The choice is mandatory because a record with several channels would else be read whole, and a misspelt name must not
	// pass for another channel.
	chosen, err := o.Choose(names)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", t.Name, err)
	}
	var all columns
	for i, n := range names {
		if chosen >= 0 && chosen != i {
			continue
		}
		u, number, err := unitOf(t, n, i, chosen, o)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", t.Name, err)
		}
		t.Channels = append(t.Channels, drop.Channel{Name: n, Unit: u.Text, Dim: u.Dim, Factor: u.Factor, Kind: u.Kind})
		all = append(all, &column{at: i, scale: number * u.Factor, keep: true})
	}
	// Keep is not mandatory, but long records need the memory: only the channel wanted keeps its values.
	if o.Keep != nil {
		if wanted := o.Keep(t.Channels); wanted >= 0 {
			for i, c := range all {
				c.keep = i == wanted
			}
		}
	}
	return all, nil
}

// unitOf is the unit of a channel and what a number of 1 is in it. It is mandatory because a number without a unit is no
// force: what the person states stands above what the file says, and what nobody says is a warning, not a guess.
func unitOf(t *drop.Trace, name string, i, chosen int, o traceio.Options) (u traceio.Unit, number float64, err error) {
	text, given := o.UnitOf(name, strconv.Itoa(i+1))
	number = 1
	switch {
	case given:
	case o.FullScale != "" && o.ForceUnit != "":
		return u, 0, fmt.Errorf("full scale %q has a unit already; leave the force unit %s out", o.FullScale, o.ForceUnit)
	case o.FullScale != "":
		si, q, bare, err := quantity.ParseAny(o.FullScale)
		if err != nil || bare || !(si > 0) {
			return u, 0, fmt.Errorf("full scale %q is no number with a unit; write for example 5 V or 50 kN", o.FullScale)
		}
		text, number = q.Name, si/q.Factor
	case o.ForceUnit != "" && i == max(chosen, 0):
		text = o.ForceUnit
	default:
		t.Findings = append(t.Findings, drop.Finding{Kind: "no-unit", Grade: drop.Warning, Place: t.Name, Count: 1,
			Fact:   fmt.Sprintf("%s has no unit: its numbers are shares of full scale, from -1 to 1, and are taken as counts", name),
			WayOut: `say what full scale is, for example --full-scale "50 kN", or give the rig a calibration with input: counts in such shares`})
		return traceio.Unit{Text: "share of full scale", Factor: 1, Kind: "counts"}, 1, nil
	}
	u, known := traceio.AnyUnit(text)
	if !known {
		return u, 0, fmt.Errorf("the unit %q stated for %s is not known; use %s", text, name, traceio.Units)
	}
	if u.Doubt != "" {
		t.Findings = append(t.Findings, drop.Finding{Kind: "mass-unit", Grade: drop.Warning, Place: t.Name, Count: 1,
			Fact: name + ": " + u.Doubt, WayOut: "state the unit of force if that is wrong"})
	}
	if u.Kind == "acceleration" && o.Mass > 0 {
		u = u.Times(o.Mass)
		t.Findings = append(t.Findings, drop.Finding{Kind: traceio.AcceleratedKind, Grade: drop.Note, Place: t.Name, Count: 1,
			Fact: fmt.Sprintf("%s is an acceleration; the force is %s times it", name, o.Mass), WayOut: traceio.AcceleratedWayOut})
	}
	return u, number, nil
}

// read takes the samples block by block.
func (all columns) read(ctx context.Context, t *drop.Trace, w *wav.Reader, o traceio.Options) error {
	block := make([]float64, 8192*w.Channels)
	limit, n := o.Limit(), 0
	for {
		// The context is mandatory because a person who stops the program must not wait for a long record.
		if err := ctx.Err(); err != nil {
			return err
		}
		got, err := w.Read(block)
		if errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			return err
		}
		// The limit is mandatory because a damaged or foreign file must not take all the memory.
		if got > limit-n || w.Frames > int64(limit) {
			return fmt.Errorf("%s: the record has more than %d samples, which is all that are read; cut it, or record one drop a file", t.Name, limit)
		}
		for _, c := range all {
			for k := range got {
				number := block[k*w.Channels+c.at]
				v := number * c.scale
				// Numbers that are none are mandatory to be NaN, with a fault, because infinity would poison every sum.
				if !(math.Abs(v) <= math.MaxFloat64) {
					v = math.NaN()
					c.none.add(n + k)
					c.mask = c.mask.With(drop.Stretch{From: n + k, To: n + k + 1, Is: drop.Lost, Why: "has no number"})
				} else if w.Full(number) {
					c.full.add(n + k)
					c.mask = c.mask.With(drop.Stretch{From: n + k, To: n + k + 1, Is: drop.Saturated, Why: "stands at full scale"})
				}
				if c.keep {
					c.values = append(c.values, v)
				}
			}
		}
		n += got
	}
	if n == 0 {
		return fmt.Errorf("%s: there are no samples; record again", t.Name)
	}
	for i, c := range all {
		t.Channels[i].Values, t.Channels[i].Mask = c.values, c.mask
	}
	return nil
}
