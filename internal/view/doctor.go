package view

import (
	"context"

	"github.com/hardcatch/hardcatch/internal/doctor"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/store"
)

// Doctor is what would make a number of a campaign wrong. The JSON names are stable: names are added, never changed.
type Doctor struct {
	Campaign string           `json:"campaign"`
	Invented bool             `json:"invented"`
	Findings []doctor.Finding `json:"findings"`
	Open     int              `json:"open"`     // nobody has settled them
	LeftOut  []string         `json:"left_out"` // drops that open findings leave out of every number
	Head     string           `json:"head"`
}

// DoctorOf looks through what was entered.
func DoctorOf(ctx context.Context, a *look.Access, path string) (out *Doctor, err error) {
	err = a.View(ctx, path, func(c *look.Entered, _ store.Reader) error {
		out = doctorOf(c)
		return nil
	})
	return out, err
}

func doctorOf(c *look.Entered) *Doctor {
	out := &Doctor{Campaign: c.Info.Name, Invented: c.Info.Invented, Findings: c.Findings, LeftOut: []string{}, Head: c.Head.Hash.String()}
	out.Open, _ = doctor.Open(c.Findings)
	for _, e := range c.Entries() {
		if e.LeftOut != "" {
			out.LeftOut = append(out.LeftOut, e.Drop.ID)
		}
	}
	return out
}

// saidElsewhere are the rules whose findings the results say in words of their own.
var saidElsewhere = map[string]bool{"audit": true, "no-reduction": true, "certificate": true, "one-specimen": true}

// doctorWarnings are the open findings in the results.
func doctorWarnings(findings []doctor.Finding) []message.Sentence {
	var out []message.Sentence
	for _, f := range findings {
		switch {
		case f.Settled != nil || saidElsewhere[f.Rule]:
		case f.Effect == doctor.LeavesOut:
			out = append(out, message.Say("left out of every number until it is settled: %s: %s; %s (finding %s)", f.Says, f.Wrong, f.WayOut, message.Own(f.Key)))
		default:
			out = append(out, message.Say("%s: %s; %s (finding %s)", f.Says, f.Wrong, f.WayOut, message.Own(f.Key)))
		}
	}
	return out
}
