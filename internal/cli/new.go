package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/foresee"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/render"
)

type newCmd struct {
	Dir  string `arg:"" help:"Folder to make, or one that is empty."`
	Lang string `default:"en" help:"Language of the printed checklist: en, de, fr."`
}

// Help is shown below the usage.
func (newCmd) Help() string {
	return `Example: hardcatch new trial

Writes a commented plan and rig to put your own values into, the drop list and the labels that this plan gives, a checklist to print, and a folder for the records. START.txt says how to go on. The rig is marked as invented until that line is taken away.`
}

// Run writes the kit.
func (c *newCmd) Run(a *look.Access, s *streams) error {
	if entries, err := os.ReadDir(c.Dir); err == nil && len(entries) > 0 {
		return fmt.Errorf("%s is not empty; choose a new folder", c.Dir)
	} else if err != nil && !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("%s cannot be used: %w", c.Dir, err)
	}
	kit := app.Kit()
	var sheet bytes.Buffer
	if err := render.WriteChecklist(&sheet, c.Lang); err != nil {
		return err
	}
	plan, err := fs.ReadFile(kit, "plan.yaml")
	if err != nil {
		return err
	}
	r, err := foresee.Plan(s.ctx, a, "plan.yaml", bytes.NewReader(plan), foresee.PlanOptions{Open: func(name string) ([]byte, error) { return fs.ReadFile(kit, name) }})
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Join(c.Dir, "records"), 0o755); err != nil {
		return fmt.Errorf("%s cannot be made: %w", c.Dir, err)
	}
	files, err := fs.Glob(kit, "*")
	if err != nil {
		return err
	}
	for _, name := range files {
		text, err := fs.ReadFile(kit, name)
		if err != nil {
			return err
		}
		if err := writeFile(filepath.Join(c.Dir, name), text, false); err != nil {
			return err
		}
	}
	if err := writeFile(filepath.Join(c.Dir, "checklist.html"), sheet.Bytes(), false); err != nil {
		return err
	}
	p := planCmd{List: filepath.Join(c.Dir, "drops.csv"), Labels: filepath.Join(c.Dir, "labels.html")}
	if err := p.files(r); err != nil {
		return err
	}
	s.say("%s: plan.yaml, rig.yaml, drops.csv, labels.html, checklist.html, START.txt and a folder records. Next: write your question into plan.yaml and your rig into rig.yaml, then", c.Dir)
	s.say("  hardcatch plan %s --out %s --list %s --labels %s --overwrite", filepath.Join(c.Dir, "plan.yaml"), filepath.Join(c.Dir, "trial.hardcatch"), p.List, p.Labels)
	return nil
}
