package view_test

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"path/filepath"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/foresee"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store/sqlstore"
	"github.com/hardcatch/hardcatch/internal/traceio"
	"github.com/hardcatch/hardcatch/internal/traceio/csvtrace"
	"github.com/hardcatch/hardcatch/internal/view"
)

func demonstration(t testing.TB) (*look.Access, string) {
	t.Helper()
	formats := traceio.NewRegistry()
	formats.Register(csvtrace.Format{})
	formats.Register(csvtrace.First())
	a := &look.Access{Files: sqlstore.Files{}, Formats: formats, Now: time.Now, Version: "test"}
	path := filepath.Join(t.TempDir(), "demo.hardcatch")
	if _, err := app.Demo(context.Background(), a, path); err != nil {
		t.Fatal(err)
	}
	return a, path
}

func TestWithdrawBringsBackWhatStood(t *testing.T) {
	a, path := demonstration(t)
	ctx := context.Background()
	s, err := a.Open(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}()
	stands := func() (drop.Outcome, bool, int) {
		v, err := view.Drop(ctx, s, "d02")
		if err != nil {
			t.Fatal(err)
		}
		return v.Outcome, v.Decided, len(v.Decisions)
	}
	was, decided, n := stands()
	if !decided || n != 1 {
		t.Fatalf("the demonstration decides once: %v %d", decided, n)
	}
	if _, err := app.Decide(ctx, a, s.Path(), drop.Decision{Drop: "d02", Outcome: drop.Void, Reason: "camera mast touched", By: "bench"}); err != nil {
		t.Fatal(err)
	}
	steps := []struct {
		outcome drop.Outcome
		decided bool
	}{{was, true}, {drop.Void, true}, {was, true}}
	for i, want := range steps {
		if _, _, err := app.Withdraw(ctx, a, s.Path(), "d02", "bench", "it was not"); err != nil {
			t.Fatal(err)
		}
		if o, d, k := stands(); o != want.outcome || d != want.decided || k != n+2+i {
			t.Errorf("withdraw %d: %s %v with %d decisions, want %s %v", i, o, d, k, want.outcome, want.decided)
		}
	}
	// A drop with one decision: withdrawn, none stands; withdrawn again, it stands.
	if _, _, err := app.Withdraw(ctx, a, s.Path(), "d03", "bench", "the wrong drop"); err != nil {
		t.Fatal(err)
	}
	v, err := view.Drop(ctx, s, "d03")
	if err != nil || v.Decided || !v.Decisions[1].Withdrawn || string(v.Outcome) != string(v.Reduction.Outcome) {
		t.Errorf("%+v %v", v.Decisions, err)
	}
	if _, _, err := app.Withdraw(ctx, a, s.Path(), "d03", "bench", "the wrong drop"); err != nil {
		t.Fatal(err)
	}
	if v, err = view.Drop(ctx, s, "d03"); err != nil || !v.Decided || v.Decisions[2].Outcome != v.Decisions[0].Outcome {
		t.Errorf("%+v %v", v.Decisions, err)
	}
	if _, _, err := app.Withdraw(ctx, a, s.Path(), "nowhere", "bench", "why"); err == nil {
		t.Error("a drop that is not there was taken back")
	}
}

func TestEventsByHandRepeatAndWithdraw(t *testing.T) {
	a, path := demonstration(t)
	ctx := context.Background()
	s, err := a.Open(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}()
	before, err := view.Drop(ctx, s, "d02")
	if err != nil {
		t.Fatal(err)
	}
	at := before.Reduction.Taut + 0.002
	if _, err := app.MoveEvents(ctx, a, s.Path(), "d02", reduce.EventsByHand{Taut: &at}, "  ", ""); err == nil {
		t.Error("an event moved without a reason")
	}
	if _, err := app.MoveEvents(ctx, a, s.Path(), "d02", reduce.EventsByHand{Taut: &at}, "the rise begins later", "bench"); err != nil {
		t.Fatal(err)
	}
	moved, err := view.Drop(ctx, s, "d02")
	if err != nil || moved.Reduction.Taut != at || moved.Reduction.Peak != before.Reduction.Peak {
		t.Errorf("taut %v, want %v (%v)", moved.Reduction.Taut, at, err)
	}
	// Neither adding the same records again nor reducing again may lose what a person set.
	files, err := app.MakeDemoFiles(ctx, a)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := app.Enter(ctx, a, path, "drops.csv", bytes.NewReader(files["drops.csv"]), files, app.EnterOptions{Filter: reduce.DefaultFilter}); err != nil {
		t.Fatal(err)
	}
	if _, err := app.Redo(ctx, a, path, nil); err != nil {
		t.Fatal(err)
	}
	if v, err := app.Prove(ctx, a, path, true, nil); err != nil || !v.Holds || v.Repeated != 71 {
		t.Errorf("%+v %v", v, err)
	}
	if v, err := view.Drop(ctx, s, "d02"); err != nil || v.Reduction.Taut != at {
		t.Errorf("reducing again lost the moved event: %v %v", v.Reduction.Taut, err)
	}
	if _, err := app.WithdrawEvents(ctx, a, s.Path(), "d02", ""); err != nil {
		t.Fatal(err)
	}
	back, err := view.Drop(ctx, s, "d02")
	if err != nil {
		t.Fatal(err)
	}
	x, _ := json.Marshal(before.Reduction)
	y, _ := json.Marshal(back.Reduction)
	if string(x) != string(y) {
		t.Error("withdrawn, the reduction is another")
	}
	if _, err := app.WithdrawEvents(ctx, a, s.Path(), "d03", ""); err == nil {
		t.Error("what was never moved was taken back")
	}
}

