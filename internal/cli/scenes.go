package cli

import (
	"fmt"

	"github.com/hardcatch/hardcatch/internal/foresee"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/view"
)

type scenesCmd struct {
	File      string `arg:"" optional:"" help:"Campaign file, to show its peaks beside the scenes."`
	Case      string `help:"Print the case of this scene, to change it and give it to simulate, ensemble or chain."`
	Draws     int    `short:"n" help:"Compute the bands anew from so many draws each, instead of showing those kept."`
	SVG       string `name:"svg" help:"Draw the bands into this file."`
	Overwrite bool   `help:"Overwrite files."`
	JSON      bool   `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (scenesCmd) Help() string {
	return `Examples: hardcatch scenes
  hardcatch scenes trial.hardcatch
  hardcatch scenes --case leader-belay-slips > fall.yaml`
}

// Run shows the scenes.
func (c *scenesCmd) Run(a *look.Access, s *streams) error {
	if c.Case != "" {
		text, err := foresee.SceneCase(c.Case)
		if err != nil {
			return err
		}
		_, err = s.out.Write(text)
		return err
	}
	r, err := foresee.Scenes()
	if c.Draws != 0 {
		r, err = foresee.AskScenes(s.ctx, a, c.Draws)
	}
	if err != nil {
		return err
	}
	v := view.ScenesAlone(r, message.English())
	if c.File != "" {
		if v, err = view.BesideScenes(s.ctx, a, c.File, r, message.English()); err != nil {
			return err
		}
	}
	if c.SVG != "" {
		if err := writeFile(c.SVG, v.Drawing.SVG(), c.Overwrite); err != nil {
			return err
		}
	}
	if c.JSON {
		return s.json(v)
	}
	return s.scenes(v)
}

func (s *streams) scenes(v *view.SceneView) error {
	s.say("For illustration: never what a person bears.")
	if v.Campaign != "" {
		s.campaign(v.Invented, v.Campaign, "")
		s.heading("This campaign: rigid mass, lowest to highest peak")
		rows := [][]string{{"cell", "drops", "peaks"}}
		for _, p := range v.Peaks {
			peaks := p.Low.Text(3) + " to " + p.High.Text(3)
			if p.AtLeast {
				peaks = "at least " + peaks
			}
			rows = append(rows, []string{p.Cell, fmt.Sprint(p.Drops), peaks})
		}
		if err := s.table(rows); err != nil {
			return err
		}
	}
	s.heading("What falls give, by the model: middle nine tenths of each scene's ranges")
	band := func(b foresee.Band) string { return b.Low.Text(2) + " to " + b.High.Text(2) }
	rows := [][]string{{"scene", "at the person", "upper connector", "anchor or belayer", "would part"}}
	for _, x := range v.Scenes {
		connector := ""
		if x.Connector != nil {
			connector = band(*x.Connector)
		}
		rows = append(rows, []string{x.ID, band(x.Person), connector, band(x.Anchor), fmt.Sprintf("%.0f %%", 100*x.Parts)})
	}
	if err := s.table(rows); err != nil {
		return err
	}
	for _, x := range v.Scenes {
		s.say("\n  %s: %s.", x.ID, wrap(x.Title.String(), 90, "    "))
		if said := x.Published.String(); said != "" {
			s.say("    published: %s", wrap(said, 90, "    "))
		}
	}
	s.say("\n\"would part\" is the share of the draws whose force passes a strength of the chain (starting values): the forces are those asked for, as if nothing parted.")
	s.warned(v.Warnings)
	s.cautions()
	return nil
}
