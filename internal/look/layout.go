package look

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/plan"
	"github.com/hardcatch/hardcatch/internal/store"
)

// PlanOf is the plan of a campaign, nil when it has none.
func PlanOf(ctx context.Context, r store.Reader) (*plan.Layout, error) {
	l, _, err := planSince(ctx, r)
	return l, err
}

// planSince is PlanOf with the time of its entry.
func planSince(ctx context.Context, r store.Reader) (*plan.Layout, time.Time, error) {
	v, err := r.Plan(ctx)
	if errors.Is(err, store.ErrNotFound) {
		return nil, time.Time{}, nil
	}
	if err != nil {
		return nil, time.Time{}, err
	}
	l, err := plan.ReadLayout(v.Value)
	if err != nil {
		return nil, time.Time{}, fmt.Errorf("logbook entry %d: %w", v.Seq, err)
	}
	return l, v.At, nil
}

// DropOf is the drop of that name. Of one that is planned and not entered the error says so.
func DropOf(ctx context.Context, r store.Reader, id string) (drop.Drop, error) {
	d, err := r.Drop(ctx, id)
	if errors.Is(err, store.ErrNotFound) {
		return drop.Drop{}, notTaken(ctx, r, id, err)
	}
	return d.Value, err
}

// notTaken says of a drop that the campaign does not have that it is planned, where it is.
func notTaken(ctx context.Context, r store.Reader, id string, missing error) error {
	l, err := PlanOf(ctx, r)
	if err != nil || l == nil {
		return errors.Join(missing, err)
	}
	for _, run := range l.Runs {
		if run.Drop == id {
			return &store.Problem{
				Reason: store.ErrNotFound, Place: "drop " + id, Fact: fmt.Sprintf("is planned as number %d of the run order (specimen %s, day %d) and was not taken yet", run.Order, run.Specimen, run.Day),
				WayOut: "take it and enter its record",
			}
		}
	}
	return missing
}

// PlanProgress is how far a planned campaign has come.
type PlanProgress struct {
	Planned int      `json:"planned"`
	Taken   int      `json:"taken"`
	Open    []string `json:"open"` // planned drops not entered yet, in run order
	Extra   []string `json:"unplanned"`
}

// ProgressOf compares the drops entered with the plan, by their names.
func ProgressOf(l *plan.Layout, drops []drop.Drop) *PlanProgress {
	if l == nil {
		return nil
	}
	p := &PlanProgress{Planned: len(l.Runs), Open: []string{}, Extra: []string{}}
	taken := map[string]bool{}
	for _, d := range drops {
		taken[d.ID] = true
	}
	planned := map[string]bool{}
	for _, run := range l.Runs {
		planned[run.Drop] = true
		if taken[run.Drop] {
			p.Taken++
		} else {
			p.Open = append(p.Open, run.Drop)
		}
	}
	for _, d := range drops {
		if !planned[d.ID] {
			p.Extra = append(p.Extra, d.ID)
		}
	}
	return p
}
