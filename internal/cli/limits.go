package cli

import (
	"github.com/hardcatch/hardcatch/internal/limits"
	"github.com/hardcatch/hardcatch/internal/look"
)

type limitsCmd struct {
	All  bool `help:"Also editions that have been replaced."`
	JSON bool `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (limitsCmd) Help() string { return `Example: hardcatch limits --all` }

// Run lists the table.
func (c *limitsCmd) Run(_ *look.Access, s *streams) error {
	table := limits.Current()
	if c.All {
		table = limits.Table()
	}
	if c.JSON {
		return s.json(table)
	}
	rows := [][]string{{"limit", "value", "kind", "edition", "terms", "source"}}
	for _, l := range table {
		rows = append(rows, []string{l.Name, l.Value.Text(3), string(l.Kind), l.Edition, l.Terms, l.Source})
	}
	if err := s.table(rows); err != nil {
		return err
	}
	s.say("\nAccessory cord (EN 564): 0.2 d^2 kN with d in mm, 4 mm to 8 mm. These are product and standard limits, not injury thresholds.")
	return nil
}
