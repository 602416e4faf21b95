// Package wav reads the samples of WAV files: linear PCM of 1 to 32 bits and IEEE floating point of 32 and 64 bits.
//
// Sources of the layout: Multimedia Programming Interface and Data Specifications 1.0 (IBM and Microsoft, 1991), chapter
// "Waveform Audio File Format"; WAVEFORMATEXTENSIBLE as Microsoft documents it; EBU Tech 3306 for files beyond 4 GiB (RF64).
package wav

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
)

// Bounds of what is believed.
const (
	MaxChannels = 64
	MaxRate     = 10_000_000 // Hz
)

// Reader reads one file.
type Reader struct {
	Channels int
	Rate     float64 // Hz
	Bits     int     // of a sample that mean something
	Float    bool
	Frames   int64 // samples of each channel as the file says; -1 when it does not, as while it is being written

	name  string
	src   io.Reader
	width int   // bytes of a sample
	read  int64 // frames
	left  int64 // bytes of samples to come, very large when not known
	buf   []byte
	ended string // what is wrong with the end
}

const unknown = math.MaxInt64

// tail is what follows the tag in the GUID of a WAVEFORMATEXTENSIBLE.
var tail = []byte{0, 0, 0, 0, 0x10, 0, 0x80, 0, 0, 0xaa, 0, 0x38, 0x9b, 0x71}

// Known tells a WAV file by its first 12 bytes.
func Known(head []byte) bool {
	return len(head) >= 12 && (string(head[:4]) == "RIFF" || string(head[:4]) == "RF64") && string(head[8:12]) == "WAVE"
}

// Open reads up to the first sample. Errors begin with the name.
func Open(name string, src io.Reader) (*Reader, error) {
	w := &Reader{name: name, src: src}
	var head [12]byte
	if n, err := w.fill(head[:]); err != nil {
		return nil, err
	} else if !Known(head[:n]) {
		return nil, fmt.Errorf("%s: this is no WAV file; export it as WAV", name)
	}
	riff, long := binary.LittleEndian.Uint32(head[4:]), int64(-1) // long is the size of the samples by RF64
	for at := int64(12); ; {
		n, err := w.fill(head[:8])
		if err != nil {
			return nil, err
		}
		if n < 8 {
			return nil, fmt.Errorf("%s: the file ends before its samples begin; copy or export it again", name)
		}
		size := int64(binary.LittleEndian.Uint32(head[4:]))
		rest := size + size&1 // chunks are padded to an even length
		if id := string(head[:4]); id == "data" {
			return w, w.begin(size, long, riff, at+8)
		} else if id == "fmt " || id == "ds64" {
			body := make([]byte, min(size, 40))
			if n, err = w.fill(body); err != nil {
				return nil, err
			}
			if id == "ds64" && n >= 16 {
				long = int64(binary.LittleEndian.Uint64(body[8:]) & math.MaxInt64)
			} else if id == "fmt " {
				if err := w.format(body[:n]); err != nil {
					return nil, err
				}
			}
			at, rest = at+int64(n), rest-int64(n)
		}
		skipped, err := io.CopyN(io.Discard, src, rest)
		if err != nil && !errors.Is(err, io.EOF) {
			return nil, w.broken(err)
		}
		at += 8 + skipped
	}
}

func (w *Reader) broken(err error) error {
	return fmt.Errorf("%s: reading the record: %w", w.name, err)
}

// fill reads as much as there is, up to the length of b.
func (w *Reader) fill(b []byte) (int, error) {
	n, err := io.ReadFull(w.src, b)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return n, w.broken(err)
	}
	return n, nil
}

// format understands the chunk that says how the samples are written.
func (w *Reader) format(b []byte) error {
	if len(b) < 16 {
		return fmt.Errorf("%s: what the file says of its samples is cut off; export it again", w.name)
	}
	u16 := func(at int) int { return int(binary.LittleEndian.Uint16(b[at:])) }
	tag, block := u16(0), u16(12)
	w.Channels, w.Rate, w.Bits = u16(2), float64(binary.LittleEndian.Uint32(b[4:])), u16(14)
	bits := w.Bits
	if tag == 0xfffe && len(b) >= 40 && bytes.Equal(b[26:40], tail) {
		tag = u16(24)
		if valid := u16(18); valid > 0 && valid < bits {
			w.Bits = valid
		}
	}
	w.Float, w.width = tag == 3, (bits+7)/8
	switch {
	case !(tag == 1 && bits >= 1 && bits <= 32 || tag == 3 && (bits == 32 || bits == 64)):
		return fmt.Errorf("%s: the samples are of a kind that is not read (format %d, %d bits); export it as linear PCM of 16 or 24 bits", w.name, tag, bits)
	case w.Channels < 1 || w.Channels > MaxChannels || block != w.Channels*w.width:
		return fmt.Errorf("%s: %d channels of %d bits in %d bytes are not believed (up to %d channels are read); export it again", w.name, w.Channels, bits, block, MaxChannels)
	case w.Rate < 1 || w.Rate > MaxRate:
		return fmt.Errorf("%s: a rate of %g Hz is not believed; it lies from 1 Hz to %d Hz", w.name, w.Rate, MaxRate)
	}
	return nil
}

