package storetest

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/store"
)

func equal(t *testing.T, got, want any) {
	t.Helper()
	if d := cmp.Diff(want, got); d != "" {
		t.Fatalf("differs (-want +got):\n%s", d)
	}
}

func campaign(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	want := Question()
	want.Created = time.Date(2026, 3, 4, 8, 0, 1, 250e6, time.UTC) // the clock's first tick
	got := must[store.Revision[store.Campaign]](t)(s.Campaign(ctx))
	equal(t, got.Value, want)
	if got.Seq != 1 {
		t.Errorf("the campaign is entry %d, want 1", got.Seq)
	}

	changed := Question()
	changed.Question = "does it hold a fall factor of two?"
	wrote(t, store.Revised)(s.SetCampaign(ctx, changed))
	unmoved(t, s, func() { wrote(t, store.Unchanged)(s.SetCampaign(ctx, changed)) })
	changed.Created = want.Created
	equal(t, must[store.Revision[store.Campaign]](t)(s.Campaign(ctx)).Value, changed)

	unmoved(t, s, func() {
		_, err := s.SetCampaign(ctx, store.Campaign{Name: "x", Question: " "})
		refused(t, err, store.ErrInvalid)
	})
}

func rig(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	_, err := s.Rig(ctx)
	refused(t, err, store.ErrNotFound)
	equal(t, len(must[[]store.Revision[drop.Rig]](t)(s.RigHistory(ctx))), 0)

	wrote(t, store.Added)(s.SetRig(ctx, Rig()))
	equal(t, must[store.Revision[drop.Rig]](t)(s.Rig(ctx)).Value, Rig())
	unmoved(t, s, func() { wrote(t, store.Unchanged)(s.SetRig(ctx, Rig())) })

	heavier := Rig()
	heavier.Mass = quantity.Mass(math.Nextafter(100, 101)) // one bit more must not be lost
	wrote(t, store.Revised)(s.SetRig(ctx, heavier))
	equal(t, must[store.Revision[drop.Rig]](t)(s.Rig(ctx)).Value, heavier)
	all := must[[]store.Revision[drop.Rig]](t)(s.RigHistory(ctx))
	equal(t, []drop.Rig{all[0].Value, all[1].Value}, []drop.Rig{Rig(), heavier})

	unmoved(t, s, func() {
		_, err := s.SetRig(ctx, drop.Rig{Name: "no mass"})
		refused(t, err, store.ErrInvalid)
	})
	holds(t, s)
}

func drops(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	equal(t, len(must[[]store.Revision[drop.Drop]](t)(s.Drops(ctx))), 0)
	_, err := s.Drop(ctx, "1")
	refused(t, err, store.ErrNotFound)

	// Not in the order of their names, nor of their latest revisions.
	for _, id := range []string{"2", "10", "1"} {
		wrote(t, store.Added)(s.AddDrop(ctx, Drop(id)))
	}
	longer := Drop("2")
	longer.Specimen.Length = 1.2
	wrote(t, store.Revised)(s.AddDrop(ctx, longer))
	unmoved(t, s, func() { wrote(t, store.Unchanged)(s.AddDrop(ctx, longer)) })

	var got []drop.Drop
	for _, r := range must[[]store.Revision[drop.Drop]](t)(s.Drops(ctx)) {
		got = append(got, r.Value)
	}
	equal(t, got, []drop.Drop{longer, Drop("10"), Drop("1")})
	equal(t, must[store.Revision[drop.Drop]](t)(s.Drop(ctx, "2")).Value, longer)

	all := must[[]store.Revision[drop.Drop]](t)(s.DropHistory(ctx, "2"))
	equal(t, []drop.Drop{all[0].Value, all[1].Value}, []drop.Drop{Drop("2"), longer})
	if all[0].Seq >= all[1].Seq || !all[0].At.Before(all[1].At) {
		t.Errorf("the revisions are out of order: %+v", all)
	}

	// Back to what stood first is a third revision, not a return to the first.
	wrote(t, store.Revised)(s.AddDrop(ctx, Drop("2")))
	equal(t, len(must[[]store.Revision[drop.Drop]](t)(s.DropHistory(ctx, "2"))), 3)
	equal(t, holds(t, s).Drops, int64(3))
}

