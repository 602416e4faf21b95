package look

import (
	"context"
	"time"

	"github.com/hardcatch/hardcatch/internal/doctor"
	"github.com/hardcatch/hardcatch/internal/store"
)

// entryDays are the days on which what stands was entered.
type entryDays struct {
	rig, plan string
	drops     map[string]string
}

func dayOf(t time.Time) string { return t.UTC().Format(time.DateOnly) }

// settledIn are the findings of which a person said why they may be passed over, and that were not opened again.
func settledIn(ctx context.Context, s store.Reader) (map[string]doctor.Word, error) {
	notes, err := s.Notes(ctx)
	if err != nil {
		return nil, err
	}
	out := map[string]doctor.Word{}
	for _, n := range notes {
		switch {
		case n.Value.Settles == "":
		case n.Value.Reopens:
			delete(out, n.Value.Settles)
		default:
			out[n.Value.Settles] = doctor.Word{By: n.Value.By, Reason: n.Value.Text, At: n.At}
		}
	}
	return out, nil
}

// examine looks through what was entered for what would make a number wrong.
func (c *Entered) examine(on entryDays, settled map[string]doctor.Word) {
	in := doctor.Campaign{RigDay: on.rig, Planned: on.plan, Settled: settled}
	if c.RigSeq > 0 {
		in.Rig = &c.Rig
	}
	for _, d := range c.Drops {
		x := doctor.Drop{Drop: d, Day: on.drops[d.ID], Open: c.Planned(d), SHA256: c.Trace[d.ID].SHA256, Reduction: c.Reduction[d.ID]}
		x.Outcome, _ = Standing(x.Reduction, c.Decisions[d.ID])
		in.Drops = append(in.Drops, x)
	}
	for _, q := range c.Asked {
		if q.Withdrawn == "" {
			in.Asked = append(in.Asked, doctor.Asked{ID: q.ID, Day: dayOf(q.At)})
		}
	}
	c.Findings = doctor.Examine(in)
	c.leftOut = doctor.LeftOut(c.Findings)
}
