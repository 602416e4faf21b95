package look

import (
	"fmt"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

// ask refuses a record in which several channels could be the force and nobody has said which one is: a cell at the foot, a
// second amplifier, a logger's own column of peaks. It counts for records that are entered; what is stored of one says what was
// taken.
func (r *Record) ask(channels []drop.Channel, g reduce.Generation) error {
	if r.Kept.Reduce.Channel != "" || r.Kept.Reader.Channel != "" || r.Kept.Reader.By != "" || r.unnamed {
		return nil
	}
	at := g.ForceChannel(channels, r.Kept.Reduce)
	if at < 0 {
		return nil
	}
	var names []string
	for _, c := range channels {
		if c.Dim == channels[at].Dim && (c.Kind == "counts") == (channels[at].Kind == "counts") && !bare(c) {
			names = append(names, fmt.Sprintf("%q in %s", c.Name, c.Unit))
		}
	}
	if len(names) < 2 {
		return nil
	}
	return fmt.Errorf("%s: %d columns could be the force at the anchor: %s; say which one with --channel NAME (or its number, from 1), or in the column channel of the drop list", r.Name, len(names), strings.Join(names, ", "))
}

// bare tells a channel without a unit that is known.
func bare(c drop.Channel) bool { return c.Kind == "unitless" || c.Kind == "other" }

// numbered are the settings with the name of the channel that was asked for by its number.
func (r *Record) numbered(t *drop.Trace) reduce.Settings {
	set := r.Kept.Reduce
	if set.Channel == "" || set.Channel != r.Kept.Reader.Channel || len(t.Channels) != 1 || strings.EqualFold(t.Channels[0].Name, set.Channel) {
		return set
	}
	set.Channel = t.Channels[0].Name
	return set
}
