// Package app enters and decides: one function for each thing that a person changes in a campaign.
package app

import (
	"context"
	"fmt"
	"strings"

	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/store"
)

// Begin makes a new campaign file that answers the question given.
func Begin(ctx context.Context, a *look.Access, path, name, question, notes string) (store.Campaign, error) {
	if strings.TrimSpace(question) == "" {
		return store.Campaign{}, fmt.Errorf("%s: a campaign answers a question; give it with --question \"...\"", path)
	}
	c := store.Campaign{Name: name, Question: question, Notes: notes, Created: a.Now().UTC()}
	s, err := a.Files.Create(ctx, path, c)
	return c, look.Within(s, err, func(store.Store) error { return nil })
}