func dropKeptWhole(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	d := drop.Drop{
		ID: `7 "a" <b> & c/ü/` + "\u2028\ufffd",
		Specimen: drop.Specimen{
			ID: "S7", Material: "aramid", Construction: "cord", Length: 0.1 + 0.2, Knot: "figure-eight", Batch: "B", Conditioning: "wet",
			Rating: 22e3, Diameter: 0.011, Standard: "none",
		},
		Fall: 5e-324, Slack: 1.0 / 3, Mass: 80, Record: "7.csv", Channel: "F1", Order: 3, Taken: "2026-03-04", Operator: "ab", Role: drop.Check, Prior: 2,
		Factors: map[string]string{"winters": "4", "a": "", "Ω": "x"}, Entered: drop.Decision{Drop: "7", Outcome: drop.Broke, Place: drop.Knot, Reason: "seen"},
		Scenario: "invented", ListLine: 9,
	}
	wrote(t, store.Added)(s.AddDrop(ctx, d))
	equal(t, must[store.Revision[drop.Drop]](t)(s.Drop(ctx, d.ID)).Value, d)
	unmoved(t, s, func() { wrote(t, store.Unchanged)(s.AddDrop(ctx, d)) })
	holds(t, s)
}

func dropsRefused(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	nameless, endless := Drop(" "), Drop("1")
	endless.Specimen.Rating = quantity.Force(math.Inf(1)) // has no JSON form
	unmoved(t, s, func() {
		for _, d := range []drop.Drop{nameless, endless} {
			_, err := s.AddDrop(ctx, d)
			refused(t, err, store.ErrInvalid)
		}
	})
}

// record is a logger's file of about n bytes.
func record(n int) []byte {
	var b bytes.Buffer
	r := rand.New(rand.NewPCG(1, 2))
	b.WriteString("\xef\xbb\xbfTime (s);Force (kN)\r\n")
	for i := 0; b.Len() < n; i++ {
		fmt.Fprintf(&b, "%.4f;%.4f\r\n", float64(i)/10e3, r.NormFloat64())
	}
	return b.Bytes()
}

func traces(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	for _, id := range []string{"2", "1", "3"} {
		wrote(t, store.Added)(s.AddDrop(ctx, Drop(id)))
	}
	original := record(20e3)
	wrote(t, store.Added)(s.AddTrace(ctx, "1", "one.csv", store.Bytes(original)))
	wrote(t, store.Added)(s.AddTrace(ctx, "2", "two.csv", store.Bytes(original)))
	unmoved(t, s, func() { wrote(t, store.Unchanged)(s.AddTrace(ctx, "1", "one.csv", store.Bytes(original))) })

	got, data, err := s.Trace(ctx, "1")
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(data, original) {
		t.Fatal("the bytes came back changed")
	}
	want := store.Trace{Drop: "1", Name: "one.csv", SHA256: store.SumHex(original), Bytes: int64(len(original))}
	equal(t, got.Value, want)
	if !bytes.Equal(must[[]byte](t)(s.TraceBytes(ctx, want.SHA256)), original) {
		t.Fatal("TraceBytes changed the bytes")
	}

	other := want
	other.Drop, other.Name = "2", "two.csv"
	var listed []store.Trace
	for _, r := range must[[]store.Revision[store.Trace]](t)(s.Traces(ctx)) {
		listed = append(listed, r.Value)
	}
	equal(t, listed, []store.Trace{other, want})

	_, _, err = s.Trace(ctx, "3")
	refused(t, err, store.ErrNotFound)
	var written bytes.Buffer
	if err := s.WriteTrace(ctx, want.SHA256, &written); err != nil || !bytes.Equal(written.Bytes(), original) {
		t.Errorf("%d bytes are written of %d: %v", written.Len(), len(original), err)
	}
	_, err = s.TraceBytes(ctx, store.SumHex([]byte("another")))
	refused(t, err, store.ErrNotFound)
	unmoved(t, s, func() {
		_, err := s.AddTrace(ctx, "4", "four.csv", store.Bytes(original))
		refused(t, err, store.ErrNotFound)
		_, err = s.AddTrace(ctx, "3", "empty.csv", store.Bytes(nil))
		refused(t, err, store.ErrInvalid)
	})
	v := holds(t, s)
	equal(t, [2]int64{v.Traces, v.TraceBytes}, [2]int64{1, int64(len(original))})
}

