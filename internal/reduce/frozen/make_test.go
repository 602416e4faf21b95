package frozen

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/same"
)

var (
	makeThem  = flag.Bool("make", false, "write the frozen records of the latest generation; those that are there are left alone")
	overwrite = flag.String("overwrite", "", "with -make: the version whose frozen records may be written anew, as \"reduce/1\"; never one that was released")
)

// files are the four files of a record.
func (m made) files(t *testing.T, g reduce.Generation) map[string][]byte {
	t.Helper()
	samples := encode(m.whole)
	sum := sha256.Sum256(samples)
	h := header{About: m.about + " (simulated; all of it is invented)", Step: m.step, Gaps: m.gaps}
	h.Trace = drop.Trace{
		Name: m.name + ".csv", Format: "simulated/1", SHA256: hex.EncodeToString(sum[:]), Bytes: int64(len(samples)), Rate: quantity.Frequency(m.rate), Start: quantity.Duration(m.start),
		Channels: []drop.Channel{m.channel}, Findings: m.findings, Resampled: m.resampled,
	}
	indented := func(v any) []byte {
		b, err := json.MarshalIndent(v, "", " ")
		if err != nil {
			t.Fatal(err)
		}
		return append(b, '\n')
	}
	out := map[string][]byte{"trace.json": indented(h), "samples.bin": samples, "settings.json": indented(m.set)}
	var err error
	if h.Trace.Channels[0].Values, err = decode(samples, m.step, m.gaps); err != nil {
		t.Fatal(err)
	}
	r, err := g.Reduce(&h.Trace, m.set)
	if err != nil {
		t.Fatalf("%s: %v", m.name, err)
	}
	out["reduction.json"] = indented(r)
	return out
}

// freeze writes records below dir. A record that is there is refused unless overwrite names its version.
func freeze(dir, version, overwrite string, records map[string]map[string][]byte) error {
	var errs []error
	for name, files := range records {
		at := filepath.Join(dir, filepath.FromSlash(version), name)
		if _, err := os.Stat(at); err == nil && overwrite != version {
			errs = append(errs, fmt.Errorf("%s is frozen: what a released version gives never changes. Make a new generation; before its release, -overwrite %s writes it anew", filepath.ToSlash(filepath.Join(version, name)), version))
			continue
		}
		if err := os.MkdirAll(at, 0o755); err != nil {
			return err
		}
		for file, content := range files {
			if err := os.WriteFile(filepath.Join(at, file), content, 0o644); err != nil { //nolint:gosec // no secret
				return err
			}
		}
	}
	return errors.Join(errs...)
}

// TestMake writes the records with -make; without, it holds those that are there against their maker.
func TestMake(t *testing.T) {
	g := reduce.KnownGenerations().Latest()
	records := map[string]map[string][]byte{}
	for _, m := range makers() {
		if records[m.name] != nil {
			t.Fatalf("two makers are called %s", m.name)
		}
		records[m.name] = m.files(t, g)
	}
	if *makeThem {
		if err := freeze(".", g.Version, *overwrite, records); err != nil {
			t.Fatal(err)
		}
		t.Log("written; build again to embed them")
		return
	}
	for name, files := range records {
		for file, want := range files {
			got, err := fs.ReadFile(kept, g.Version+"/"+name+"/"+file)
			if err != nil {
				t.Fatal(err)
			}
			if len(got) > 60e3 {
				t.Errorf("%s/%s has %d bytes; keep it below 60 kB", name, file, len(got))
			}
			if file != "reduction.json" && same.Tolerance() == 0 && !bytes.Equal(got, want) {
				t.Errorf("%s/%s is not what its maker gives", name, file)
			}
		}
	}
	for _, version := range Versions() {
		rs, err := Records(version)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range rs {
			if version == g.Version && records[r.Name] == nil {
				t.Errorf("%s of %s has no maker", r.Name, version)
			}
		}
	}
}

func TestFrozenIsNotOverwritten(t *testing.T) {
	dir := t.TempDir()
	one := map[string]map[string][]byte{"a": {"x": []byte("1")}}
	if err := freeze(dir, "reduce/1", "", one); err != nil {
		t.Fatal(err)
	}
	two := map[string]map[string][]byte{"a": {"x": []byte("2")}, "b": {"x": []byte("3")}}
	if err := freeze(dir, "reduce/1", "", two); err == nil {
		t.Error("a frozen record was written anew")
	}
	if err := freeze(dir, "reduce/1", "reduce/2", two); err == nil {
		t.Error("leave to write reduce/2 anew was taken for reduce/1")
	}
	read := func(name string) string {
		b, _ := os.ReadFile(filepath.Join(dir, "reduce", "1", name, "x"))
		return string(b)
	}
	if read("a") != "1" || read("b") != "3" {
		t.Errorf("%s %s", read("a"), read("b"))
	}
	if err := freeze(dir, "reduce/1", "reduce/1", two); err != nil || read("a") != "2" {
		t.Errorf("%v %s", err, read("a"))
	}
}
