package app

import (
	"context"
	"errors"
	"fmt"
	"runtime"

	fall "github.com/hardcatch/hardcatch/internal/arrest/frozen"
	"github.com/hardcatch/hardcatch/internal/look"
	record "github.com/hardcatch/hardcatch/internal/reduce/frozen"
	"github.com/hardcatch/hardcatch/internal/same"
)

// SelfTest is what a program found when it held itself against its kept results.
type SelfTest struct {
	Records int `json:"records"` // reduced again
	Falls   int `json:"falls"`   // simulated again
	Numbers int `json:"numbers"` // compared
	Texts   int `json:"texts"`
	// RecordTolerance and FallTolerance are how far, relative, a number may lie off on this machine; 0 = the same bits.
	RecordTolerance float64          `json:"record_tolerance"`
	FallTolerance   float64          `json:"fall_tolerance"`
	Differ          []SelfDifference `json:"differ"`
	Holds           bool             `json:"holds"`
	Machine         string           `json:"machine"`
}

// SelfDifference is one value that is not as it was kept.
type SelfDifference struct {
	Item string `json:"item"` // the record or fall
	same.Difference
}

// HoldAgainstKept makes every frozen reduction and every frozen fall again and compares every number and text.
func HoldAgainstKept(ctx context.Context, a *look.Access) (*SelfTest, error) {
	res := &SelfTest{Differ: []SelfDifference{}, RecordTolerance: same.Tolerance(), FallTolerance: fall.Tolerance(), Machine: runtime.GOOS + "/" + runtime.GOARCH}
	take := func(item string, r same.Report, err error) {
		res.Numbers += r.Numbers
		res.Texts += r.Texts
		if err != nil {
			r.Differ = append(r.Differ, same.Difference{Expected: "a result", Found: err.Error()})
		}
		for _, d := range r.Differ {
			res.Differ = append(res.Differ, SelfDifference{item, d})
		}
	}
	for _, g := range a.Known() {
		records, err := record.Records(g.Version)
		if err != nil {
			return nil, err
		}
		for _, r := range records {
			if err := ctx.Err(); err != nil {
				return nil, fmt.Errorf("stopped after %d records: %w", res.Records, err)
			}
			report, err := r.Check(g)
			take(fmt.Sprintf("record %s of %s", r.Name, g.Version), report, err)
			res.Records++
		}
	}
	falls, err := fall.Falls()
	if err != nil {
		return nil, err
	}
	for _, f := range falls {
		report, err := f.Check(ctx)
		if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
			return nil, fmt.Errorf("stopped after %d falls: %w", res.Falls, err)
		}
		take(fmt.Sprintf("fall %q", f.Name), report, err)
		res.Falls++
	}
	res.Holds = len(res.Differ) == 0
	return res, nil
}