// begin settles how many samples are to come. A size of 0 or of all ones stands in a file that is still being written, or
// was written into a pipe; 0 means none only when the file says that it goes on behind the samples.
func (w *Reader) begin(size, long int64, riff uint32, at int64) error {
	if w.Channels == 0 {
		return fmt.Errorf("%s: the file does not say how its samples are written; export it again", w.name)
	}
	if size == math.MaxUint32 && long > 0 {
		size = long
	}
	if size == math.MaxUint32 || size == 0 && (riff == 0 || riff == math.MaxUint32 || int64(riff)+8 <= at) {
		w.left, w.Frames = unknown, -1
		return nil
	}
	w.left, w.Frames = size, size/int64(w.Channels*w.width)
	return nil
}

// Read fills dst with whole frames, the channels in turn, and returns the frames. Integers are shares of full scale, from
// -1 to 1; floating-point numbers stay as they are. It ends with io.EOF, when everything behind the samples has been read too.
func (w *Reader) Read(dst []float64) (frames int, err error) {
	block := w.Channels * w.width
	if len(dst) < w.Channels {
		return 0, io.ErrShortBuffer
	}
	want := int(min(int64(len(dst)/w.Channels*block), w.left))
	if cap(w.buf) < want {
		w.buf = make([]byte, want)
	}
	n, err := w.fill(w.buf[:want])
	if err != nil {
		return 0, err
	}
	w.left -= int64(n)
	frames = n / block
	w.decode(dst, w.buf[:frames*block])
	w.read += int64(frames)
	if n < want || w.left == 0 && w.ended == "" {
		w.end(n < want, n%block != 0)
	}
	if frames > 0 {
		return frames, nil
	}
	if _, err := io.Copy(io.Discard, w.src); err != nil {
		return 0, w.broken(err)
	}
	return 0, io.EOF
}

func (w *Reader) end(early, torn bool) {
	w.left = 0
	switch {
	case early && w.Frames >= 0:
		w.ended = fmt.Sprintf("the file says that it holds %d samples and ends after %d", w.Frames, w.read)
	case w.Frames < 0:
		w.ended = fmt.Sprintf("the file does not say how many samples it holds, as while it is being written; it was read to its end, %d samples", w.read)
	case torn:
		w.ended = fmt.Sprintf("the file ends within sample %d", w.read)
	}
}

// Ended says after io.EOF what was wrong with the end of the file; "" when nothing was.
func (w *Reader) Ended() string { return w.ended }

// Full tells that a sample stands at the end of the range of an integer. Floating-point numbers have no such end.
func (w *Reader) Full(x float64) bool {
	return !w.Float && (x >= 1-math.Ldexp(1, 1-w.Bits) || x <= -1)
}

// decode turns bytes into numbers. Integers stand at the upper end of their bytes; those of one byte have no sign.
func (w *Reader) decode(dst []float64, b []byte) {
	le := binary.LittleEndian
	for i := range len(b) / w.width {
		s := b[i*w.width:]
		switch {
		case w.Float && w.width == 4:
			dst[i] = float64(math.Float32frombits(le.Uint32(s)))
		case w.Float:
			dst[i] = math.Float64frombits(le.Uint64(s))
		case w.width == 1:
			dst[i] = (float64(s[0]) - 128) / (1 << 7)
		case w.width == 2:
			dst[i] = float64(int16(le.Uint16(s))) / (1 << 15)
		case w.width == 3:
			dst[i] = float64(int32(uint32(s[0])<<8|uint32(s[1])<<16|uint32(s[2])<<24)>>8) / (1 << 23)
		default:
			dst[i] = float64(int32(le.Uint32(s))) / (1 << 31)
		}
	}
}
