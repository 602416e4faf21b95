package look

import (
	"context"
	"errors"
	"io"

	"github.com/hardcatch/hardcatch/internal/store"
)

// keptRecord is a record of a campaign, read part by part.
type keptRecord struct {
	ctx    context.Context
	s      store.Reader
	sha256 string
	bytes  int64 // 0 = not known
	// damage is why it could not be read, after it was; whoever reads it may have said so in other words.
	damage error
}

// Open implements store.Original.
func (k *keptRecord) Open() (io.ReadCloser, error) {
	r, w := io.Pipe()
	p := keptReader{NewPiped(r), k.bytes}
	go func() {
		defer close(p.Done)
		err := k.s.WriteTrace(k.ctx, k.sha256, w)
		if err != nil && !errors.Is(err, io.ErrClosedPipe) {
			k.damage = err
		}
		_ = w.CloseWithError(err) // it has no error
	}()
	return p, nil
}

// keptReader knows how much there is to read.
type keptReader struct {
	Piped
	bytes int64
}

// Size is the number of bytes; 0 = not known.
func (k keptReader) Size() int64 { return k.bytes }

// Piped is a record while it is written. Once it is closed, nobody reads the spool any more.
type Piped struct {
	*io.PipeReader
	Done chan struct{}
}

// NewPiped is a record that is written into the other end of r; its Done is closed when that is over.
func NewPiped(r *io.PipeReader) Piped { return Piped{r, make(chan struct{})} }

func (p Piped) Close() error {
	err := p.PipeReader.Close()
	<-p.Done
	return err
}
