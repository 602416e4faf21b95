package foresee

import (
	"context"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
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
func Suggest(ctx context.Context, a *look.Access, path string, q compare.NextQuestion) (out *Suggestion, err error) {
	err = a.View(ctx, path, func(c *look.Entered, _ store.Reader) error {
		var entries []compare.Entry
		for _, d := range c.Drops {
			entries = append(entries, c.Entry(d))
		}
		q.Capacity = c.Rig.LoadCell.Capacity
		r, err := compare.SuggestNext(entries, q)
		if err != nil {
			return err
		}
		out = &Suggestion{Campaign: c.Info.Name, Invented: c.Info.Invented, NextRanking: r, Cautions: drop.Cautions(), Head: c.Head.Hash.String()}
		return nil
	})
	return out, err
}
