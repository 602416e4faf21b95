package app

import (
	"context"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/store"
)

// Suggestion is the drops that would tell most. The JSON names are stable: names are added, never changed.
type Suggestion struct {
	Campaign string `json:"campaign"`
	Invented bool   `json:"invented"`
	*compare.NextRanking
	Cautions []string `json:"cautions"`
	Head     string   `json:"head"`
}

// Suggest ranks the drops that could be made next by what they would tell. The load cell's capacity is the rig's.
func (a *App) Suggest(ctx context.Context, path string, q compare.NextQuestion) (out *Suggestion, err error) {
	err = a.view(ctx, path, func(c *campaign, _ store.Reader) error {
		var entries []compare.Entry
		for _, d := range c.drops {
			entries = append(entries, c.entry(d))
		}
		q.Capacity = c.rig.LoadCell.Capacity
		r, err := compare.SuggestNext(entries, q)
		if err != nil {
			return err
		}
		out = &Suggestion{Campaign: c.info.Name, Invented: c.info.Invented, NextRanking: r, Cautions: drop.Cautions(), Head: c.head.Hash.String()}
		return nil
	})
	return out, err
}
