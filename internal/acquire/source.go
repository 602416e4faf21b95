package acquire

import (
	"context"
	"time"
)

// Source is a live stream of samples.
type Source interface {
	// Description is what the source was made from.
	Description() *Description
	// Run delivers to the sink until ctx ends (its error is returned), the stream ends by its nature (nil), or
	// it cannot go on. A source that loses its device says Disconnected, tries again until ctx ends, and says
	// Reconnected. All calls of the sink come from one goroutine at a time, and none after Run has returned.
	Run(ctx context.Context, out Sink) error
}

// Made is what every source is made from, and the half of Source that says so.
type Made struct {
	D     *Description
	Clock Clock
}

// Description is part of Source.
func (m Made) Description() *Description { return m.D }

// Sink takes what a source delivers. An error ends the source's Run.
type Sink interface {
	// Samples takes the next samples. The block is the source's again when the call returns. Blocks come in the
	// order of their samples; samples missing between two blocks were lost, and an event said so.
	Samples(b *Block) error
	// Event takes what happened, as soon as it is known.
	Event(e Event) error
	// Record takes a finished record of a whole drop, as a logger wrote it.
	Record(r LoggerRecord) error
}

// Block is consecutive samples of all channels.
type Block struct {
	First   int64       // number of the first sample since the source started
	Values  [][]float64 // one slice for each channel, all of one length; NaN where nothing readable came
	Arrived time.Time   // of the last sample
}

// Len is the number of samples.
func (b *Block) Len() int {
	if len(b.Values) == 0 {
		return 0
	}
	return len(b.Values[0])
}

// NewBlock makes an empty block with room for so many samples.
func NewBlock(channels, room int) *Block {
	b := &Block{Values: make([][]float64, channels)}
	all := make([]float64, channels*room)
	for i := range b.Values {
		b.Values[i] = all[i*room : i*room : (i+1)*room]
	}
	return b
}

// LoggerRecord is a record that a logger wrote by itself.
type LoggerRecord struct {
	Name    string    `json:"name"`
	Data    []byte    `json:"data"` // unchanged
	Arrived time.Time `json:"arrived"`
}
