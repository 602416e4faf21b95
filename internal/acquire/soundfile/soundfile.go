// Package soundfile replays a WAV file that a sound card recorded.
package soundfile

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/traceio/wav"
)

type source struct{ acquire.Made }

// New makes a source of kind sound: linear PCM of 8 to 32 bits, of which a number is a share of full scale, from -1 to 1, or
// floating-point numbers as they are; the rate is the file's. As a stream the file is replayed at its own speed; with finished it is one record.
func New(d *acquire.Description, clock acquire.Clock) (acquire.Source, error) {
	f, w, err := open(d)
	if err != nil {
		return nil, err
	}
	if err := f.Close(); err != nil {
		return nil, fmt.Errorf("%s: %w", d.Address, err)
	}
	c := *d
	c.Rate = quantity.Frequency(w.Rate)
	switch {
	case d.Rate != 0 && d.Rate != c.Rate:
		return nil, fmt.Errorf("%s: the file has %s, the source says %s; leave the rate out", d.Address, c.Rate.Text(6), d.Rate.Text(6))
	case len(d.Channels) > w.Channels:
		return nil, fmt.Errorf("%s: the file has %d channels, the source describes %d", d.Address, w.Channels, len(d.Channels))
	}
	return source{acquire.Made{D: &c, Clock: clock}}, nil
}

func open(d *acquire.Description) (*os.File, *wav.Reader, error) {
	f, err := os.Open(d.Address)
	if err != nil {
		return nil, nil, fmt.Errorf("%s cannot be read: %w", d.Address, err)
	}
	w, err := wav.Open(d.Address, f)
	if err != nil {
		return nil, nil, errors.Join(err, f.Close())
	}
	return f, w, nil
}

// Run is part of acquire.Source.
func (s source) Run(ctx context.Context, out acquire.Sink) (err error) {
	f, w, err := open(s.D)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	if s.D.Finished {
		return s.record(ctx, w, out)
	}
	start := s.Clock.Now()
	return s.read(ctx, w, out.Event, func(b *acquire.Block) error {
		end := time.Duration(float64(b.First+int64(b.Len())) / s.D.Rate.SI() * float64(time.Second))
		if wait := end - s.Clock.Now().Sub(start); wait > 0 {
			if err := s.Clock.Sleep(ctx, wait); err != nil {
				return err
			}
		}
		b.Arrived = s.Clock.Now()
		return out.Samples(b)
	})
}

// record gives the whole file as one record.
func (s source) record(ctx context.Context, w *wav.Reader, out acquire.Sink) error {
	base := strings.TrimSuffix(filepath.Base(s.D.Address), filepath.Ext(s.D.Address))
	now := s.Clock.Now()
	d := &acquire.Drop{ID: base, Description: s.D, Begun: now, By: "the file", Ended: "time", Values: make([][]float64, len(s.D.Channels))}
	event := func(e acquire.Event) error {
		d.Events = append(d.Events, e)
		return out.Event(e)
	}
	err := s.read(ctx, w, event, func(b *acquire.Block) error {
		for c := range d.Values {
			d.Values[c] = append(d.Values[c], b.Values[c]...)
		}
		return nil
	})
	if err != nil {
		return err
	}
	text, err := d.CSV()
	if err != nil {
		return err
	}
	return out.Record(acquire.LoggerRecord{Name: base + ".csv", Data: text, Arrived: now})
}

// mostNumbers bounds a block, all channels of the file together: a header may claim any rate.
const mostNumbers = 1 << 18

// read gives the file in blocks of 20 ms, or shorter ones where those would be too large.
func (s source) read(ctx context.Context, w *wav.Reader, event func(acquire.Event) error, put func(*acquire.Block) error) error {
	n := max(min(int(s.D.Rate.SI()*0.02), mostNumbers/max(w.Channels, 1)), 1)
	numbers := make([]float64, n*w.Channels)
	b := acquire.NewBlock(len(s.D.Channels), n)
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		got, err := w.Read(numbers)
		if errors.Is(err, io.EOF) {
			if why := w.Ended(); why != "" {
				return event(acquire.Event{Kind: acquire.Unfinished, At: s.Clock.Now(), From: b.First, Text: why})
			}
			return nil
		} else if err != nil {
			return err
		}
		for c := range b.Values {
			b.Values[c] = b.Values[c][:got]
			if over := s.channel(c, b, numbers, w); over.Count > 0 {
				over.At = s.Clock.Now()
				if err := event(over); err != nil {
					return err
				}
			}
		}
		if err := put(b); err != nil {
			return err
		}
		b.First += int64(got)
	}
}

// channel scales one channel of a block, and tells which samples stand at full scale or show no number.
func (s source) channel(c int, b *acquire.Block, numbers []float64, w *wav.Reader) acquire.Event {
	ch := s.D.Channels[c]
	over := acquire.Event{Kind: acquire.Overload, Channel: ch.Name}
	for i := range b.Values[c] {
		number := numbers[i*w.Channels+c]
		v := ch.Value(number)
		none := !(math.Abs(v) <= math.MaxFloat64)
		if none {
			v = math.NaN()
		}
		b.Values[c][i] = v
		if none || w.Full(number) || ch.Limit > 0 && (number >= ch.Limit || number <= -ch.Limit) {
			if over.Count == 0 {
				over.From = b.First + int64(i)
			}
			over.Count = b.First + int64(i) - over.From + 1
		}
	}
	return over
}
