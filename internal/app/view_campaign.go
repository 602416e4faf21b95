package app

import "context"

// Campaign is a campaign at one head of its history, with what it shows so far.
type Campaign struct {
	*State
	Results *Results
}

// Of gives a campaign as it is now, or what was worked out before when nothing was entered since.
func (s *Session) Of(ctx context.Context) (*Campaign, error) {
	return remembered(ctx, s, "results", func(st *State) (*Campaign, error) {
		r, err := st.entered.results()
		return &Campaign{st, r}, err
	})
}
