package cli

import (
	"strconv"

	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/question"
	"github.com/hardcatch/hardcatch/internal/view"
)

type answerCmd struct {
	File string `arg:"" help:"Campaign file."`
	JSON bool   `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (answerCmd) Help() string {
	return `Example: hardcatch answer trial.hardcatch

Yes, no or cannot be told yet, by the rule that was entered with hardcatch ask, with the reason and the drop that would tell most.`
}

// Run answers.
func (c *answerCmd) Run(a *look.Access, s *streams) error {
	r, err := view.AnswersOf(s.ctx, a, c.File)
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(r)
	}
	s.campaign(r.Invented, r.Campaign, r.Question)
	if len(r.Answers) == 0 {
		s.say("No question with a rule was asked, so that nothing is answered; say what would count as yes with: hardcatch ask %s", c.File)
	}
	if err := s.answers(r.Answers, true); err != nil {
		return err
	}
	s.cautions()
	return nil
}

// answers prints answers; whole with when they were asked, their parts and warnings.
func (s *streams) answers(all []question.Answer, whole bool) error {
	for i, x := range all {
		if whole || i == 0 {
			s.say("")
		}
		s.say("%s", wrap(x.ID+": "+x.Question.String(), 92, "  "))
		s.say("  %s", wrap(x.Statement.String(), 92, "  "))
		if len(x.NextDrop) > 0 {
			s.say("  Would tell most: %s.", wrap(x.NextDrop.String(), 84, "    "))
		}
		if !whole {
			if !x.AskedBefore {
				s.say("  Asked or changed after drops that answer it had been taken: exploratory.")
			}
			continue
		}
		s.say("  %s", wrap(x.Told().String(), 92, "  "))
		if len(x.Parts) > 1 {
			if err := s.answerParts(x); err != nil {
				return err
			}
		}
		for _, w := range x.Warnings {
			s.say("  Warning: %s", wrap(w.String(), 86, "    "))
		}
	}
	return nil
}

// answerParts is a table of the parts of which the rule has to hold.
func (s *streams) answerParts(x question.Answer) error {
	rows := [][]string{{"  part", "n", "broke", "estimate", "at least", "at most", "rule", "reason"}}
	show := func(v *float64, round func(float64, int) string) string {
		switch {
		case v == nil:
			return "-"
		case x.Unit == "N":
			return round(*v/1000, 4) + " kN"
		}
		return round(*v, 3)
	}
	for _, p := range x.Parts {
		n := strconv.Itoa(p.N)
		if p.NLower > 0 {
			n += " over " + strconv.Itoa(p.NLower)
		}
		rule := map[question.Verdict]string{question.Yes: "kept", question.No: "not kept", question.CannotTell: "cannot be told"}[p.Verdict]
		rows = append(rows, []string{"  " + p.Name, n, strconv.Itoa(p.Broke), show(p.Estimate, quantity.Significant), show(p.Lo, quantity.Below), show(p.Hi, quantity.Above), rule, p.Why.String()})
	}
	return s.table(rows)
}
