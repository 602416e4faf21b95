package cli

import (
	"fmt"
	"strings"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/view"
)

type eventCmd struct {
	onDrop
	Taut     string `placeholder:"TIME" help:"Moment of taut on the record's clock, for example \"0.8123 s\", or \"record\" to leave it to the record again."`
	Peak     string `placeholder:"TIME" help:"Place of the peak, likewise; the arrest about it is the first."`
	End      string `placeholder:"TIME" help:"End of the first arrest, likewise."`
	From     string `placeholder:"TIME" help:"The drop lies in the part of the record from here, likewise; for a record that holds more than the drop."`
	To       string `placeholder:"TIME" help:"To here, likewise."`
	Reason   string `help:"What the record shows; kept for ever."`
	Withdraw bool   `help:"Bring back the events as they stood before they were last moved."`
}

// Help is shown below the usage.
func (eventCmd) Help() string {
	return `Example: hardcatch event trial.hardcatch d17 --peak "0.8412 s" --reason "a burst of the release motor at 0.79 s" --by bench

The drop is reduced again with the events set; what is not named stays as it is. The reduction before is kept, the reason becomes a note, and the reduction says what the record alone gives. A peak set by hand is never less uncertain than the record's own. "hardcatch redo" and "hardcatch prove --repeat" keep what was set.`
}

// Run reduces the drop with the events set.
func (c *eventCmd) Run(a *look.Access, s *streams) error {
	asked := c.Taut != "" || c.Peak != "" || c.End != "" || c.From != "" || c.To != ""
	switch {
	case c.Withdraw && (asked || c.Reason != ""):
		return fmt.Errorf("drop %s: --withdraw goes alone or with --by", c.Drop)
	case !c.Withdraw && !asked:
		return fmt.Errorf("drop %s: name the event to set: --taut, --peak, --end, --from or --to, each with a time or \"record\"", c.Drop)
	}
	r, err := c.enter(a, s)
	if err != nil {
		return err
	}
	v, err := view.DropIn(s.ctx, a, c.File, c.Drop)
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(map[string]any{"receipt": r, "reduction": v.Reduction})
	}
	d := v.Reduction
	s.say("drop %s: taut %.5f s, peak %s at %.5f s, arrest of %s; entry %d", c.Drop, d.Taut.SI(), quantity.WithU(d.Peak, d.PeakExpanded), d.PeakTime.SI(), d.ArrestDuration.Text(4), r.Seq)
	for _, w := range d.Warnings {
		if strings.Contains(w, "by hand") {
			s.say("  %s", w)
		}
	}
	return nil
}

func (c *eventCmd) enter(a *look.Access, s *streams) (look.Receipt, error) {
	if c.Withdraw {
		return app.WithdrawEvents(s.ctx, a, c.File, c.Drop, c.By)
	}
	var changes []func(*reduce.EventsByHand)
	for _, e := range []struct {
		flag, text string
		of         func(*reduce.EventsByHand) **quantity.Duration
	}{
		{"--taut", c.Taut, func(h *reduce.EventsByHand) **quantity.Duration { return &h.Taut }},
		{"--peak", c.Peak, func(h *reduce.EventsByHand) **quantity.Duration { return &h.Peak }},
		{"--end", c.End, func(h *reduce.EventsByHand) **quantity.Duration { return &h.Slack }},
		{"--from", c.From, func(h *reduce.EventsByHand) **quantity.Duration { return &h.From }},
		{"--to", c.To, func(h *reduce.EventsByHand) **quantity.Duration { return &h.To }},
	} {
		switch e.text {
		case "":
		case "record":
			changes = append(changes, func(h *reduce.EventsByHand) { *e.of(h) = nil })
		default:
			var t quantity.Duration
			if err := t.UnmarshalText([]byte(e.text)); err != nil {
				return look.Receipt{}, fmt.Errorf("%s: %w; give a time such as \"0.8123 s\", or \"record\"", e.flag, err)
			}
			changes = append(changes, func(h *reduce.EventsByHand) { *e.of(h) = &t })
		}
	}
	return app.ChangeEvents(s.ctx, a, c.File, c.Drop, func(h *reduce.EventsByHand) {
		for _, change := range changes {
			change(h)
		}
	}, c.Reason, c.By)
}
