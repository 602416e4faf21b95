package view

import (
	"context"
	"fmt"
	"strings"

	"github.com/hardcatch/hardcatch/internal/app/picture"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/report"
	"github.com/hardcatch/hardcatch/internal/store"
)

// reportTower fills in what belongs to the day at the tower: planned drops, skipped checks, photos.
func reportTower(ctx context.Context, c *look.Entered, s store.Reader, d *report.Document, r *Results, o ReportOptions) error {
	d.Planned = r.Planned
	lists, err := s.Checklists(ctx)
	if err != nil {
		return err
	}
	d.Checklists = len(lists)
	for _, l := range lists {
		for _, i := range l.Value.Skipped() {
			d.Skipped = append(d.Skipped, report.SkippedCheck{Drop: l.Value.Drop, Check: string(i.Key), Reason: i.Reason, Found: i.Found, By: l.Value.By})
		}
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
		d.Photos = append(d.Photos, report.Photo{
			Drop: p.Value.Drop, Caption: p.Value.Caption, Alt: photoAlt(c, byID[p.Value.Drop], p.Value), JPEG: picture.Strip(b),
			Width: p.Value.Width, Height: p.Value.Height, SHA256: p.Value.SHA256,
		})
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
