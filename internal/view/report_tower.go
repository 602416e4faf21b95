package view

import (
	"context"
	"fmt"
	"strings"

	"github.com/hardcatch/hardcatch/internal/app/picture"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/store"
)

// tower fills in what belongs to the day at the tower: checklists and photos.
func (d *Report) tower(ctx context.Context, c *look.Entered, s store.Reader, o ReportOptions) error {
	lists, err := s.Checklists(ctx)
	if err != nil {
		return err
	}
	for _, l := range lists {
		d.Checklists = append(d.Checklists, l.Value)
	}
	if o.NoPhotos {
		return nil
	}
	photos, err := s.Photos(ctx)
	if err != nil {
		return err
	}
	byID := map[string]drop.Drop{}
	for _, x := range c.Drops {
		byID[x.ID] = x
	}
	for _, p := range photos {
		b, err := s.PhotoBytes(ctx, p.Value.SHA256)
		if err != nil {
			return fmt.Errorf("photo of drop %s: %w", p.Value.Drop, err)
		}
		// A report is handed on: where the photo was taken stays in the campaign.
		d.Photos = append(d.Photos, Photo{Photo: p.Value, Alt: photoAlt(c, byID[p.Value.Drop], p.Value), JPEG: picture.Strip(b)})
	}
	return nil
}

// photoAlt says in words what the photo belongs to.
func photoAlt(c *look.Entered, d drop.Drop, p store.Photo) string {
	sp := d.Specimen
	text := strings.Join(strings.Fields(fmt.Sprintf("Photo of drop %s, specimen %s, %s %s", p.Drop, sp.ID, sp.Material, sp.Construction)), " ")
	text = strings.TrimRight(text, " ,")
	if outcome, _ := look.Standing(c.Reduction[d.ID], c.Decisions[d.ID]); outcome != "" {
		text += ", " + string(outcome)
	}
	if p.Caption != "" {
		text += ": " + p.Caption
	}
	return text
}
