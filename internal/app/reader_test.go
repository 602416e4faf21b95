package app_test

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/store/sqlstore"
	"github.com/hardcatch/hardcatch/internal/traceio"
	"github.com/hardcatch/hardcatch/internal/traceio/csvtrace"
	"github.com/hardcatch/hardcatch/internal/traceio/wavtrace"
)

func access(formats ...traceio.Format) *look.Access {
	return &look.Access{Files: sqlstore.Files{}, Formats: traceio.NewRegistry(formats...), Now: time.Now}
}

// all is what the program has.
func all() *look.Access { return access(csvtrace.Format{}, csvtrace.First(), wavtrace.Format{}) }

// other reads delimited text as another reader would: every force comes out twice as large.
type other struct {
	csvtrace.Format
	name string
}

func (o other) Name() string { return o.name }

func (o other) Sniff(head []byte, name string) int { return 2 * o.Format.Sniff(head, name) }

func (o other) Read(ctx context.Context, name string, r io.Reader, opt traceio.Options) (*drop.Trace, error) {
	t, err := o.Format.Read(ctx, name, r, opt)
	if err == nil {
		for _, c := range t.Channels {
			for i := range c.Values {
				c.Values[i] *= 2
			}
		}
	}
	return t, err
}

// unnamed is a copy of the campaign from before readers were named.
func unnamed(t *testing.T) string {
	t.Helper()
	b, err := os.ReadFile("testdata/unnamed/unnamed.hardcatch")
	path := filepath.Join(t.TempDir(), "unnamed.hardcatch")
	if err == nil {
		err = os.WriteFile(path, b, 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
	return path
}

// made is a new campaign of the same records, entered with the readers of a.
func made(t *testing.T, a *look.Access) string {
	t.Helper()
	ctx, from, path := t.Context(), unnamed(t), filepath.Join(t.TempDir(), "new.hardcatch")
	files := fstest.MapFS{}
	for id, name := range map[string]string{"d01": "text.csv", "d02": "sound.wav"} {
		_, b, err := all().Record(ctx, from, id)
		if err != nil {
			t.Fatal(err)
		}
		files[name] = &fstest.MapFile{Data: b}
	}
	if _, err := app.Begin(ctx, a, path, "new", "Does it say by what it was read?", ""); err != nil {
		t.Fatal(err)
	}
	if _, err := app.SetRig(ctx, a, path, "rig.yaml", strings.NewReader("name: invented\nmass: 100 kg\n")); err != nil {
		t.Fatal(err)
	}
	list := "drop,specimen,fall,record\nd01,s1,0.5 m,text.csv\nd02,s2,0.5 m,sound.wav\n"
	r, err := app.Enter(ctx, a, path, "list.csv", strings.NewReader(list), files, app.EnterOptions{Filter: reduce.DefaultFilter, Reader: traceio.Reading{FullScale: "50 kN"}})
	if err != nil || r.Reduced != 2 {
		t.Fatalf("%+v %v", r, err)
	}
	return path
}

// stated is the reader that each drop's reduction states, and its result.
func stated(t *testing.T, path string) (by map[string]string, result map[string][]byte) {
	t.Helper()
	s, err := sqlstore.Files{}.OpenReadOnly(t.Context(), path)
	by, result = map[string]string{}, map[string][]byte{}
	err = look.Within(s, err, func(s store.Store) error {
		rs, err := s.Reductions(t.Context())
		for _, r := range rs {
			var k struct{ Reader struct{ By string } }
			if err := json.Unmarshal(r.Value.Settings, &k); err != nil {
				return err
			}
			by[r.Value.Drop], result[r.Value.Drop] = k.Reader.By, r.Value.Result
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return by, result
}

// A reduction states the reader of its record, and every later reading is by that reader, also when another that knows the
// record better has come.
func TestTheReaderIsKept(t *testing.T) {
	ctx, path := t.Context(), made(t, all())
	by, before := stated(t, path)
	if len(by) != 2 || by["d01"] != "csv/2" || by["d02"] != "wav/1" {
		t.Fatal(by)
	}
	a := access(other{name: "csv/3"}, csvtrace.Format{}, csvtrace.First(), wavtrace.Format{})
	v, err := app.Prove(ctx, a, path, true, nil)
	if err != nil || !v.Holds || v.Repeated != 2 || len(v.Unstated) != 0 || v.Readers() != nil {
		t.Fatalf("%+v %v", v, err)
	}
	if r, err := app.Redo(ctx, a, path, nil); err != nil || r.Unchanged != 2 || r.Reduced != 0 || len(r.Problems) != 0 {
		t.Errorf("redo: %+v %v", r, err)
	}
	s, err := a.Open(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	for id := range by {
		l, err := s.Look(ctx, id)
		if err != nil {
			t.Fatal(err)
		}
		if again, err := json.Marshal(l.Reduction); err != nil || !bytes.Equal(again, before[id]) {
			t.Errorf("drop %s is looked at with another reduction (%v)", id, err)
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	peak := quantity.Duration(0.21)
	if _, err := app.MoveEvents(ctx, a, path, "d01", reduce.EventsByHand{Peak: &peak}, "to see it", "t"); err != nil {
		t.Fatal(err)
	}
	if _, err := app.WithdrawEvents(ctx, a, path, "d01", "t"); err != nil {
		t.Fatal(err)
	}
	if by, after := stated(t, path); by["d01"] != "csv/2" || !bytes.Equal(after["d01"], before["d01"]) {
		t.Errorf("after an event was moved and given back, d01 is read by %s", by["d01"])
	}
	if by, _ := stated(t, made(t, a)); by["d01"] != "csv/3" {
		t.Errorf("a new record is read by %s, not by the newest reader", by["d01"])
	}
}

// A campaign from before readers were named, by a generation of the reduction that no program has any more, says both; once its
// records are reduced again, by the readers of that time, it states them and is repeated to the bit.
func TestReadersNotStated(t *testing.T) {
	ctx, path := t.Context(), unnamed(t)
	a := access(other{name: "csv/3"}, csvtrace.Format{}, csvtrace.First(), wavtrace.Format{})
	for _, repeat := range []bool{false, true} {
		v, err := app.Prove(ctx, a, path, repeat, nil)
		if err != nil || !v.Holds || v.Repeated != 0 || repeat != (len(v.Other) == 2 && strings.Contains(v.Other[0], "made by reduce/1, this program has reduce/2; repeat it with the program that made it, or reduce it again with redo")) || !slices.Equal(v.Unstated, []string{"d01", "d02"}) || !slices.Equal(v.UnstatedBy, []string{"csv/1", "wav/1"}) {
			t.Fatalf("%+v %v", v, err)
		}
		want := "reader not stated for 2 of 2 records; they are read with csv/1 or wav/1, as all records were before readers were named; hardcatch redo states it"
		if got := strings.Join(v.Readers(), "\n"); got != want {
			t.Error(got)
		}
	}
	if r, err := app.Redo(ctx, a, path, nil); err != nil || r.Reduced != 2 || len(r.Problems) != 0 {
		t.Fatalf("%+v %v", r, err)
	}
	by, _ := stated(t, path)
	for id, want := range map[string]string{"d01": "csv/1", "d02": "wav/1"} {
		if by[id] != want {
			t.Errorf("drop %s: read by %s", id, by[id])
		}
	}
	if v, err := app.Prove(ctx, a, path, true, nil); err != nil || len(v.Unstated) != 0 || v.Repeated != 2 {
		t.Errorf("%+v %v", v, err)
	}
	// A program without them reads with nothing else.
	_, err := app.Prove(ctx, access(other{name: "csv/3"}, wavtrace.Format{}), path, true, nil)
	if err == nil || !strings.Contains(err.Error(), "drop d01: its record was read by csv/1, which this program does not have") {
		t.Error(err)
	}
}

// A record whose reader the program does not have is not read by another.
func TestAReaderThatIsNotThere(t *testing.T) {
	ctx, path := t.Context(), made(t, access(other{name: "xyz/3"}, wavtrace.Format{}))
	by, before := stated(t, path)
	if by["d01"] != "xyz/3" {
		t.Fatal(by)
	}
	a := all()
	refused := func(what, text, want string) {
		t.Helper()
		if !strings.Contains(text, want) {
			t.Errorf("%s: %q", what, text)
		}
	}
	const fact = "was read by xyz/3, which this program does not have; use the version of the program that made it"
	v, err := app.Prove(ctx, a, path, true, nil)
	if err == nil || v.Repeated != 0 {
		t.Fatalf("%+v %v", v, err)
	}
	refused("prove --repeat", err.Error(), "drop d01: its record "+fact)
	if v, err = app.Prove(ctx, a, path, false, nil); err != nil || !v.Holds || len(v.Unreadable) != 1 {
		t.Fatalf("%+v %v", v, err)
	}
	refused("prove", strings.Join(v.Readers(), "\n"), "drop d01: its record "+fact)
	r, err := app.Redo(ctx, a, path, nil)
	if err != nil || r.Unchanged != 1 || r.Reduced != 0 || len(r.Problems) != 1 {
		t.Fatalf("%+v %v", r, err)
	}
	refused("redo", r.Problems[0], "drop d01: text.csv: the record "+fact)
	s, err := a.Open(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Look(ctx, "d01"); err == nil {
		t.Error("it was looked at")
	} else {
		refused("look", err.Error(), "drop d01: text.csv: the record "+fact)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	peak := quantity.Duration(0.21)
	if _, err := app.MoveEvents(ctx, a, path, "d01", reduce.EventsByHand{Peak: &peak}, "to see it", "t"); err == nil {
		t.Error("its peak was moved")
	} else {
		refused("event", err.Error(), "drop d01: text.csv: the record "+fact)
	}
	if by, after := stated(t, path); by["d01"] != "xyz/3" || !bytes.Equal(before["d01"], after["d01"]) {
		t.Error("its reduction is another")
	}
}

// The reader of a reduction does not count for a record that came after it.
func TestARecordThatWasReplaced(t *testing.T) {
	ctx, path, a := t.Context(), made(t, all()), all()
	_, sound, err := a.Record(ctx, path, "d02")
	if err != nil {
		t.Fatal(err)
	}
	list, files := "drop,specimen,fall,record\nd01,s1,0.5 m,again.wav\n", fstest.MapFS{"again.wav": &fstest.MapFile{Data: sound}}
	r, err := app.Enter(ctx, a, path, "list.csv", strings.NewReader(list), files, app.EnterOptions{Filter: reduce.DefaultFilter, Reader: traceio.Reading{Rate: 9000}})
	if err != nil || r.Records != 1 || r.Reduced != 0 || len(r.Problems) != 1 {
		t.Fatalf("%+v %v", r, err)
	}
	if by, _ := stated(t, path); by["d01"] != "csv/2" {
		t.Fatal(by)
	}
	if r, err := app.Redo(ctx, a, path, nil); err != nil || r.Reduced != 1 || len(r.Problems) != 0 {
		t.Fatalf("%+v %v", r, err)
	}
	if by, _ := stated(t, path); by["d01"] != "wav/1" {
		t.Error(by)
	}
}