func traceOfAnyBytes(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	r := rand.New(rand.NewPCG(3, 4))
	noise := make([]byte, 300e3)
	for i := range noise {
		noise[i] = byte(r.Uint32())
	}
	for name, original := range map[string][]byte{
		"one byte": {0}, "noise": noise, "zeros": make([]byte, 3<<20), "text": record(1 << 20),
		"a zstd frame": {0x28, 0xb5, 0x2f, 0xfd, 0x24, 0, 1, 0, 0},
	} {
		wrote(t, store.Added)(s.AddDrop(ctx, Drop(name)))
		wrote(t, store.Added)(s.AddTrace(ctx, name, name, store.Bytes(original)))
		if _, data, err := s.Trace(ctx, name); err != nil || !bytes.Equal(data, original) {
			t.Errorf("%s: changed, or %v", name, err)
		}
	}
	holds(t, s)
}

func traceReplaced(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	wrote(t, store.Added)(s.AddDrop(ctx, Drop("1")))
	first, second := record(1000), record(2000)
	wrote(t, store.Added)(s.AddTrace(ctx, "1", "wrong.csv", store.Bytes(first)))
	wrote(t, store.Revised)(s.AddTrace(ctx, "1", "right.csv", store.Bytes(second)))
	got, data, err := s.Trace(ctx, "1")
	if err != nil || got.Value.Name != "right.csv" || !bytes.Equal(data, second) {
		t.Errorf("the trace is %+v, %v", got.Value, err)
	}
	if !bytes.Equal(must[[]byte](t)(s.TraceBytes(ctx, store.SumHex(first))), first) {
		t.Error("the first trace is lost")
	}
	// The same bytes under a new name are news of the record, and back again likewise.
	wrote(t, store.Revised)(s.AddTrace(ctx, "1", "renamed.csv", store.Bytes(second)))
	wrote(t, store.Revised)(s.AddTrace(ctx, "1", "wrong.csv", store.Bytes(first)))
	equal(t, holds(t, s).Traces, int64(2))
}

func withTrace(t *testing.T, s store.Store, id string) string {
	t.Helper()
	wrote(t, store.Added)(s.AddDrop(t.Context(), Drop(id)))
	original := record(500 * len(id))
	wrote(t, store.Added)(s.AddTrace(t.Context(), id, id+".csv", store.Bytes(original)))
	return store.SumHex(original)
}

func reductions(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	sum := withTrace(t, s, "1")
	withTrace(t, s, "22")
	// Odd spacing, order and digits must survive: the bytes are what is compared later.
	r := store.Reduction{
		Drop: "1", TraceSHA256: sum, Version: "reduce/1",
		Settings: json.RawMessage("{ \"z\":1.10,\n\t\"a\": \"<&>\" }"), Result: json.RawMessage(`{"peak_N":1.2345678901234567e4}`),
	}
	_, err := s.Reduction(ctx, "1")
	refused(t, err, store.ErrNotFound)
	wrote(t, store.Added)(s.AddReduction(ctx, r))
	equal(t, must[store.Revision[store.Reduction]](t)(s.Reduction(ctx, "1")).Value, r)
	unmoved(t, s, func() { wrote(t, store.Unchanged)(s.AddReduction(ctx, r)) })

	spaced := r
	spaced.Settings = json.RawMessage(`{"z":1.10,"a":"<&>"}`)
	wrote(t, store.Revised)(s.AddReduction(ctx, spaced))
	newer := spaced
	newer.Version = "reduce/2"
	wrote(t, store.Revised)(s.AddReduction(ctx, newer))
	all := must[[]store.Revision[store.Reduction]](t)(s.ReductionHistory(ctx, "1"))
	equal(t, []store.Reduction{all[0].Value, all[1].Value, all[2].Value}, []store.Reduction{r, spaced, newer})
	latest := must[[]store.Revision[store.Reduction]](t)(s.Reductions(ctx))
	equal(t, len(latest), 1)
	equal(t, latest[0].Value, newer)

	// A reduction of the record that was replaced may still come in.
	wrote(t, store.Revised)(s.AddTrace(ctx, "1", "second.csv", store.Bytes(record(900))))
	late := newer
	late.Version = "reduce/3"
	wrote(t, store.Revised)(s.AddReduction(ctx, late))
	holds(t, s)
}

