package app

import (
	"context"
	"fmt"
	"strings"

	"github.com/hardcatch/hardcatch/internal/store"
)

// Begin makes a new campaign file that answers the question given.
func (a *App) Begin(ctx context.Context, path, name, question, notes string) (store.Campaign, error) {
	if strings.TrimSpace(question) == "" {
		return store.Campaign{}, fmt.Errorf("%s: a campaign answers a question; give it with --question \"...\"", path)
	}
	c := store.Campaign{Name: name, Question: question, Notes: notes, Created: a.Now().UTC()}
	s, err := a.Files.Create(ctx, path, c)
	return c, within(s, err, func(store.Store) error { return nil })
}
