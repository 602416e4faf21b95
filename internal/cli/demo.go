package cli

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sort"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/view"
)

type demoCmd struct {
	Out   string `help:"Campaign file to make; a fresh file in the temporary folder when not given."`
	Files string `help:"Write the invented questions.yaml, rig.yaml, drops.csv and records into this folder instead, to enter them by hand."`
	JSON  bool   `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (demoCmd) Help() string {
	return `Example: hardcatch demo --out demo.hardcatch

The scenario is invented: a mine-rescue depot asks about lanyards that hung four winters in the shaft house. The records come from the simulated rig.`
}

// Run makes the demonstration.
func (c *demoCmd) Run(a *look.Access, s *streams) error {
	if c.Files != "" {
		return c.files(a, s)
	}
	path := c.Out
	if path == "" {
		dir, err := os.MkdirTemp("", "hardcatch-demo-")
		if err != nil {
			return fmt.Errorf("no temporary folder: %w; give a file with --out", err)
		}
		path = filepath.Join(dir, "demo.hardcatch")
	}
	r, err := app.Demo(s.ctx, a, path)
	if err != nil {
		return err
	}
	results, err := view.ResultsOf(s.ctx, a, path)
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(struct {
			*app.DemoResult
			Results *view.Results `json:"results"`
		}{r, results})
	}
	s.warn(r.Enter.Warnings)
	if err := s.results(results, path); err != nil {
		return err
	}
	s.say("\nThe campaign is kept at %s. Go on with:\n  hardcatch answer %s\n  hardcatch results %s\n  hardcatch report %s --out report.html\n  hardcatch prove %s", path, path, path, path, path)
	return nil
}

func (c *demoCmd) files(a *look.Access, s *streams) error {
	files, err := app.MakeDemoFiles(s.ctx, a)
	if err != nil {
		return err
	}
	if entries, err := os.ReadDir(c.Files); err == nil && len(entries) > 0 {
		return fmt.Errorf("%s is not empty; choose a new folder", c.Files)
	} else if err != nil && !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("%s cannot be used: %w", c.Files, err)
	}
	if err := os.MkdirAll(filepath.Join(c.Files, "records"), 0o755); err != nil {
		return fmt.Errorf("%s cannot be made: %w", c.Files, err)
	}
	var names []string
	for name := range files {
		names = append(names, name)
	}
	sort.Strings(names)
	for _, name := range names {
		if err := writeFile(filepath.Join(c.Files, filepath.FromSlash(name)), files[name], false); err != nil {
			return err
		}
	}
	if c.JSON {
		return s.json(map[string]any{"folder": c.Files, "files": names, "invented": true})
	}
	s.say("%d files of the invented scenario in %s: questions.yaml, rig.yaml, drops.csv, records/", len(names), c.Files)
	return nil
}
