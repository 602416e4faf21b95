package acquire

import (
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire/spool"
)

// Kinds of frame in the spool; their numbers are part of the format.
const (
	frameSamples byte = 1
	frameEvent   byte = 2 // Event
	frameOrder   byte = 3 // ordered
	frameTaken   byte = 4 // name of a drop that was handed over and is kept elsewhere
	frameClosed  byte = 5 // footer of a drop: closed
)

const spoolVersion = 1

// header begins each segment.
type header struct {
	Version int         `json:"version"`
	Run     string      `json:"run"`
	Source  Description `json:"source"`
	Trigger Trigger     `json:"trigger"`
	Memory  memory      `json:"memory"`
	Made    time.Time   `json:"made"`
}

type ordered struct {
	Order order     `json:"order"`
	At    time.Time `json:"at"`
}

type closed struct {
	Drop     string   `json:"drop"`
	First    int64    `json:"first"`
	Samples  int      `json:"samples"`
	By       string   `json:"by"`
	Ended    string   `json:"ended"`
	Lost     int64    `json:"lost"`
	Findings []string `json:"findings,omitempty"`
}

// appendSamples writes a block as frames of at most so many samples: first sample (8 bytes), arrival (8, ns since
// 1970), channels (2), samples (4), then the numbers of each channel as IEEE 754 doubles, all little-endian.
func appendSamples(w *spool.Writer, b *Block, most int, room []byte) []byte {
	for from := 0; from < b.Len(); from += most {
		n := min(most, b.Len()-from)
		room = room[:0]
		room = binary.LittleEndian.AppendUint64(room, uint64(b.First+int64(from)))
		room = binary.LittleEndian.AppendUint64(room, uint64(b.Arrived.UnixNano()))
		room = binary.LittleEndian.AppendUint16(room, uint16(len(b.Values)))
		room = binary.LittleEndian.AppendUint32(room, uint32(n))
		for _, v := range b.Values {
			for _, x := range v[from : from+n] {
				room = binary.LittleEndian.AppendUint64(room, math.Float64bits(x))
			}
		}
		w.Append(frameSamples, room)
	}
	return room
}

func readSamples(payload []byte, b *Block) error {
	const head = 22
	if len(payload) < head {
		return fmt.Errorf("a frame of samples has %d bytes", len(payload))
	}
	channels, n := int(binary.LittleEndian.Uint16(payload[16:])), int(binary.LittleEndian.Uint32(payload[18:]))
	if channels != len(b.Values) || len(payload) != head+8*channels*n {
		return fmt.Errorf("a frame of samples does not fit its header: %d channels of %d samples in %d bytes", channels, n, len(payload))
	}
	b.First = int64(binary.LittleEndian.Uint64(payload))
	b.Arrived = time.Unix(0, int64(binary.LittleEndian.Uint64(payload[8:]))).UTC()
	at := head
	for c := range b.Values {
		b.Values[c] = b.Values[c][:0]
		for range n {
			b.Values[c] = append(b.Values[c], math.Float64frombits(binary.LittleEndian.Uint64(payload[at:])))
			at += 8
		}
	}
	return nil
}

// asJSON is the payload of the small frames; their types cannot fail to be written.
func asJSON(v any) []byte {
	b, err := json.Marshal(v)
	if err != nil {
		panic("acquire: " + err.Error())
	}
	return b
}
