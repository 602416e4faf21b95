package traceio_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/traceio"
)

// fake is a format that knows names ending in its own, and reads only the first bytes.
type fake struct {
	name  string
	score int
	err   error
}

func (f fake) Name() string { return f.name }

func (f fake) Sniff(_ []byte, name string) int {
	if strings.HasSuffix(name, ".rec") {
		return f.score
	}
	return 0
}

func (f fake) Read(_ context.Context, name string, r io.Reader, _ traceio.Options) (*drop.Trace, error) {
	if f.err != nil {
		return nil, f.err
	}
	head := make([]byte, 3)
	if _, err := io.ReadFull(r, head); err != nil {
		return nil, err
	}
	return &drop.Trace{Name: name, Format: f.name}, nil
}

func TestTheBestFormatReads(t *testing.T) {
	g := traceio.NewRegistry(fake{name: "a/1", score: 10}, fake{name: "b/1", score: 30}, fake{name: "c/1", score: 30})
	tr, err := g.Open(context.Background(), "x.rec", strings.NewReader("123456"), traceio.Options{})
	if err != nil || tr.Format != "b/1" {
		t.Errorf("%v %v", tr, err)
	}
	if got := strings.Join(g.Names(), " "); got != "a/1 b/1 c/1" {
		t.Error(got)
	}
	want := "x.wav: no reader knows this kind of file (readers: a/1, b/1, c/1); export the record as text with one line per sample"
	if _, err := g.Open(context.Background(), "x.wav", strings.NewReader("123456"), traceio.Options{}); err == nil || err.Error() != want {
		t.Error(err)
	}
}

// The whole file is hashed and kept, also what the format does not read.
func TestTheOriginalIsKept(t *testing.T) {
	data := bytes.Repeat([]byte("0123456789"), 50000)
	var kept bytes.Buffer
	tr, err := traceio.NewRegistry(fake{name: "a/1", score: 10}).Open(context.Background(), "x.rec", bytes.NewReader(data), traceio.Options{Original: &kept})
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256(data)
	if tr.SHA256 != hex.EncodeToString(sum[:]) || tr.Bytes != int64(len(data)) || !bytes.Equal(kept.Bytes(), data) {
		t.Errorf("%s, %d bytes, %d kept", tr.SHA256, tr.Bytes, kept.Len())
	}
	// NIST FIPS 180-2, appendix B.1: SHA-256 of "abc".
	tr, err = traceio.NewRegistry(fake{name: "a/1", score: 10}).Open(context.Background(), "x.rec", strings.NewReader("abc"), traceio.Options{})
	if err != nil || tr.SHA256 != "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad" {
		t.Errorf("%v %v", tr, err)
	}
}

type full struct{}

var errFull = errors.New("disk full")

func (full) Write([]byte) (int, error) { return 0, errFull }

// A hash that the caller has checked is taken over, and the bytes are counted all the same.
func TestACheckedHashIsNotMadeAgain(t *testing.T) {
	tr, err := traceio.NewRegistry(fake{name: "a/1", score: 50}).Open(context.Background(), "x.rec", strings.NewReader("12345"), traceio.Options{Checked: "cafe"})
	if err != nil || tr.SHA256 != "cafe" || tr.Bytes != 5 {
		t.Errorf("%+v %v", tr, err)
	}
}

func TestErrorsComeThrough(t *testing.T) {
	broken := errors.New("broken")
	if _, err := traceio.NewRegistry(fake{name: "a/1", score: 10, err: broken}).Open(context.Background(), "x.rec", strings.NewReader("abc"), traceio.Options{}); !errors.Is(err, broken) {
		t.Error(err)
	}
	if _, err := traceio.NewRegistry(fake{name: "a/1", score: 10}).Open(context.Background(), "x.rec", strings.NewReader("abc"), traceio.Options{Original: full{}}); !errors.Is(err, errFull) {
		t.Error(err)
	}
}

func TestTwoFormatsOfOneName(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("the second was taken")
		}
	}()
	traceio.NewRegistry(fake{name: "a/1"}, fake{name: "a/1"})
}

func TestOptions(t *testing.T) {
	o := traceio.Options{Reading: traceio.Reading{Rate: quantity.Frequency(1000), Units: map[string]string{"Force": "kN", "3": "V"}}}
	for _, c := range []struct{ name, number, want string }{{"Force", "2", "kN"}, {"FORCE", "2", "kN"}, {"U", "3", "V"}, {"U", "4", ""}} {
		if got, given := o.UnitOf(c.name, c.number); got != c.want || given != (c.want != "") {
			t.Errorf("%v: %q %v", c, got, given)
		}
	}
	if o.Limit() != traceio.DefaultMaxSamples || (traceio.Options{MaxSamples: 7}).Limit() != 7 {
		t.Error("limits")
	}
}

// A reader that is asked for reads, whatever others make of the file; one that is not there is an error.
func TestANamedReader(t *testing.T) {
	g := traceio.NewRegistry(fake{name: "a/1", score: 10}, fake{name: "b/1", score: 30}, fake{name: "c/1", score: 0})
	for _, by := range []string{"a/1", "c/1"} {
		tr, err := g.Open(context.Background(), "x.rec", strings.NewReader("123456"), traceio.Options{Reading: traceio.Reading{By: by}})
		if err != nil || tr.Format != by {
			t.Errorf("%s: %+v %v", by, tr, err)
		}
	}
	want := "x.rec: the record was read by a/2, which this program does not have; use the version of the program that made it"
	if _, err := g.Open(context.Background(), "x.rec", strings.NewReader("123456"), traceio.Options{Reading: traceio.Reading{By: "a/2"}}); err == nil || err.Error() != want {
		t.Error(err)
	}
	some := g.Among("c/1", "a/1", "z/1")
	if got := strings.Join(some.Names(), " "); got != "a/1 c/1" {
		t.Error(got)
	}
	if g.Best(nil, "x.rec") != "b/1" || some.Best(nil, "x.rec") != "a/1" || some.Best(nil, "x.wav") != "" {
		t.Errorf("%q %q %q", g.Best(nil, "x.rec"), some.Best(nil, "x.rec"), some.Best(nil, "x.wav"))
	}
}
