package app

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/store"
)

// AskResult is what entering questions did. The JSON names are stable.
type AskResult struct {
	Asked []AskedQuestion `json:"asked"`
}

// AskedQuestion is a question with the entry that stands for it.
type AskedQuestion struct {
	drop.Question
	look.Receipt
	Effect string `json:"effect"` // added, revised or unchanged
}

// Ask enters questions, all or none. One of a name that stands already is changed; the logbook keeps what it was.
func Ask(ctx context.Context, a *look.Access, path string, questions []drop.Question) (*AskResult, error) {
	out := &AskResult{Asked: []AskedQuestion{}}
	err := a.Change(ctx, path, func(tx store.Tx) error {
		for _, q := range questions {
			r, err := tx.Ask(ctx, q)
			if err != nil {
				return err
			}
			out.Asked = append(out.Asked, AskedQuestion{q, look.ReceiptOf(r), r.Effect.String()})
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// AskNoLonger takes a question back with a reason. It stays in the logbook, and can be asked again.
func AskNoLonger(ctx context.Context, a *look.Access, path, id, reason string) (*AskResult, error) {
	if strings.TrimSpace(reason) == "" {
		return nil, fmt.Errorf("question %s: a reason is wanted for taking it back; it is kept for ever", id)
	}
	out := &AskResult{}
	err := a.Change(ctx, path, func(tx store.Tx) error {
		all, err := tx.Questions(ctx)
		if err != nil {
			return err
		}
		var names []string
		for _, q := range slices.Backward(all) {
			if q.Value.ID == id {
				q.Value.Withdrawn = strings.TrimSpace(reason)
				r, err := tx.Ask(ctx, q.Value)
				out.Asked = []AskedQuestion{{q.Value, look.ReceiptOf(r), r.Effect.String()}}
				return err
			}
			if !slices.Contains(names, q.Value.ID) {
				names = append(names, q.Value.ID)
			}
		}
		if len(names) == 0 {
			return fmt.Errorf("question %s was never asked; none was", id)
		}
		return fmt.Errorf("question %s was never asked; there are %s", id, strings.Join(names, ", "))
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}
