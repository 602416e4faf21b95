package cli

import (
	"fmt"

	"github.com/hardcatch/hardcatch/internal/doctor"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/view"
)

type doctorCmd struct {
	File string `arg:"" help:"Campaign file."`
	JSON bool   `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (doctorCmd) Help() string {
	return `Example: hardcatch doctor trial.hardcatch

Looks through what was entered for what would make a number wrong: one record under two names, a curve saved twice, levels that differ by a hyphen or a letter, one specimen in several drops, falls, masses and rigs that nobody means, certificates that do not hold, drops dated before their question or plan, factors that changed with the day, days without a check drop. What leaves a drop out does so in every number until it is settled; what marks is said with every result. Exit status 1 means that something is open.`
}

// Run lists the findings.
func (c *doctorCmd) Run(a *look.Access, s *streams) error {
	d, err := view.DoctorOf(s.ctx, a, c.File)
	if err != nil {
		return err
	}
	if c.JSON {
		if err := s.json(d); err != nil {
			return err
		}
	} else {
		s.doctor(d, c.File)
	}
	if d.Open > 0 {
		return failedProof{fmt.Sprintf("%s: %s; correct what was entered, or say why it stands: hardcatch settle %s FINDING --reason WHY --by WHO", c.File, look.Plural(d.Open, "finding is open", "findings are open"), c.File)}
	}
	return nil
}

func (s *streams) doctor(d *view.Doctor, path string) {
	if d.Invented {
		s.say("INVENTED: nothing of this happened.")
	}
	if d.Open == 0 {
		s.say("Nothing open was found in %s that would make a number wrong. This looks at what was entered; it cannot know what was not.", path)
	}
	heads := map[doctor.Effect]string{
		doctor.LeavesOut: "LEFT OUT of every number until it is settled", doctor.Marks: "Marked: it counts, and every result says so",
	}
	var last string
	for _, f := range d.Findings {
		head := heads[f.Effect]
		if f.Settled != nil {
			head = "Settled"
		}
		if head != last {
			s.say("")
			s.say("%s", head)
			last = head
		}
		s.say("- %s", f.Says)
		s.say("    makes wrong: %s", f.Wrong)
		if f.Settled != nil {
			s.say("    settled by %s: %s", f.Settled.By, f.Settled.Reason)
		} else {
			s.say("    way out: %s", f.WayOut)
		}
		s.say("    finding: %s", f.Key)
	}
}
