package cli

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/look"
)

type photoCmd struct {
	onDrop
	Picture      string `arg:"" optional:"" help:"JPEG or PNG to attach."`
	Caption      string `help:"What it shows, for the report and for those who cannot see it."`
	KeepPosition bool   `help:"Keep the camera's metadata (EXIF), with position and time; else it is removed."`
	Out          string `type:"path" placeholder:"DIR" help:"Write the drop's photos into this folder instead."`
	Overwrite    bool   `help:"Overwrite files there."`
}

// Help is shown below the usage.
func (photoCmd) Help() string {
	return `Example: hardcatch photo trial.hardcatch d17 break.jpg --caption "parted at the knot"

The photo is turned upright, brought to 1600 pixels at most on its longest side and written anew without metadata. The campaign keeps it with its SHA-256 and that of the original, which is not kept. With --out DIR and no picture the drop's photos are given back. A report never carries a photo's metadata.`
}

// Run attaches a photo or gives photos back.
func (c *photoCmd) Run(a *look.Access, s *streams) error {
	switch {
	case c.Picture == "" && c.Out == "":
		return fmt.Errorf("name a picture to attach, or a folder with --out to get the drop's photos")
	case c.Picture != "" && c.Out != "":
		return fmt.Errorf("name either a picture to attach or --out, not both")
	case c.Out != "":
		return c.giveBack(a, s)
	}
	data, err := s.readInput(c.Picture)
	if err != nil {
		return err
	}
	r, err := app.AttachPhoto(s.ctx, a, c.File, app.PhotoInput{Drop: c.Drop, Name: filepath.Base(c.Picture), Data: data, Caption: c.Caption, KeepPosition: c.KeepPosition, By: c.By})
	if err != nil {
		return err
	}
	if c.JSON {
		if err := s.json(r); err != nil {
			return err
		}
	} else {
		meta := "metadata removed"
		switch {
		case r.KeptMetadata:
			meta = "metadata kept"
		case r.HadPosition:
			meta = "metadata removed, the position among it"
		}
		s.say("drop %s: photo %s %s (%s), kept as %d x %d, %d bytes, %s; SHA-256 %s", r.Drop, r.Name, r.Effect, r.Given, r.Width, r.Height, r.Bytes, meta, r.SHA256)
	}
	s.warn(r.Warnings)
	return nil
}

func (c *photoCmd) giveBack(a *look.Access, s *streams) error {
	photos, err := app.Photos(s.ctx, a, c.File, c.Drop)
	if err != nil {
		return err
	}
	if len(photos) == 0 {
		return fmt.Errorf("drop %s has no photo; attach one with: hardcatch photo %s %s picture.jpg", c.Drop, c.File, c.Drop)
	}
	if err := os.MkdirAll(c.Out, 0o755); err != nil {
		return fmt.Errorf("%w: %w", errWrite, err)
	}
	var names []string
	for i, p := range photos {
		name := filepath.Join(c.Out, fmt.Sprintf("%s-%d.jpg", plainName(c.Drop), i+1))
		if err := writeFile(name, p.JPEG, c.Overwrite); err != nil {
			return err
		}
		names = append(names, name)
		if !c.JSON {
			s.say("%s: %d x %d, %d bytes, SHA-256 %s%s", name, p.Width, p.Height, p.Bytes, p.SHA256, after(": ", p.Caption))
		}
	}
	if c.JSON {
		return s.json(map[string]any{"files": names, "photos": photos})
	}
	return nil
}

// plainName makes a drop's name fit for a file name anywhere.
func plainName(id string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || strings.ContainsRune(`/\:*?"<>|.`, r) {
			return '_'
		}
		return r
	}, id)
}
