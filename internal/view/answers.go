package view

import (
	"context"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/question"
	"github.com/hardcatch/hardcatch/internal/store"
)

// Answers is what a campaign's drops say to its questions. The JSON names are stable: names are added, never changed.
type Answers struct {
	Campaign string            `json:"campaign"`
	Question string            `json:"question"`
	Invented bool              `json:"invented"`
	Answers  []question.Answer `json:"answers"`
	Cautions []string          `json:"cautions"`
	Head     string            `json:"head"` // hash of the logbook these answers stand on
}

// AnswersOf answers the questions of a campaign.
func AnswersOf(ctx context.Context, a *look.Access, path string) (out *Answers, err error) {
	err = a.View(ctx, path, func(c *look.Entered, _ store.Reader) error {
		out = answers(c, c.Answers())
		return nil
	})
	return out, err
}

// Answers are the answers beside the results.
func (c *Campaign) Answers() *Answers { return answers(c.Entered, c.Results.Answers) }

// exploratory says of everything that was not asked with a rule that it was not.
func exploratory(c *look.Entered) message.Sentence {
	for _, q := range c.Asked {
		if q.Withdrawn == "" {
			return message.Say("The questions of the campaign are answered by their own rules. What follows was not asked beforehand and is exploratory: new drops have to confirm it.")
		}
	}
	return message.Say("No question with a rule was asked: what follows is exploratory, and new drops have to confirm it.")
}

func answers(c *look.Entered, all []question.Answer) *Answers {
	return &Answers{Campaign: c.Info.Name, Question: c.Info.Question, Invented: c.Info.Invented, Answers: all, Cautions: drop.Cautions(), Head: c.Head.Hash.String()}
}
