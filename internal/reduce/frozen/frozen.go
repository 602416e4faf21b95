// Package frozen holds simulated records with what each generation of the reduction made of them, to the last bit, so that
// every campaign can be repeated for ever. All records are invented.
package frozen

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io/fs"
	"math"
	"path"
	"sort"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/same"
)

//go:embed reduce
var kept embed.FS

// Record is one record with its settings and the reduction that was kept.
type Record struct {
	Name     string
	About    string // what happens in it
	Version  string // of the reduction, also its folder
	Trace    *drop.Trace
	Settings reduce.Settings
	Kept     []byte // the reduction as JSON
}

// header is trace.json: a trace whose samples are whole steps of the logger, in another file.
type header struct {
	About string     `json:"about"`
	Trace drop.Trace `json:"trace"`
	Step  float64    `json:"step"`           // a sample's value is its whole number times this
	Gaps  []int      `json:"gaps,omitempty"` // samples that are not numbers
}

// Records are those of one version of the reduction, "reduce/1", in the order of their names.
func Records(version string) ([]Record, error) {
	dirs, err := fs.ReadDir(kept, version)
	if err != nil {
		return nil, fmt.Errorf("there are no frozen records of %s: %w", version, err)
	}
	var out []Record
	for _, d := range dirs {
		r, err := open(kept, version, d.Name())
		if err != nil {
			return nil, err
		}
		out = append(out, r)
	}
	return out, nil
}

// Versions are the generations that have frozen records.
func Versions() []string {
	found, err := fs.Glob(kept, "reduce/*")
	if err != nil {
		panic(err) // the pattern is sound
	}
	sort.Strings(found)
	return found
}

func open(from fs.FS, version, name string) (Record, error) {
	r := Record{Name: name, Version: version}
	read := func(file string) ([]byte, error) {
		b, err := fs.ReadFile(from, path.Join(version, name, file))
		if err != nil {
			return nil, fmt.Errorf("frozen record %s of %s: %w", name, version, err)
		}
		return b, nil
	}
	head, err := read("trace.json")
	if err != nil {
		return r, err
	}
	samples, err := read("samples.bin")
	if err != nil {
		return r, err
	}
	settings, err := read("settings.json")
	if err != nil {
		return r, err
	}
	if r.Kept, err = read("reduction.json"); err != nil {
		return r, err
	}
	var h header
	if err := json.Unmarshal(head, &h); err != nil {
		return r, fmt.Errorf("frozen record %s of %s: trace.json: %w", name, version, err)
	}
	if err := json.Unmarshal(settings, &r.Settings); err != nil {
		return r, fmt.Errorf("frozen record %s of %s: settings.json: %w", name, version, err)
	}
	if sum := sha256.Sum256(samples); hex.EncodeToString(sum[:]) != h.Trace.SHA256 {
		return r, fmt.Errorf("frozen record %s of %s: samples.bin is not what trace.json was written for", name, version)
	}
	if h.Trace.Channels[0].Values, err = decode(samples, h.Step, h.Gaps); err != nil {
		return r, fmt.Errorf("frozen record %s of %s: %w", name, version, err)
	}
	r.About, r.Trace = h.About, &h.Trace
	return r, nil
}

// encode writes whole numbers as the differences of neighbours, in variable length with the sign in the lowest bit.
func encode(whole []int64) []byte {
	var out []byte
	last := int64(0)
	for _, v := range whole {
		out = binary.AppendVarint(out, v-last)
		last = v
	}
	return out
}

func decode(b []byte, step float64, gaps []int) ([]float64, error) {
	in := bytes.NewReader(b)
	var out []float64
	for v := int64(0); in.Len() > 0; {
		d, err := binary.ReadVarint(in)
		if err != nil {
			return nil, fmt.Errorf("samples.bin, sample %d: %w", len(out), err)
		}
		v += d
		out = append(out, float64(v)*step)
	}
	for _, g := range gaps {
		if g < 0 || g >= len(out) {
			return nil, fmt.Errorf("trace.json, gap %d: there are %d samples", g, len(out))
		}
		out[g] = math.NaN()
	}
	return out, nil
}

// Check reduces the record again by the generation given and compares every number and text with what was kept.
func (r Record) Check(g reduce.Generation) (same.Report, error) {
	again, err := g.Reduce(r.Trace, r.Settings)
	if err != nil {
		return same.Report{}, fmt.Errorf("frozen record %s of %s: %w", r.Name, r.Version, err)
	}
	found, err := json.Marshal(again)
	if err != nil {
		return same.Report{}, fmt.Errorf("frozen record %s of %s: %w", r.Name, r.Version, err)
	}
	return same.JSON(r.Kept, found, same.Tolerance())
}
