package look

import (
	"context"
	"slices"

	"github.com/hardcatch/hardcatch/internal/question"
	"github.com/hardcatch/hardcatch/internal/store"
)

// readAsked gives the questions as they stand, in the order in which they were first entered, and by which entry each drop was taken.
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
	taken, err := r.Taken(ctx)
	if err != nil {
		return nil, nil, err
	}
	return out, taken, nil
}

// Answers are what the drops say to the questions that were asked.
func (c *Entered) Answers() []question.Answer {
	all := question.AnswerAll(c.Asked, c.Entries(), c.TakenBy)
	for i := range all {
		all[i].TellDependence()
	}
	return all
}
