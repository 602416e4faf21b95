package cli

import (
	"fmt"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/view"
)

type dropCmd struct {
	File string `arg:"" help:"Campaign file."`
	Drop string `arg:"" help:"Drop."`
	JSON bool   `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (dropCmd) Help() string { return `Example: hardcatch drop trial.hardcatch d17` }

// Run shows the drop.
func (c *dropCmd) Run(a *look.Access, s *streams) error {
	v, err := view.DropIn(s.ctx, a, c.File, c.Drop)
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(v)
	}
	sp := v.Drop.Specimen
	s.say("drop %s: specimen %s, %s %s, %s, length %s, %s; fall %s, fall factor %s; %s", v.Drop.ID, sp.ID, sp.Material, sp.Construction, orDash(sp.Knot), known(sp.Length > 0, sp.Length.Text(3)), orDash(sp.Conditioning), v.Drop.Fall.Text(3), known(sp.Length > 0, v.Drop.FallFactor().Text(3)), state(v))
	for _, d := range v.Decisions {
		by := ""
		if d.By != "" {
			by = " by " + d.By
		}
		s.say("  decided%s: %s", by, settled(d))
	}
	s.tower(v)
	if v.Trace != nil {
		s.say("  record %s, %d bytes, SHA-256 %s", v.Trace.Name, v.Trace.Bytes, v.Trace.SHA256)
	}
	if v.Planned {
		s.cautions()
		return nil
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

func state(v *view.DropView) string {
	if v.Planned {
		return drop.Outcome("").Sign() + " planned, not taken"
	}
	return mark(v.Outcome, v.Decided)
}

// settled words a decision, or that one was taken back.
func settled(d drop.Decision) string {
	if d.Withdrawn {
		return "decision taken back, " + d.Reason
	}
	return fmt.Sprintf("%s, %s", d.Outcome, d.Reason)
}

// tower prints checklists and photos.
func (s *streams) tower(v *view.DropView) {
	for _, c := range v.Checklists {
		s.say("  checklist: %s", listWords(c))
	}
	for i, p := range v.Photos {
		kept := ""
		if p.KeptMetadata {
			kept = ", with the camera's metadata"
		}
		s.say("  photo %d: %s, %d x %d, %d bytes%s, SHA-256 %s%s", i+1, p.Name, p.Width, p.Height, p.Bytes, kept, p.SHA256, after(": ", p.Caption))
	}
}

// listWords says what was skipped of a checklist.
func listWords(c drop.Checklist) string {
	var skipped []string
	for _, i := range c.Skipped() {
		skipped = append(skipped, fmt.Sprintf("%s (%s)", i.Key, i.Reason))
	}
	by := ""
	if c.By != "" {
		by = " by " + c.By
	}
	if len(skipped) == 0 {
		return fmt.Sprintf("%d questions answered%s, nothing skipped", len(c.Items), by)
	}
	return fmt.Sprintf("%d questions answered%s, skipped: %s", len(c.Items), by, strings.Join(skipped, "; "))
}

func orDash(v string) string {
	if v == "" {
		return "-"
	}
	return v
}

// after is text behind a sign, or nothing.
func after(sign, text string) string {
	if text == "" {
		return ""
	}
	return sign + text
}

func known(is bool, text string) string {
	if is {
		return text
	}
	return "-"
}
