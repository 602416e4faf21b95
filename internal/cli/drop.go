package cli

import (
	"fmt"

	"hardcatch/internal/app"
)

type dropCmd struct {
	File string `arg:"" help:"Campaign file."`
	Drop string `arg:"" help:"Drop."`
	JSON bool   `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (dropCmd) Help() string { return `Example: hardcatch drop trial.hardcatch d17` }

// Run shows the drop.
func (c *dropCmd) Run(a *app.App, s *streams) error {
	v, err := a.Drop(s.ctx, c.File, c.Drop)
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(v)
	}
	sp := v.Drop.Specimen
	s.say("drop %s: specimen %s, %s %s, %s, length %s, %s; fall %s, fall factor %s; %s", v.Drop.ID, sp.ID, sp.Material, sp.Construction, orDash(sp.Knot), known(sp.Length > 0, sp.Length.Text(3)), orDash(sp.Conditioning), v.Drop.Fall.Text(3), known(sp.Length > 0, v.Drop.FallFactor().Text(3)), mark(v.Outcome, v.Decided))
	for _, d := range v.Decisions {
		by := ""
		if d.By != "" {
			by = " by " + d.By
		}
		s.say("  decided%s: %s, %s", by, d.Outcome, d.Reason)
	}
	if v.Trace != nil {
		s.say("  record %s, %d bytes, SHA-256 %s", v.Trace.Name, v.Trace.Bytes, v.Trace.SHA256)
	}
	if v.Reduction == nil {
		fmt.Fprintln(s.err, "warning: the drop has no reduction; its record is missing or could not be read")
		return nil
	}
	if err := s.reduction(v.Reduction); err != nil {
		return err
	}
	s.cautions()
	return nil
}

func orDash(v string) string {
	if v == "" {
		return "-"
	}
	return v
}

func known(is bool, text string) string {
	if is {
		return text
	}
	return "-"
}
