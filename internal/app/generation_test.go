package app_test

import (
	"context"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store/sqlstore"
	"github.com/hardcatch/hardcatch/internal/traceio"
	"github.com/hardcatch/hardcatch/internal/traceio/csvtrace"
	"github.com/hardcatch/hardcatch/internal/view"
)

// A campaign reduced by one generation is repeated by it after the next has come; reducing again makes the next one's, which
// is then repeated beside it. A generation that is not known is named with what to do.
func TestACampaignKeepsItsGeneration(t *testing.T) {
	ctx := t.Context()
	first := reduce.KnownGenerations().Latest()
	second := first
	second.Version = "reduce/test"
	second.Reduce = func(tr *drop.Trace, s reduce.Settings) (*reduce.Reduction, error) {
		r, err := first.Reduce(tr, s)
		if err == nil {
			r.Version, r.Peak = "reduce/test", 1.25*r.Peak
		}
		return r, err
	}
	second.ReduceInPlace = second.Reduce
	with := func(gs ...reduce.Generation) *look.Access {
		return &look.Access{Files: sqlstore.Files{}, Formats: traceio.NewRegistry(csvtrace.Format{}), Now: time.Now, Version: "test", Generations: gs}
	}
	path := filepath.Join(t.TempDir(), "g.hardcatch")
	files, err := app.MakeDemoFiles(ctx, with(first))
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.SplitN(string(files["drops.csv"]), "\n", 5)
	list := strings.Join(lines[:4], "\n") + "\n"
	add := func(a *look.Access) error {
		if _, err := app.Begin(ctx, a, path, "g", "Does it hold?", ""); err != nil {
			return err
		}
		if _, err := app.SetRig(ctx, a, path, "rig.yaml", strings.NewReader(string(files["rig.yaml"]))); err != nil {
			return err
		}
		_, err := app.Enter(ctx, a, path, "drops.csv", strings.NewReader(list), files, app.EnterOptions{Filter: reduce.DefaultFilter})
		return err
	}
	if err := add(with(first)); err != nil {
		t.Fatal(err)
	}
	proved := func(a *look.Access) *app.ProveResult {
		t.Helper()
		p, err := app.Prove(context.WithoutCancel(ctx), a, path, true, nil)
		if err != nil {
			t.Fatal(err)
		}
		if len(p.Differ) > 0 {
			t.Fatal(p.Differ)
		}
		return p
	}
	n := proved(with(first)).Repeated
	if n == 0 || proved(with(first, second)).Repeated != n {
		t.Fatalf("the first generation repeats %d reductions, beside the second another number", n)
	}
	before, err := view.DropIn(ctx, with(first, second), path, "d01")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := app.Redo(ctx, with(first, second), path, nil); err != nil {
		t.Fatal(err)
	}
	after, err := view.DropIn(ctx, with(first, second), path, before.Drop.ID)
	if err != nil {
		t.Fatal(err)
	}
	if after.Reduction.Version != "reduce/test" || after.Reduction.Peak != 1.25*before.Reduction.Peak {
		t.Errorf("%s %v, before %s %v", after.Reduction.Version, after.Reduction.Peak, before.Reduction.Version, before.Reduction.Peak)
	}
	if got := proved(with(first, second)).Repeated; got != n {
		t.Errorf("%d of %d are repeated by the second generation", got, n)
	}
	p := proved(with(first))
	if p.Repeated != 0 || len(p.Other) != n || !strings.Contains(p.Other[0], "made by reduce/test, this program has reduce/2; repeat it with the program that made it") {
		t.Errorf("%+v", p)
	}
}