// Every stretch's extremes by the levels are those of a plain search.
func TestBandSpan(t *testing.T) {
	v := make([]float64, 1037)
	for i := range v {
		v[i] = math.Sin(float64(i*i)) * float64(i%97)
	}
	v[500] = math.NaN()
	b := look.NewBand(v)
	for from := -3; from < len(v); from += 7 {
		for to := from; to < len(v)+20; to += 13 {
			lo, hi := math.Inf(1), math.Inf(-1)
			for i := max(from, 0); i < min(to, len(v)); i++ {
				if v[i] < lo {
					lo = v[i]
				}
				if v[i] > hi {
					hi = v[i]
				}
			}
			gotLo, gotHi, ok := b.Span(from, to)
			if ok != (lo <= hi) || ok && (gotLo != lo || gotHi != hi) {
				t.Fatalf("%d to %d: %v to %v, want %v to %v", from, to, gotLo, gotHi, lo, hi)
			}
		}
	}
}

// The thinned window keeps the peak, and a narrow one holds every sample.
func TestWindowKeepsThePeak(t *testing.T) {
	a, path := demonstration(t)
	ctx := context.Background()
	s, err := a.Open(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}()
	w, err := s.Window(ctx, "d02", 0, 0, 50)
	if err != nil {
		t.Fatal(err)
	}
	d, err := view.Drop(ctx, s, "d02")
	if err != nil {
		t.Fatal(err)
	}
	top := 0.0
	for _, v := range w.Raw {
		top = math.Max(top, v)
	}
	if w.Exact || len(w.T) != 100 || len(w.Raw) != 100 || top != d.Reduction.PeakRaw.SI() {
		t.Errorf("exact %v, %d points, top %v, want %v", w.Exact, len(w.T), top, d.Reduction.PeakRaw)
	}
	taut := d.Reduction.Taut
	if w, err = s.Window(ctx, "d02", taut, taut+0.01, 1000); err != nil || !w.Exact || len(w.T) < int(0.01*w.Rate.SI()) {
		t.Errorf("%v %d %v", w.Exact, len(w.T), err)
	}
	if _, err := s.Window(ctx, "d02", 0, 0, 1e6); err == nil {
		t.Error("a million columns were drawn")
	}
}

// The stiff lossless bound: a linear spring of stiffness k in series with the rig peaks at
// m g (1 + sqrt(1 + 2 k h/(m g))); every textile with losses stays below it.
func TestAskModelStaysBelowTheLosslessPeak(t *testing.T) {
	a, err := foresee.AskModel(context.Background(), foresee.WhatIf{Mass: 100, Fall: 0.05, Length: 0.9, Material: "steel-wire", Rig: 2e6})
	if err != nil {
		t.Fatal(err)
	}
	k := 1 / (1/(2300e3/0.9) + 1/2e6)
	w := 100 * quantity.StandardGravity
	bound := w * (1 + math.Sqrt(1+2*k*0.05/w))
	if p := a.Peak.SI(); p > 1.03*bound || p < 0.85*bound {
		t.Errorf("peak %v, lossless %v", p, bound)
	}
	if len(a.Cautions) == 0 || len(a.Limits) == 0 {
		t.Error("cautions or limits are missing")
	}
	for _, q := range []foresee.WhatIf{{Mass: -1}, {Fall: 99}, {Material: "steel"}, {Knot: "granny"}, {Rig: 1}} {
		if _, err := foresee.AskModel(context.Background(), q); err == nil {
			t.Errorf("%+v was computed", q)
		}
	}
}

func BenchmarkAskModel(b *testing.B) {
	for b.Loop() {
		if _, err := foresee.AskModel(context.Background(), foresee.WhatIf{Fall: 0.9, Knot: "figure-eight-HMPE-8-mm", Material: "hmpe-blend-sling"}); err != nil {
			b.Fatal(err)
		}
	}
}
