package cli

import (
	"fmt"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/look"
)

type selfTestCmd struct {
	JSON bool `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (selfTestCmd) Help() string {
	return `Example: hardcatch selftest

Reduces the simulated records and falls that come with the program again and compares every number with what it was when they were made. Exit status 1 means that something differs: do not use results of this program on this machine.`
}

// Run holds the program against its kept results.
func (c *selfTestCmd) Run(a *look.Access, s *streams) error {
	r, err := app.HoldAgainstKept(s.ctx, a)
	if err != nil {
		return err
	}
	if c.JSON {
		if err := s.json(r); err != nil {
			return err
		}
	} else {
		if r.Holds {
			s.say("%s", selfTestHolds(r))
		}
		s.say("%d simulated records were reduced and %d falls simulated again on %s, and %d numbers and %d texts compared with those kept", r.Records, r.Falls, r.Machine, r.Numbers, r.Texts)
		for i, d := range r.Differ {
			if i == 20 {
				s.say("and %d more; --json has all", len(r.Differ)-i)
				break
			}
			s.say("%s: %s", d.Item, d.Difference)
		}
		if r.Holds {
			s.say("This shows that the program computes here as it did where it was made; it does not show that a rig, a record or an entry is right.")
		}
	}
	if r.Holds {
		return nil
	}
	first := r.Differ[0]
	return failedProof{fmt.Sprintf("%d values differ, first %s: %s; do not use results of this program on this machine, and get the program anew from where you have it", len(r.Differ), first.Item, first.Difference)}
}

// selfTestHolds says how exactly.
func selfTestHolds(r *app.SelfTest) string {
	switch {
	case r.RecordTolerance == 0 && r.FallTolerance == 0:
		return fmt.Sprintf("all %d numbers are the same to the last bit", r.Numbers)
	case r.RecordTolerance == 0:
		return fmt.Sprintf("all %d numbers are the same: those of records to the last bit, those of falls to %.0e (this processor lacks the vector instructions with which the kept falls were made)", r.Numbers, r.FallTolerance)
	}
	return fmt.Sprintf("all %d numbers are the same to %.0e (this processor rounds products in sums otherwise than the one on which the kept results were made; the same bits are promised on amd64 only)", r.Numbers, r.RecordTolerance)
}
