package look

import (
	"bytes"
	"errors"
	"io"
	"slices"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/store"
)

// headOfRecord is how much of a record is searched for the word that it is invented: what stands above its samples.
const headOfRecord = 4096

// SaysInvented tells whether a record says above its samples that it was made, as those of a rehearsal, of the simulated rig and of the
// demonstration do.
func SaysInvented(o store.Original) (yes bool, err error) {
	r, err := o.Open()
	if err != nil {
		return false, err
	}
	head, err := io.ReadAll(io.LimitReader(r, headOfRecord))
	head = bytes.ToLower(head)
	return bytes.Contains(head, []byte("invented scenario")) || bytes.Contains(head, []byte("(invented)")), errors.Join(err, r.Close())
}

// invented tells whether anything in a campaign is invented: a mark stays, whatever the campaign's name.
func (c *Entered) invented() bool {
	return c.Info.Invented || c.Rig.Invented || slices.ContainsFunc(c.Drops, drop.Drop.Invented)
}
