package app_test

import (
	"context"
	"errors"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

// The self-test holds, and finds one number that a reduction gives otherwise, and a record that it no longer reduces.
func TestSelfTest(t *testing.T) {
	sound, err := app.HoldAgainstKept(t.Context(), &look.Access{})
	if err != nil {
		t.Fatal(err)
	}
	if !sound.Holds || len(sound.Differ) > 0 || sound.Records < 12 || sound.Falls < 12 || sound.Numbers < 5000 || sound.Texts < 1000 {
		t.Errorf("%+v", sound)
	}
	ill := reduce.KnownGenerations().Latest()
	ill.Reduce = func(tr *drop.Trace, s reduce.Settings) (*reduce.Reduction, error) {
		if tr.Name == "absorber.csv" {
			return nil, errors.New("no arrest")
		}
		r, err := reduce.Reduce(tr, s)
		if err == nil && tr.Name == "clipped.csv" {
			r.Tail = &r.Peak
		}
		return r, err
	}
	res, err := app.HoldAgainstKept(t.Context(), &look.Access{Generations: reduce.Generations{ill}})
	if err != nil || res.Holds || len(res.Differ) != 2 {
		t.Fatalf("%+v %v", res, err)
	}
	if d := res.Differ[0]; d.Item != "record absorber of reduce/2" || !strings.Contains(d.Found, "no arrest") {
		t.Errorf("%+v", d)
	}
	if d := res.Differ[1]; d.Item != "record clipped of reduce/2" || d.Where != "tail_N" || d.Expected != "nothing" || !strings.HasPrefix(d.Found, "8985.7") {
		t.Errorf("%+v", d)
	}
	stopped, stop := context.WithCancel(t.Context())
	stop()
	if _, err := app.HoldAgainstKept(stopped, &look.Access{}); !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
}
