package acquire

import (
	"encoding/json"
	"errors"
	"fmt"

	"github.com/hardcatch/hardcatch/internal/acquire/spool"
)

// recovery is what a spool still held when it was found again.
type recovery struct {
	drops    []*Drop
	events   []Event
	segments []spool.Segment
	samples  int64 // complete samples read
}

// recoverSpool runs everything a spool folder holds through the trigger again.
func recoverSpool(dir string) (*recovery, error) {
	list, err := spool.Segments(dir)
	if err != nil {
		return nil, err
	}
	r := &recovery{segments: list}
	p := &replay{dir: dir, taken: map[string]bool{}}
	for _, s := range list {
		torn, err := spool.Read(s.Path, p.frame)
		switch {
		case errors.Is(err, spool.ErrNoHeader):
			r.events = append(r.events, Event{Kind: Torn, Text: fmt.Sprintf("%s was torn before it held anything (%d bytes)", s.Path, torn)})
			continue
		case err != nil:
			return nil, fmt.Errorf("%w; move the spool folder away to go on without it", err)
		}
		if torn > 0 {
			e := Event{Kind: Torn, Text: fmt.Sprintf("the last %d bytes of %s were torn by a crash and left out", torn, s.Path)}
			if p.m != nil {
				e.From = p.m.Next
				p.m.event(e)
			}
			r.events = append(r.events, e)
		}
	}
	p.end()
	for _, d := range p.drops {
		if !p.taken[d.ID] {
			d.Recovered = true
			r.drops = append(r.drops, d)
		}
	}
	r.samples = p.samples
	return r, nil
}

// replay feeds frames to a finder.
type replay struct {
	dir     string
	m       *dropFinder
	block   *Block
	drops   []*Drop
	taken   map[string]bool
	samples int64
}

func (p *replay) frame(kind byte, payload []byte) error {
	switch kind {
	case spool.HeaderKind:
		return p.header(payload)
	case frameSamples:
		if err := readSamples(payload, p.block); err != nil {
			return err
		}
		p.samples += int64(p.block.Len())
		p.m.feed(p.block)
	case frameEvent:
		var e Event
		if err := json.Unmarshal(payload, &e); err != nil {
			return fmt.Errorf("an event cannot be read: %w", err)
		}
		p.m.event(e)
	case frameOrder:
		var o ordered
		if err := json.Unmarshal(payload, &o); err != nil {
			return fmt.Errorf("an order cannot be read: %w", err)
		}
		p.m.obey(o.Order, o.At)
	case frameTaken:
		p.taken[string(payload)] = true
	}
	p.collect()
	return nil
}

func (p *replay) collect() {
	p.drops = append(p.drops, p.m.ready...)
	p.m.ready = nil
}

func (p *replay) header(payload []byte) error {
	var h header
	if err := json.Unmarshal(payload, &h); err != nil {
		return fmt.Errorf("the header cannot be read: %w", err)
	}
	if h.Version != spoolVersion {
		return fmt.Errorf("the spool is of version %d, this program reads %d; finish it with the program that wrote it", h.Version, spoolVersion)
	}
	if p.m != nil && p.m.at.run == h.Run {
		return nil
	}
	p.end()
	if n := len(h.Source.Channels); n > MaxChannels {
		return fmt.Errorf("the header names %d channels", n)
	}
	m, err := newDropFinder(&h.Source, h.Trigger, spooled{dir: p.dir, run: h.Run})
	if err != nil {
		return err
	}
	m.resume(h.Memory)
	p.m, p.block = m, NewBlock(len(h.Source.Channels), 0)
	return nil
}

// end finishes a drop that was being recorded when its run ended.
func (p *replay) end() {
	if p.m == nil {
		return
	}
	if p.m.State == Triggered {
		p.m.close("the capture was cut off, by a crash or a loss of power")
	}
	p.collect()
}
