package look

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/question"
	"github.com/hardcatch/hardcatch/internal/store"
)

// readAsked gives the questions as they stand, in the order in which they were first entered, and by which entry each drop was taken: the first that tells what
// came of it, a record, a decision or an outcome in the drop list.
func readAsked(ctx context.Context, r store.Reader) ([]question.Asked, question.Taken, error) {
	all, err := r.Questions(ctx)
	if err != nil || len(all) == 0 {
		return nil, nil, err
	}
	var out []question.Asked
	for _, q := range all {
		i := slices.IndexFunc(out, func(a question.Asked) bool { return a.ID == q.Value.ID })
		if i < 0 {
			out = append(out, question.Asked{Question: q.Value, At: q.At, Seq: q.Seq})
			continue
		}
		out[i].Question, out[i].Seq, out[i].Changed = q.Value, q.Seq, q.At
		out[i].Changes++
	}
	history, err := r.History(ctx)
	if err != nil {
		return nil, nil, err
	}
	taken := question.Taken{}
	for _, e := range history {
		if _, told := taken[e.Subject]; told {
			continue
		}
		switch e.Kind {
		case store.KindTrace, store.KindReduction, store.KindDecision:
			taken[e.Subject] = e.Seq
		case store.KindDrop:
			var d drop.Drop
			if err := json.Unmarshal([]byte(e.Payload), &d); err != nil {
				return nil, nil, fmt.Errorf("logbook entry %d: %w", e.Seq, err)
			}
			if d.Entered.Outcome != "" {
				taken[e.Subject] = e.Seq
			}
		}
	}
	return out, taken, nil
}

// Answers are what the drops say to the questions that were asked.
func (c *Entered) Answers() []question.Answer {
	return question.AnswerAll(c.Asked, c.Entries(), c.TakenBy)
}
