// Package archtest holds the rule of who may look into whom, as a test.
package archtest

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"strings"
	"testing"
)

const module = "github.com/hardcatch/hardcatch/"

// layers: a package imports only lower layers. Longer prefixes win.
var layers = map[string]int{
	"internal/quantity": 0, "internal/num": 0,
	"internal/drop": 1, "internal/message": 1, "internal/same": 1, "internal/waittest": 0,
	"internal/reduce": 2, "internal/arrest": 2, "internal/identify": 2, "internal/compare": 2, "internal/question": 2, "internal/doctor": 2, "internal/plan": 2, "internal/limits": 2, "internal/figure": 2,
	"internal/traceio": 3, "internal/acquire": 3, "internal/store": 3, "internal/jobs": 3, "internal/build": 3,
	"internal/look": 4, "internal/app": 4, "internal/day": 4, "internal/foresee": 4,
	"internal/view":   5,
	"internal/render": 6,
	"internal/web":    7,
	"internal/cli":    8, "internal/archtest": 8, "internal/malformed": 8,
	"cmd": 9, "bench": 9,
}

// inside lists what a package may import in its own layer, besides its own folder.
var inside = map[string][]string{
	"internal/identify": {"internal/arrest"},
	"internal/plan":     {"internal/arrest"},
	"internal/doctor":   {"internal/reduce"},                     // what the records gave
	"internal/question": {"internal/compare", "internal/limits"}, // the drops that count, what they show, and the bounds of the next one
	"internal/acquire":  {"internal/traceio"},                    // its descriptions are read with the same YAML reader
	"internal/app":      {"internal/look"},                       // what is entered is entered into a campaign that can be read
	"internal/day":      {"internal/look", "internal/app"},
	"internal/foresee":  {"internal/look"}, // a campaign's drops on a map of falls
}

// forbidden standard packages, with the reason.
var forbidden = []struct {
	below  int // rooms in layers up to this
	prefix string
	names  []string
	why    string
}{
	{0, "internal/num", []string{"os", "io", "net", "log", "time", "database/sql", "math/rand", "syscall"}, "numbers are pure: clocks, files and random sources are arguments"},
	{2, "", []string{"os", "net", "log", "database/sql", "syscall"}, "the domain does no input and output"},
}

type pkg struct {
	ImportPath string
	Imports    []string
}

func list(t *testing.T) []pkg {
	t.Helper()
	cmd := exec.Command("go", "list", "-json=ImportPath,Imports", "github.com/hardcatch/hardcatch/...")
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	var all []pkg
	d := json.NewDecoder(strings.NewReader(string(out)))
	for {
		var p pkg
		if err := d.Decode(&p); errors.Is(err, io.EOF) {
			return all
		} else if err != nil {
			t.Fatal(err)
		}
		all = append(all, p)
	}
}

// room is the longest prefix of the path that has a layer.
func room(path string) (name string, layer int, err error) {
	path = strings.TrimPrefix(path, module)
	for p := path; p != ""; {
		if l, ok := layers[p]; ok {
			return p, l, nil
		}
		cut := strings.LastIndexByte(p, '/')
		if cut < 0 {
			break
		}
		p = p[:cut]
	}
	return "", 0, fmt.Errorf("%s stands in no room; give it a layer in this test", path)
}

func violations(all []pkg) []string {
	var bad []string
	for _, p := range all {
		from, layer, err := room(p.ImportPath)
		if err != nil {
			bad = append(bad, err.Error())
			continue
		}
		for _, f := range forbidden {
			for _, name := range f.names {
				for _, i := range p.Imports {
					if (i == name || strings.HasPrefix(i, name+"/")) && layer <= f.below && strings.HasPrefix(from, f.prefix) && (f.prefix != "" || layer > 0) {
						bad = append(bad, fmt.Sprintf("%s imports %s: %s", p.ImportPath, i, f.why))
					}
				}
			}
		}
		for _, i := range p.Imports {
			if !strings.HasPrefix(i, module) {
				continue
			}
			to, target, err := room(i)
			if err != nil {
				bad = append(bad, err.Error())
				continue
			}
			bad = append(bad, edge(p.ImportPath, from, layer, i, to, target)...)
		}
	}
	return bad
}

// driver tells the packages that talk to devices.
func driver(path string) bool {
	for _, d := range []string{"drivers", "folder", "linestream", "mqttbroker", "mqttline", "outlet", "pty", "serialport", "soundfile"} {
		if path == module+"internal/acquire/"+d {
			return true
		}
	}
	return false
}

func edge(path, from string, layer int, imported, to string, target int) []string {
	switch {
	case target > layer:
		return []string{fmt.Sprintf("%s imports %s, which stands higher", path, imported)}
	case target == layer && to != from:
		for _, ok := range inside[from] {
			if to == ok {
				return nil
			}
		}
		if layer == 0 && strings.HasPrefix(imported, module+"internal/num") && strings.HasPrefix(path, module+"internal/num") {
			return nil
		}
		return []string{fmt.Sprintf("%s imports %s, a neighbour in its own layer", path, imported)}
	case layer >= 4 && layer <= 7 && driver(imported):
		return []string{fmt.Sprintf("%s imports the driver %s; it is given by main", path, imported)}
	case layer >= 4 && layer <= 7 && (strings.HasPrefix(imported, module+"internal/store/") || strings.HasPrefix(imported, module+"internal/traceio/csvtrace") || strings.HasPrefix(imported, module+"internal/traceio/wavtrace")):
		return []string{fmt.Sprintf("%s imports the driver %s; it is given by main", path, imported)}
	}
	return nil
}

func TestArrowsPointDown(t *testing.T) {
	all := list(t)
	if len(all) < 15 {
		t.Fatalf("only %d packages were listed", len(all))
	}
	for _, v := range violations(all) {
		t.Error(v)
	}
}

// The rule itself must be able to fail.
func TestRuleNoticesWrongArrows(t *testing.T) {
	for _, p := range []pkg{
		{module + "internal/num/dsp", []string{"os"}},
		{module + "internal/num/dsp", []string{"math/rand/v2"}},
		{module + "internal/reduce", []string{"database/sql"}},
		{module + "internal/drop", []string{module + "internal/reduce"}},
		{module + "internal/compare", []string{module + "internal/reduce"}},
		{module + "internal/app", []string{module + "internal/store/sqlstore"}},
		{module + "internal/app", []string{module + "internal/acquire/serialport"}},
		{module + "internal/view", []string{module + "internal/render"}},
		{module + "internal/somewhere", nil},
	} {
		if len(violations([]pkg{p})) != 1 {
			t.Errorf("%v gives %v", p, violations([]pkg{p}))
		}
	}
	for _, p := range []pkg{
		{module + "internal/plan", []string{module + "internal/arrest", module + "internal/drop"}},
		{module + "internal/num/lsq", []string{module + "internal/num/uncert", "math"}},
		{module + "cmd/hardcatch", []string{module + "internal/store/sqlstore", "os"}},
	} {
		if v := violations([]pkg{p}); len(v) != 0 {
			t.Errorf("%v gives %v", p, v)
		}
	}
}