func reductionsRefused(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	one, two := withTrace(t, s, "1"), withTrace(t, s, "22")
	good := store.Reduction{Drop: "1", TraceSHA256: one, Version: "v", Settings: json.RawMessage("{}"), Result: json.RawMessage("{}")}
	for name, c := range map[string]struct {
		change func(*store.Reduction)
		reason error
	}{
		"no such drop":        {func(r *store.Reduction) { r.Drop = "3" }, store.ErrNotFound},
		"another drop's":      {func(r *store.Reduction) { r.TraceSHA256 = two }, store.ErrNotFound},
		"no version":          {func(r *store.Reduction) { r.Version = "" }, store.ErrInvalid},
		"no settings":         {func(r *store.Reduction) { r.Settings = nil }, store.ErrInvalid},
		"result is not JSON":  {func(r *store.Reduction) { r.Result = json.RawMessage(`{"peak_N":NaN}`) }, store.ErrInvalid},
		"two values, not one": {func(r *store.Reduction) { r.Result = json.RawMessage(`{} {}`) }, store.ErrInvalid},
	} {
		unmoved(t, s, func() {
			r := good
			c.change(&r)
			_, err := s.AddReduction(ctx, r)
			if err == nil {
				t.Fatalf("%s: was taken", name)
			}
			refused(t, err, c.reason)
		})
	}
}

func decisions(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	for _, id := range []string{"2", "1"} {
		wrote(t, store.Added)(s.AddDrop(ctx, Drop(id)))
	}
	held := drop.Decision{Drop: "1", Outcome: drop.Held, Reason: "tail at rest", By: "ab"}
	void := drop.Decision{Drop: "1", Outcome: drop.Void, Reason: "release stuck"}
	broke := drop.Decision{Drop: "2", Outcome: drop.Broke, Place: drop.Knot}
	wrote(t, store.Added)(s.Decide(ctx, held))
	wrote(t, store.Revised)(s.Decide(ctx, void))
	wrote(t, store.Revised)(s.Decide(ctx, void)) // saying it again is an act too
	wrote(t, store.Added)(s.Decide(ctx, broke))

	var latest, all []drop.Decision
	for _, r := range must[[]store.Revision[drop.Decision]](t)(s.Decisions(ctx)) {
		latest = append(latest, r.Value)
	}
	equal(t, latest, []drop.Decision{broke, void})
	for _, r := range must[[]store.Revision[drop.Decision]](t)(s.DecisionHistory(ctx, "1")) {
		all = append(all, r.Value)
	}
	equal(t, all, []drop.Decision{held, void, void})

	unmoved(t, s, func() {
		_, err := s.Decide(ctx, drop.Decision{Drop: "1", Outcome: drop.Void})
		refused(t, err, store.ErrInvalid)
		_, err = s.Decide(ctx, drop.Decision{Drop: "9", Outcome: drop.Held})
		refused(t, err, store.ErrNotFound)
	})
	holds(t, s)
}

func notes(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	wrote(t, store.Added)(s.AddDrop(ctx, Drop("1")))
	want := []store.Note{{Text: "rain all day"}, {Drop: "1", Text: "swung", By: "ab"}, {Text: "rain all day"}}
	for _, n := range want {
		wrote(t, store.Added)(s.AddNote(ctx, n))
	}
	var got []store.Note
	for _, r := range must[[]store.Revision[store.Note]](t)(s.Notes(ctx)) {
		got = append(got, r.Value)
	}
	equal(t, got, want)
	unmoved(t, s, func() {
		_, err := s.AddNote(ctx, store.Note{Text: "\t"})
		refused(t, err, store.ErrInvalid)
		_, err = s.AddNote(ctx, store.Note{Drop: "9", Text: "x"})
		refused(t, err, store.ErrNotFound)
	})
	holds(t, s)
}

func notUTF8(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	unmoved(t, s, func() {
		_, err := s.AddNote(ctx, store.Note{Text: "N\xfcrnberg"}) // Latin-1
		refused(t, err, store.ErrInvalid)
	})
	// The replacement character itself, and its escape as plain text, are legitimate.
	for _, text := range []string{"\ufffd", `\ufffd`, `\\ufffd`} {
		wrote(t, store.Added)(s.AddNote(ctx, store.Note{Text: text}))
	}
	got := must[[]store.Revision[store.Note]](t)(s.Notes(ctx))
	equal(t, []string{got[0].Value.Text, got[1].Value.Text, got[2].Value.Text}, []string{"\ufffd", `\ufffd`, `\\ufffd`})
}

