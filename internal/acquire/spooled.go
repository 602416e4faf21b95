package acquire

import (
	"encoding/json"
	"errors"
	"fmt"

	"github.com/hardcatch/hardcatch/internal/acquire/spool"
)

// spooled is where the samples of a drop are until it is taken.
type spooled struct {
	dir, run string
	from     int // number of the first segment that may be looked at; those before may be deleted at any time
}

// blockLen is how many samples of each channel are handed on at once.
const blockLen = 4096

var errEnough = errors.New("enough was read")

// Each gives the samples of the drop in order, block by block; what did not come is NaN. The block is the drop's again
// when the call returns. A drop of a session is read from the spool, which has it until it is taken.
func (d *Drop) Each(fn func(values [][]float64) error) error {
	if d.at == nil {
		if len(d.Values) == 0 || len(d.Values[0]) == 0 {
			return nil
		}
		return fn(d.Values)
	}
	f := &filler{d: d, next: d.First, block: NewBlock(len(d.Description.Channels), blockLen), fn: fn}
	list, err := segmentsOf(d.at, d.First)
	if err != nil {
		return err
	}
	frame := NewBlock(len(d.Description.Channels), 0)
	for _, path := range list {
		_, err := spool.Read(path, func(kind byte, payload []byte) error {
			if kind != frameSamples {
				return nil
			}
			if err := readSamples(payload, frame); err != nil {
				return err
			}
			return f.take(frame)
		})
		if errors.Is(err, errEnough) {
			break
		}
		if err != nil {
			return err
		}
	}
	if err := f.absent(d.First + d.samples); err != nil {
		return err
	}
	if f.missing != d.absent {
		return fmt.Errorf("spool %s: %d samples of drop %s are no longer there; keep the folder as it is, and look at the disk", d.at.dir, f.missing-d.absent, d.ID)
	}
	return f.flush()
}

// filler puts the frames of a spool together to the samples of a drop.
type filler struct {
	d       *Drop
	next    int64 // sample that comes next
	missing int64
	block   *Block
	fn      func(values [][]float64) error
}

func (f *filler) take(b *Block) error {
	end := f.d.First + f.d.samples
	if b.First >= end {
		return errEnough
	}
	from, to := max(b.First, f.next), min(b.First+int64(b.Len()), end)
	if from >= to {
		return nil
	}
	if err := f.absent(from); err != nil {
		return err
	}
	for c := range f.block.Values {
		f.block.Values[c] = append(f.block.Values[c], b.Values[c][from-b.First:to-b.First]...)
	}
	f.next = to
	if f.block.Len() >= blockLen {
		return f.flush()
	}
	return nil
}

// absent fills up to a sample with NaN.
func (f *filler) absent(to int64) error {
	for ; f.next < to; f.next++ {
		for c := range f.block.Values {
			f.block.Values[c] = append(f.block.Values[c], nan)
		}
		f.missing++
		if f.block.Len() >= blockLen {
			if err := f.flush(); err != nil {
				return err
			}
		}
	}
	return nil
}

func (f *filler) flush() error {
	if f.block.Len() == 0 {
		return nil
	}
	err := f.fn(f.block.Values)
	for c := range f.block.Values {
		f.block.Values[c] = f.block.Values[c][:0]
	}
	return err
}

// segmentsOf lists the segments of a run that may hold samples from the given one on.
func segmentsOf(at *spooled, first int64) ([]string, error) {
	list, err := spool.Segments(at.dir)
	if err != nil {
		return nil, err
	}
	var paths []string
	for _, s := range list {
		if s.Number < at.from {
			continue
		}
		var h header
		_, err := spool.Read(s.Path, func(_ byte, payload []byte) error {
			if err := json.Unmarshal(payload, &h); err != nil {
				return fmt.Errorf("the header cannot be read: %w", err)
			}
			return errEnough
		})
		switch {
		case errors.Is(err, spool.ErrNoHeader):
			continue
		case err != nil && !errors.Is(err, errEnough):
			return nil, err
		case h.Run != at.run:
			continue
		case h.Memory.Next <= first:
			paths = paths[:0]
		}
		paths = append(paths, s.Path)
	}
	return paths, nil
}
