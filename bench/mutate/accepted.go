package main

import (
	"bufio"
	"fmt"
	"io"
	"strings"
)

// accepted are survivors that may stay, each with its reason. A line of the file has five fields with tabs between: file, function,
// original, mutated, reason. An original or a mutated text of * stands for every one; lines do not count, so that code may move.
type accepted struct {
	lines []acceptance
}

type acceptance struct {
	file, function, original, mutated, reason string
	used                                      bool
}

func readAccepted(name string, r io.Reader) (*accepted, error) {
	a := &accepted{}
	sc := bufio.NewScanner(r)
	for n := 1; sc.Scan(); n++ {
		line := sc.Text()
		if strings.TrimSpace(line) == "" || strings.HasPrefix(line, "#") {
			continue
		}
		f := strings.Split(line, "\t")
		if len(f) != 5 || strings.TrimSpace(f[4]) == "" {
			return nil, fmt.Errorf("%s:%d: %d fields; file, function, original, mutated and reason are needed, with tabs between", name, n, len(f))
		}
		a.lines = append(a.lines, acceptance{file: f[0], function: f[1], original: f[2], mutated: f[3], reason: f[4]})
	}
	return a, sc.Err()
}

// of says whether a survivor may stay.
func (a *accepted) of(m mutant) bool {
	for i := range a.lines {
		l := &a.lines[i]
		if l.file == m.file && l.function == m.function && (l.original == "*" || l.original == m.original) && (l.mutated == "*" || l.mutated == m.mutated) {
			l.used = true
			return true
		}
	}
	return false
}
