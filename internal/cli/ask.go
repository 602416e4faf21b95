package cli

import (
	"bytes"
	"fmt"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/question"
	"github.com/hardcatch/hardcatch/internal/traceio/questionfile"
)

type askCmd struct {
	File       string            `arg:"" help:"Campaign file."`
	Name       string            `arg:"" optional:"" help:"Short name of the question; one that stands already is changed."`
	From       string            `placeholder:"FILE" help:"Read questions from a YAML file instead, as a plan has them."`
	Question   string            `placeholder:"TEXT" help:"The question in your own words."`
	Of         string            `placeholder:"WHAT" help:"strength, peak force, break probability, strength ratio or peak ratio."`
	Quantile   string            `placeholder:"SHARE" help:"Share of specimens or drops below the value: 5 % of a strength, 95 % of a peak, median of a ratio where not given."`
	Where      map[string]string `placeholder:"FACTOR=LEVEL;..." help:"Levels of the drops that are asked about."`
	Against    map[string]string `placeholder:"FACTOR=LEVEL;..." help:"Of a ratio: the levels of its lower part that differ."`
	AtLeast    string            `placeholder:"BOUND" help:"Yes when the quantity is at least this, for example 15 kN, 0.5 or rating."`
	AtMost     string            `placeholder:"BOUND" help:"Yes when the quantity is at most this."`
	Confidence string            `placeholder:"SHARE" help:"Confidence of a yes, 95 % where not given."`
	WrongYes   string            `placeholder:"RISK" help:"Allowed risk of a wrong yes, 1 less the confidence where not given."`
	WrongNo    string            `placeholder:"RISK" help:"Allowed risk of a wrong no, likewise."`
	Withdraw   string            `placeholder:"REASON" help:"Ask it no longer, with a reason; it stays in the logbook."`
	JSON       bool              `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (askCmd) Help() string {
	return `Examples:
  hardcatch ask trial.hardcatch winters --of strength --where "age=four winters" --at-least "15 kN"
      --question "May lanyards that hung four winters stay in service?"
  hardcatch ask trial.hardcatch knot --of "strength ratio" --where knot=overhand --against knot=sewn --at-least 0.5
  hardcatch ask trial.hardcatch --from questions.yaml

Ask before the first drop: what would count as yes is then not chosen after the results. The logbook says when a question was asked or changed, and every answer says so. A strength asked with a quantile of 5 % is what all but 5 % of the specimens keep. The answers: hardcatch answer FILE`
}

// Run enters the question.
func (c *askCmd) Run(a *look.Access, s *streams) error {
	questions, err := c.questions(s)
	if err != nil {
		return err
	}
	var r *app.AskResult
	if c.Withdraw != "" {
		r, err = app.AskNoLonger(s.ctx, a, c.File, c.Name, c.Withdraw)
	} else {
		r, err = app.Ask(s.ctx, a, c.File, questions)
	}
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(r)
	}
	for _, q := range r.Asked {
		switch {
		case q.Withdrawn != "":
			s.say("%s: asked no longer, entry %d", q.ID, q.Seq)
		default:
			s.say("%s, entry %d (%s)", q.ID, q.Seq, q.Effect)
			s.say("  %s", wrap(fmt.Sprintf("%s is %s", question.QuantityWords(q.Question), question.RuleWords(q.Question)), 92, "  "))
		}
	}
	return nil
}

func (c *askCmd) questions(s *streams) ([]drop.Question, error) {
	switch {
	case c.From != "" && (c.Name != "" || c.Of != ""):
		return nil, fmt.Errorf("a question is given and --from %s as well; keep one of them", c.From)
	case c.From != "":
		data, err := s.readInput(c.From)
		if err != nil {
			return nil, err
		}
		return questionfile.Read(c.From, bytes.NewReader(data))
	case c.Name == "":
		return nil, fmt.Errorf("no question is given; write its name and rule, or --from FILE; see hardcatch ask --help")
	case c.Withdraw != "":
		return nil, nil
	}
	q, err := drop.Written{
		ID: c.Name, Text: c.Question, Of: c.Of, Quantile: c.Quantile, Where: c.Where, Against: c.Against, AtLeast: c.AtLeast, AtMost: c.AtMost,
		Confidence: c.Confidence, WrongYes: c.WrongYes, WrongNo: c.WrongNo,
	}.Read()
	if err != nil {
		return nil, fmt.Errorf("question %s: %w", c.Name, err)
	}
	return []drop.Question{q}, nil
}
