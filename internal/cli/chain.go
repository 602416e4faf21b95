package cli

import (
	"bytes"
	"fmt"

	"github.com/hardcatch/hardcatch/internal/foresee"
	"github.com/hardcatch/hardcatch/internal/look"
)

type chainCmd struct {
	Case string `arg:"" help:"Fall, chain and components in YAML."`
	JSON bool   `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (chainCmd) Help() string {
	return `Example: hardcatch chain case.yaml

Beside the keys of a case (and of its spread):
  components:
    - {name: small chock, strength: 12 kN, spread: 10 %}
    - {limit: "connector B, gate closed"}       # a name from hardcatch limits
`
}

// percentage prints a probability found from n draws; none of them is not never.
func percentage(p float64, n int) string {
	if p == 0 {
		return fmt.Sprintf("under 1 in %d", n)
	}
	return fmt.Sprintf("%.2g %%", 100*p)
}

// Run checks the chain.
func (c *chainCmd) Run(a *look.Access, s *streams) error {
	data, err := s.readInput(c.Case)
	if err != nil {
		return err
	}
	r, err := foresee.Chain(s.ctx, a, c.Case, bytes.NewReader(data))
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(r)
	}
	s.say("free fall %s: peak %s if nothing parts", r.Fall.Text(3), r.Peak)
	s.loads(r.Loads)
	s.heading("Components")
	rows := [][]string{{"component", "limit", "force", "margin", "goes first", "largest slack", "edition or source"}}
	for _, k := range r.Components {
		slack := k.Note
		if k.Slack != nil {
			slack = k.Slack.Text(3)
		}
		from := k.Edition
		if from == "" {
			from = k.Source
		}
		rows = append(rows, []string{k.Name, k.Limit.Text(3), k.Peak.Text(3), fmt.Sprintf("%+.0f %%", 100*k.Margin.SI()), percentage(k.First, r.Drops), slack, from})
	}
	if err := s.table(rows); err != nil {
		return err
	}
	s.say("")
	for _, t := range r.Statements {
		s.say("  %s.", t)
	}
	s.say("\nThis is a model, not a measurement; ratings are for new, dry, undamaged gear loaded as intended.")
	s.warn(r.Warnings)
	s.cautions()
	return nil
}
