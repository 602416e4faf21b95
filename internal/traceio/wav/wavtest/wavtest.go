// Package wavtest writes WAV files for tests.
package wavtest

import (
	"encoding/binary"
	"math"
)

// File says how samples are written.
type File struct {
	Channels, Rate, Bits int
	Float, Extensible    bool
	Valid                int    // bits that mean something, when Extensible; 0 = Bits
	Before, After        []byte // chunks before and after the samples, complete
	Size                 *uint32
	Riff                 *uint32
}

// Chunk is a chunk with its padding.
func Chunk(id string, body []byte) []byte {
	b := append([]byte(id), binary.LittleEndian.AppendUint32(nil, uint32(len(body)))...)
	if b = append(b, body...); len(body)%2 == 1 {
		b = append(b, 0)
	}
	return b
}

// Bytes is the file with these samples, the channels in turn: whole numbers of Bits, or what is written as floating point.
func (f File) Bytes(samples []float64) []byte {
	le, width := binary.LittleEndian, (f.Bits+7)/8
	tag := 1
	if f.Float {
		tag = 3
	}
	head := []byte{byte(tag), 0}
	if f.Extensible {
		head = []byte{0xfe, 0xff}
	}
	head = le.AppendUint16(head, uint16(f.Channels))
	head = le.AppendUint32(head, uint32(f.Rate))
	head = le.AppendUint32(head, uint32(f.Rate*f.Channels*width))
	head = le.AppendUint16(head, uint16(f.Channels*width))
	head = le.AppendUint16(head, uint16(f.Bits))
	if f.Extensible {
		valid := f.Valid
		if valid == 0 {
			valid = f.Bits
		}
		head = le.AppendUint16(head, 22)
		head = le.AppendUint16(head, uint16(valid))
		head = append(head, 0, 0, 0, 0, byte(tag), 0, 0, 0, 0, 0, 0x10, 0, 0x80, 0, 0, 0xaa, 0, 0x38, 0x9b, 0x71)
	}
	var body []byte
	for _, v := range samples {
		switch {
		case f.Float && width == 4:
			body = le.AppendUint32(body, math.Float32bits(float32(v)))
		case f.Float:
			body = le.AppendUint64(body, math.Float64bits(v))
		case width == 1:
			body = append(body, byte(int(v)+128))
		default:
			body = append(body, le.AppendUint32(nil, uint32(int32(v)))[:width]...)
		}
	}
	data := Chunk("data", body)
	if f.Size != nil {
		le.PutUint32(data[4:], *f.Size)
	}
	all := append([]byte("WAVE"), Chunk("fmt ", head)...)
	all = append(append(append(all, f.Before...), data...), f.After...)
	riff := uint32(len(all))
	if f.Riff != nil {
		riff = *f.Riff
	}
	return append(le.AppendUint32([]byte("RIFF"), riff), all...)
}