func planned(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	_, err := s.Plan(ctx)
	refused(t, err, store.ErrNotFound)
	wrote(t, store.Added)(s.SetPlan(ctx, json.RawMessage("{ \"seed\": 18446744073709551615,\n \"name\": \"<a & b>\" }")))
	got := must[store.Revision[json.RawMessage]](t)(s.Plan(ctx))
	equal(t, string(got.Value), `{"name":"<a & b>","seed":18446744073709551615}`)
	unmoved(t, s, func() { wrote(t, store.Unchanged)(s.SetPlan(ctx, got.Value)) })
	wrote(t, store.Revised)(s.SetPlan(ctx, json.RawMessage(`{"seed":2}`)))
	equal(t, string(must[store.Revision[json.RawMessage]](t)(s.Plan(ctx)).Value), `{"seed":2}`)
	unmoved(t, s, func() {
		for _, bad := range []string{"", "[1]", "null", "{", `{"a":1}x`} {
			_, err := s.SetPlan(ctx, json.RawMessage(bad))
			refused(t, err, store.ErrInvalid)
		}
	})
	equal(t, holds(t, s).Entries, int64(3))
}

func asked(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	equal(t, len(must[[]store.Revision[drop.Question]](t)(s.Questions(ctx))), 0)
	winters := drop.Question{
		ID: "four winters", Text: "May they stay in service?", Of: drop.AskStrength, Quantile: 0.05, Where: map[string]string{"age": "four winters"},
		Side: drop.AtLeast, Bound: 15000, WrongYes: 0.05, WrongNo: 0.1,
	}
	knot := drop.Question{ID: "knot", Of: drop.AskStrengthRatio, Quantile: 0.5, Where: map[string]string{"knot": "overhand"}, Against: map[string]string{"knot": "sewn"}, Side: drop.AtLeast, Bound: 0.5, WrongYes: 0.05, WrongNo: 0.05}
	wrote(t, store.Added)(s.Ask(ctx, winters))
	wrote(t, store.Added)(s.Ask(ctx, knot))
	unmoved(t, s, func() { wrote(t, store.Unchanged)(s.Ask(ctx, winters)) })
	changed := winters
	changed.Bound = 12000
	wrote(t, store.Revised)(s.Ask(ctx, changed))
	unmoved(t, s, func() {
		bad := winters
		bad.Bound = 0
		_, err := s.Ask(ctx, bad)
		refused(t, err, store.ErrInvalid)
	})
	got := must[[]store.Revision[drop.Question]](t)(s.Questions(ctx))
	equal(t, len(got), 3)
	equal(t, []drop.Question{got[0].Value, got[1].Value, got[2].Value}, []drop.Question{winters, knot, changed})
	equal(t, []int64{got[0].Seq, got[1].Seq, got[2].Seq}, []int64{2, 3, 4})
	equal(t, holds(t, s).Entries, int64(4))

	// Which drops had been taken before a question, and by what: the record of one, the decision of another, the list's own word of a third.
	listed := Drop("3")
	listed.Entered = drop.Decision{Drop: "3", Outcome: drop.Held, Reason: "as entered"}
	for _, d := range []drop.Drop{Drop("1"), Drop("2"), listed, Drop("4")} {
		wrote(t, store.Added)(s.AddDrop(ctx, d))
	}
	wrote(t, store.Added)(s.AddTrace(ctx, "1", "1.csv", store.Bytes("t_s,F_N\n0,0\n")))
	wrote(t, store.Added)(s.Decide(ctx, drop.Decision{Drop: "2", Outcome: drop.Void, Reason: "release stuck"}))
	wrote(t, store.Added)(s.Decide(ctx, drop.Decision{Drop: "1", Outcome: drop.Held, Reason: "tail at rest"}))
	wrote(t, store.Added)(s.AddNote(ctx, store.Note{Drop: "4", Text: "not yet"}))
	equal(t, must[map[string]int64](t)(s.Taken(ctx)), map[string]int64{"1": 9, "2": 10, "3": 7})
}
