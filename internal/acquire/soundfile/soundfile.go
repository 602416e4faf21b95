// Package soundfile replays a WAV file that a sound card recorded.
package soundfile

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/go-audio/audio"
	"github.com/go-audio/wav"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

type source struct {
	d     *acquire.Description
	clock acquire.Clock
}

// New makes a source of kind sound: linear PCM of 8 to 32 bits. A number is a share of full scale, from -1 to 1; the
// rate is the file's. As a stream the file is replayed at its own speed; with finished it is one record.
func New(d *acquire.Description, clock acquire.Clock) (acquire.Source, error) {
	f, w, err := open(d)
	if err != nil {
		return nil, err
	}
	if err := f.Close(); err != nil {
		return nil, fmt.Errorf("%s: %w", d.Address, err)
	}
	c := *d
	c.Rate = quantity.Frequency(w.SampleRate)
	switch {
	case d.Rate != 0 && d.Rate != c.Rate:
		return nil, fmt.Errorf("%s: the file has %s, the source says %s; leave the rate out", d.Address, c.Rate.Text(6), d.Rate.Text(6))
	case len(d.Channels) > int(w.NumChans):
		return nil, fmt.Errorf("%s: the file has %d channels, the source describes %d", d.Address, w.NumChans, len(d.Channels))
	}
	return source{&c, clock}, nil
}

func open(d *acquire.Description) (*os.File, *wav.Decoder, error) {
	f, err := os.Open(d.Address)
	if err != nil {
		return nil, nil, fmt.Errorf("%s cannot be read: %w", d.Address, err)
	}
	w := wav.NewDecoder(f)
	if !w.IsValidFile() || w.SampleRate == 0 {
		return nil, nil, errors.Join(fmt.Errorf("%s: this is no WAV file; export it as WAV", d.Address), f.Close())
	}
	if b := w.BitDepth; w.WavAudioFormat != 1 && w.WavAudioFormat != 0xfffe || b != 8 && b != 16 && b != 24 && b != 32 {
		return nil, nil, errors.Join(fmt.Errorf("%s: the samples are of a kind that is not read (format %d, %d bits); export it as linear PCM of 16 or 24 bits", d.Address, w.WavAudioFormat, b), f.Close())
	}
	return f, w, nil
}

// Description is part of acquire.Source.
func (s source) Description() *acquire.Description { return s.d }

// Run is part of acquire.Source.
func (s source) Run(ctx context.Context, out acquire.Sink) (err error) {
	f, w, err := open(s.d)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	if s.d.Finished {
		return s.record(ctx, w, out)
	}
	start := s.clock.Now()
	return s.read(ctx, w, out.Event, func(b *acquire.Block) error {
		end := time.Duration(float64(b.First+int64(b.Len())) / s.d.Rate.SI() * float64(time.Second))
		if wait := end - s.clock.Now().Sub(start); wait > 0 {
			if err := s.clock.Sleep(ctx, wait); err != nil {
				return err
			}
		}
		b.Arrived = s.clock.Now()
		return out.Samples(b)
	})
}

// record gives the whole file as one record.
func (s source) record(ctx context.Context, w *wav.Decoder, out acquire.Sink) error {
	base := strings.TrimSuffix(filepath.Base(s.d.Address), filepath.Ext(s.d.Address))
	now := s.clock.Now()
	d := &acquire.Drop{ID: base, Description: s.d, Begun: now, By: "the file", Ended: "time", Values: make([][]float64, len(s.d.Channels))}
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
	return out.Record(acquire.Finished{Name: base + ".csv", Data: text, Arrived: now})
}

// read gives the file in blocks of 20 ms.
func (s source) read(ctx context.Context, w *wav.Decoder, event func(acquire.Event) error, put func(*acquire.Block) error) error {
	n, chans := max(int(s.d.Rate.SI()*0.02), 1), int(w.NumChans)
	buf := &audio.IntBuffer{Format: w.Format(), Data: make([]int, n*chans)}
	b := acquire.NewBlock(len(s.d.Channels), n)
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		got, err := w.PCMBuffer(buf)
		if err != nil && !errors.Is(err, io.EOF) {
			return fmt.Errorf("%s: %w", s.d.Address, err)
		}
		if got /= chans; got == 0 {
			return nil
		}
		for c := range b.Values {
			b.Values[c] = b.Values[c][:got]
			if over := s.channel(c, b, buf.Data, chans, int(w.BitDepth)); over.Count > 0 {
				over.At = s.clock.Now()
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

// channel scales one channel of a block, and tells which samples stand at full scale.
func (s source) channel(c int, b *acquire.Block, data []int, chans, bits int) acquire.Event {
	ch := s.d.Channels[c]
	over := acquire.Event{Kind: acquire.Overload, Channel: ch.Name}
	full := float64(int64(1) << (bits - 1))
	for i := range b.Values[c] {
		x := float64(data[i*chans+c])
		if bits == 8 {
			x -= 128 // samples of 8 bits have no sign
		}
		number := x / full
		b.Values[c][i] = ch.Value(number)
		if x >= full-1 || x <= -full || ch.Limit > 0 && (number >= ch.Limit || number <= -ch.Limit) {
			if over.Count == 0 {
				over.From = b.First + int64(i)
			}
			over.Count = b.First + int64(i) - over.From + 1
		}
	}
	return over
}
