package sqlstore

import (
	"fmt"
	"sync"

	"github.com/klauspost/compress/zstd"
)

// The codings of trace_bytes.
const (
	plain      = "plain"
	zstandard  = "zstd"
	leastSaved = 64 // bytes below which coding is not worth a decoder
)

// codec holds the Zstandard coder, which is stateless between calls and safe for concurrent use.
type codec struct {
	enc *zstd.Encoder
	dec *zstd.Decoder
}

var sharedCodec = sync.OnceValues(func() (codec, error) {
	enc, err := zstd.NewWriter(nil, zstd.WithEncoderConcurrency(1), zstd.WithEncoderCRC(false))
	if err != nil {
		return codec{}, fmt.Errorf("zstd: %w", err)
	}
	dec, err := zstd.NewReader(nil, zstd.WithDecoderConcurrency(0), zstd.WithDecodeAllCapLimit(true))
	if err != nil {
		return codec{}, fmt.Errorf("zstd: %w", err)
	}
	return codec{enc, dec}, nil
})

// encode returns original, or its Zstandard form where that is smaller, or asked for.
func encode(original []byte, always bool) (coding string, data []byte, err error) {
	c, err := sharedCodec()
	if err != nil {
		return "", nil, err
	}
	packed := c.enc.EncodeAll(original, make([]byte, 0, len(original)/2))
	if always || len(packed)+leastSaved < len(original) {
		return zstandard, packed, nil
	}
	return plain, original, nil
}

// maxOriginal bounds what a file may claim as the size of an original before it is believed: SQLite
// keeps at most 1e9 bytes in a value, and a record of 1e7 rows is well below that.
const maxOriginal = 1 << 34

// decode gives back the original of the given size.
func decode(coding string, data []byte, size int64) ([]byte, error) {
	switch coding {
	case plain:
		return data, nil
	case zstandard:
		if size <= 0 || size > maxOriginal {
			return nil, fmt.Errorf("a size of %d bytes is not believed", size)
		}
		c, err := sharedCodec()
		if err != nil {
			return nil, err
		}
		original, err := c.dec.DecodeAll(data, make([]byte, 0, size))
		if err != nil {
			return nil, fmt.Errorf("the compressed bytes cannot be read: %w", err)
		}
		return original, nil
	}
	return nil, fmt.Errorf("the coding %q is not known", coding)
}
