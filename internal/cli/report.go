package cli

import (
	"bytes"

	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/render"
	"github.com/hardcatch/hardcatch/internal/view"
)

type reportCmd struct {
	File        string `arg:"" help:"Campaign file."`
	Out         string `default:"report.html" help:"File to write."`
	Overwrite   bool   `help:"Overwrite the file."`
	EveryBudget bool   `help:"Print the uncertainty budget of every drop, not of one."`
	EveryCheck  bool   `help:"Print every audit check in full, not only those that do not agree."`
	NoFigures   bool   `help:"Leave the figures out."`
	NoPhotos    bool   `help:"Leave the photos out."`
	Lang        string `default:"en" enum:"en,de,fr" help:"Language: en, de or fr, with its decimal sign."`
	JSON        bool   `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (reportCmd) Help() string {
	return `Example: hardcatch report trial.hardcatch --out report.html

The page holds everything it needs, prints on A4 and carries the hash of the logbook it stands on. What people wrote into the campaign stays in their language.`
}

// Run writes the report.
func (c *reportCmd) Run(a *look.Access, s *streams) error {
	var b bytes.Buffer
	if err := render.ReportOf(s.ctx, a, c.File, &b, view.ReportOptions{EveryBudget: c.EveryBudget, EveryCheck: c.EveryCheck, NoFigures: c.NoFigures, NoPhotos: c.NoPhotos, Lang: c.Lang}); err != nil {
		return err
	}
	if err := writeFile(c.Out, b.Bytes(), c.Overwrite); err != nil {
		return err
	}
	if c.JSON {
		return s.json(map[string]any{"file": c.Out, "bytes": b.Len()})
	}
	s.say("%s: %.1f MB", c.Out, float64(b.Len())/1e6)
	return nil
}
