package day

import (
	"fmt"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// TriggerOptions say when a drop of a live source begins and ends, as a person states it: the trigger of a stream, but for the
// level, which is a text with a unit.
type TriggerOptions struct {
	acquire.Trigger
	Level string // "500 N"; empty = none. A bare number is in newtons where a campaign's calibration is known, else in the channel's unit
	Hand  bool   // trigger at once; for Capture alone
	Spool string // folder to which every sample goes first
}

// inUnit is the trigger with the level in the unit of the channel that triggers.
func (o TriggerOptions) inUnit(d *acquire.Description) (acquire.Trigger, error) {
	t := o.Trigger
	i, err := d.ChannelAt(o.Channel)
	if err != nil {
		return t, err
	}
	v, u, bare, err := quantity.ParseAny(o.Level)
	if err != nil {
		return t, fmt.Errorf("level: %w", err)
	}
	if !bare {
		own, err := quantity.ParseUnit(d.Channels[i].Unit)
		if err != nil || own.Dim != u.Dim {
			return t, fmt.Errorf("level %q: channel %s is in %q, which is not %s; give the level in that unit, as a bare number", o.Level, d.Channels[i].Name, d.Channels[i].Unit, u.Dim)
		}
		v /= own.Factor
	}
	t.Level = &v
	return t, nil
}
