// Package view is a campaign as it is shown: cells, limits, comparisons, check drops, drawings, sentences, in the words of the domain's own types.
package view

import (
	"context"

	"github.com/hardcatch/hardcatch/internal/look"
)

// Campaign is a campaign at one head of its logbook, with what it shows so far.
type Campaign struct {
	*look.Moment
	Results *Results
}

// Of gives a campaign as it is now, or what was worked out before when nothing was entered since.
func Of(ctx context.Context, s *look.Campaign) (*Campaign, error) {
	return look.Remembered(ctx, s, "results", func(st *look.Moment) (*Campaign, error) {
		return &Campaign{st, results(st)}, nil
	})
}
