package main

import (
	"bytes"
	_ "embed"
	"encoding/json"
	"fmt"
	"go/types"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"sort"
	"strconv"
	"strings"
)

//go:embed switches.go.txt
var switches string

// built is a package with all its mutants in it, each behind a switch, and the test binaries that can run them.
type built struct {
	mutants  []mutant
	unfit    int // places that did not compile
	binaries []binary
}

type binary struct {
	path, dir string
	rapid     bool // tests draw their cases: fix the seed
}

// build finds the mutants that are wanted, writes them into copies of the files in work, and compiles the tests of the package and
// of the packages in also over them. A place that does not compile is left out and the rest built again.
func build(s *source, also []listed, work string, wanted func(mutant) bool) (built, error) {
	unfit := map[string]bool{} // file:line of text that did not compile
	var b built
	for range 12 {
		ms, overlay, err := write(s, work, wanted, unfit)
		if err != nil || len(ms) == 0 {
			return built{unfit: len(unfit)}, err
		}
		b = built{mutants: ms, unfit: len(unfit)}
		var out []byte
		ok := true
		for i, p := range append([]listed{s.listed}, also...) {
			if len(p.TestGoFiles)+len(p.XTestGoFiles) == 0 {
				continue
			}
			bin := binary{path: filepath.Join(work, fmt.Sprintf("test%d", i)), dir: p.Dir, rapid: drawsCases(p)}
			cmd := exec.Command("go", "test", "-c", "-vet=off", "-ldflags=-s -w", "-overlay", overlay, "-o", bin.path, p.ImportPath)
			cmd.Dir = s.root
			if out, err = cmd.CombinedOutput(); err != nil {
				ok = false
				break
			}
			b.binaries = append(b.binaries, bin)
		}
		if ok {
			return b, nil
		}
		found := false
		for _, m := range errorLine.FindAllStringSubmatch(string(out), -1) {
			key := filepath.Base(m[1]) + ":" + m[2]
			found = found || !unfit[key]
			unfit[key] = true
		}
		if !found {
			return built{}, fmt.Errorf("%s does not build with its mutants:\n%s", s.ImportPath, out)
		}
	}
	return built{}, fmt.Errorf("%s does not build with its mutants, and leaving out places did not help", s.ImportPath)
}

var errorLine = regexp.MustCompile(`(?m)^(\S+\.go):(\d+):\d+: `)

func drawsCases(p listed) bool {
	for _, name := range append(p.TestGoFiles, p.XTestGoFiles...) {
		text, err := os.ReadFile(filepath.Join(p.Dir, name))
		if err == nil && bytes.Contains(text, []byte(`"pgregory.net/rapid"`)) {
			return true
		}
	}
	return false
}

// collect finds the mutants of each file.
func collect(s *source, wanted func(mutant) bool, unfit map[string]bool) []*finder {
	next := 0
	consts := map[types.Object]int{}
	var all []*finder
	for i := range s.paths {
		f := &finder{s: s, file: i, next: &next, consts: consts}
		f.wanted = func(m mutant) bool {
			return wanted(m) && !unfit[filepath.Base(m.file)+":"+strconv.Itoa(m.line)]
		}
		f.run()
		all = append(all, f)
	}
	return all
}

// write finds the mutants and writes the changed files and the overlay that puts them in place of the real ones.
func write(s *source, work string, wanted func(mutant) bool, unfit map[string]bool) ([]mutant, string, error) {
	replace := map[string]string{}
	var all []mutant
	files := collect(s, wanted, unfit)
	for i, f := range files {
		if len(f.edits) == 0 {
			continue
		}
		text := apply(s.text[i], f.edits)
		if f.mathUsed != "" {
			text = append(text, []byte("\nvar _ = "+f.mathUsed+".Pi\n")...)
		}
		to := filepath.Join(work, filepath.Base(s.paths[i]))
		if err := os.WriteFile(to, text, 0o600); err != nil {
			return nil, "", err
		}
		replace[s.paths[i]] = to
		all = append(all, f.mutants...)
	}
	to := filepath.Join(work, "switches.go")
	if err := os.WriteFile(to, []byte(strings.Replace(switches, "PACKAGE", s.Name, 1)), 0o600); err != nil {
		return nil, "", err
	}
	replace[filepath.Join(s.Dir, "zz_mutant_switches.go")] = to
	j, err := json.Marshal(map[string]any{"Replace": replace})
	if err != nil {
		return nil, "", err
	}
	overlay := filepath.Join(work, "overlay.json")
	return all, overlay, os.WriteFile(overlay, j, 0o600)
}

// apply makes the edits. At one offset, what closes stands before what opens; of those that close, the inner first; of those that
// open, the outer first.
func apply(text []byte, edits []edit) []byte {
	sort.SliceStable(edits, func(i, j int) bool {
		a, b := edits[i], edits[j]
		switch {
		case a.offset != b.offset:
			return a.offset < b.offset
		case a.closes != b.closes:
			return a.closes
		case a.closes && a.start != b.start:
			return a.start > b.start
		case a.closes:
			return a.order > b.order
		case a.end != b.end:
			return a.end > b.end
		case a.remove != b.remove:
			return a.remove < b.remove
		}
		return a.order < b.order
	})
	var out []byte
	at := 0
	for _, e := range edits {
		out = append(out, text[at:e.offset]...)
		out = append(out, e.text...)
		at = e.offset + e.remove
	}
	return append(out, text[at:]...)
}
