package csvtrace

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"os"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/traceio"
)

// asideRows is how many values of a channel that is only checked are in memory; the rest waits in a temporary file.
var asideRows = 1 << 20

// wanted is the slot of the only channel whose values are kept; -1 = all.
func (p *plan) wanted(o traceio.Options) int {
	if o.Keep == nil {
		return -1
	}
	var list []drop.Channel
	for _, c := range p.cols {
		if c.role == roleValue {
			list = append(list, drop.Channel{Name: c.name, Unit: c.unit.Text, Dim: c.unit.Dim, Factor: c.unit.Factor, Kind: c.unit.Kind})
		}
	}
	return o.Keep(list)
}

// aside keeps values in a temporary file.
type aside struct {
	f    *os.File
	w    *bufio.Writer
	n    int
	full bool // the file cannot be written: the rest stays in memory
}

// put takes values away and gives back the empty slice, or what it could not take.
func (a *aside) put(v []float64) []float64 {
	if a.full {
		return v
	}
	if a.f == nil {
		f, err := os.CreateTemp("", "hardcatch-channel-*")
		if err != nil {
			a.full = true
			return v
		}
		a.f, a.w = f, bufio.NewWriterSize(f, 1<<18)
	}
	var b [8]byte
	for _, x := range v {
		binary.LittleEndian.PutUint64(b[:], math.Float64bits(x))
		_, _ = a.w.Write(b[:]) // the writer keeps its error
	}
	if a.w.Flush() != nil {
		a.full = true // what is complete in the file is what earlier calls wrote
		return v
	}
	a.n += len(v)
	return v[:0]
}

// all gives everything that was put with the rest behind it, in room where that is large enough.
func (a *aside) all(rest, room []float64) ([]float64, error) {
	if a.f == nil {
		return rest, nil
	}
	if cap(room) < a.n+len(rest) {
		room = make([]float64, 0, a.n+len(rest))
	}
	room = room[:0]
	if _, err := a.f.Seek(0, io.SeekStart); err != nil {
		return nil, fmt.Errorf("the temporary file of a channel: %w", err)
	}
	in := bufio.NewReaderSize(a.f, 1<<18)
	var b [8]byte
	for range a.n {
		if _, err := io.ReadFull(in, b[:]); err != nil {
			return nil, fmt.Errorf("the temporary file of a channel: %w", err)
		}
		room = append(room, math.Float64frombits(binary.LittleEndian.Uint64(b[:])))
	}
	return append(room, rest...), nil
}

// close forgets the file.
func (a *aside) close() error {
	if a == nil || a.f == nil {
		return nil
	}
	return errors.Join(a.f.Close(), os.Remove(a.f.Name()))
}

// dropAside forgets the files of all channels.
func (r *reader) dropAside() (err error) {
	for _, a := range r.aside {
		err = errors.Join(err, a.close())
	}
	return err
}
