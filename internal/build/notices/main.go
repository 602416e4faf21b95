// Command notices writes THIRD-PARTY-NOTICES: every part of the released programs that others wrote, with version, licence,
// licence text, and where its source is to be had. It asks the go command what the programs are linked from, on every
// system that is released, so that what only tests need is left out.
//
//	go run ./internal/build/notices
package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"sort"
	"strings"
)

// File is where the notices stand, seen from the top of the checkout.
const File = "internal/build/THIRD-PARTY-NOTICES"

// program is what is released, and systems are on what.
const program = "./cmd/hardcatch"

var systems = []string{"linux/amd64", "linux/arm64", "windows/amd64", "windows/arm64", "darwin/amd64", "darwin/arm64"}

func main() {
	top, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}").Output()
	if err == nil {
		var text []byte
		if text, err = Notices(strings.TrimSpace(string(top))); err == nil {
			err = os.WriteFile(filepath.Join(strings.TrimSpace(string(top)), File), text, 0o644)
		}
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "notices:", err)
		os.Exit(1)
	}
}

// part is something that others wrote.
type part struct {
	name, version, source string
	files                 map[string]string // licence texts by file name
}

// listed is what go list says of a package.
type listed struct {
	Dir, ImportPath string
	Standard        bool
	EmbedFiles      []string
	Module          *struct {
		Path, Version, Dir string
		Main               bool
	}
}

// Notices is the text for the module whose top is the folder given.
func Notices(top string) ([]byte, error) {
	parts := map[string]*part{}
	for _, s := range systems {
		err := list(top, s, func(p listed) error {
			switch {
			case p.Standard:
				return goItself(parts)
			case p.Module == nil:
				return fmt.Errorf("%s belongs to no module", p.ImportPath)
			case p.Module.Main:
				return assets(parts, p)
			}
			m := parts[p.Module.Path]
			if m == nil {
				m = &part{name: p.Module.Path, version: p.Module.Version, files: map[string]string{}}
				m.source = fmt.Sprintf("go mod download %s@%s", m.name, m.version)
				parts[p.Module.Path] = m
			}
			// A folder below the top of a module may hold code under a licence of its own.
			for dir := p.Dir; ; dir = filepath.Dir(dir) {
				if err := m.collect(p.Module.Dir, dir); err != nil {
					return err
				}
				if dir == p.Module.Dir || len(dir) <= len(p.Module.Dir) {
					return nil
				}
			}
		})
		if err != nil {
			return nil, err
		}
	}
	return write(parts)
}

// list calls each for every package that is linked into the program on a system.
func list(top, system string, each func(listed) error) error {
	goos, goarch, _ := strings.Cut(system, "/")
	c := exec.Command("go", "list", "-deps", "-json=Dir,ImportPath,Standard,EmbedFiles,Module", program)
	c.Dir, c.Stderr = top, os.Stderr
	c.Env = append(os.Environ(), "CGO_ENABLED=0", "GOOS="+goos, "GOARCH="+goarch, "GOWORK=off")
	out, err := c.Output()
	if err != nil {
		return fmt.Errorf("go list on %s: %w", system, err)
	}
	d := json.NewDecoder(bytes.NewReader(out))
	for {
		var p listed
		if err := d.Decode(&p); errors.Is(err, io.EOF) {
			return nil
		} else if err != nil {
			return fmt.Errorf("go list on %s: %w", system, err)
		}
		if err := each(p); err != nil {
			return err
		}
	}
}

// legal names files that carry licences and notices; folder names folders full of them.
var (
	legal  = regexp.MustCompile(`(?i)^(licen[cs]es?|copying|notice|patents|[a-z0-9_]+-licen[cs]e|e[dp]l-v\d+)([-._].*)?$`)
	folder = regexp.MustCompile(`(?i)^(third_party_)?licen[cs]es$`)
	code   = regexp.MustCompile(`\.(go|s|c|h|py|js|json)$`)
)

// collect adds the licence files of one folder of a module.
func (m *part) collect(top, dir string) error {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	for _, e := range entries {
		full := filepath.Join(dir, e.Name())
		if e.IsDir() {
			if folder.MatchString(e.Name()) {
				inside, err := os.ReadDir(full)
				if err != nil {
					return err
				}
				for _, i := range inside {
					if err := m.add(top, filepath.Join(full, i.Name())); err != nil {
						return err
					}
				}
			}
			continue
		}
		if legal.MatchString(e.Name()) && !code.MatchString(e.Name()) {
			if err := m.add(top, full); err != nil {
				return err
			}
		}
	}
	return nil
}

func (m *part) add(top, file string) error {
	name, err := filepath.Rel(top, file)
	if err != nil {
		return err
	}
	text, err := os.ReadFile(file)
	if err != nil {
		return err
	}
	m.files[filepath.ToSlash(name)] = tidy(text)
	return nil
}

// tidy has line feeds only, no space at line ends, and no empty lines around the text.
func tidy(text []byte) string {
	var b strings.Builder
	for line := range strings.Lines(string(text)) {
		b.WriteString(strings.TrimRight(line, " \t\r\n\f") + "\n")
	}
	return strings.Trim(b.String(), "\n\ufeff") + "\n"
}

// goItself adds Go's runtime and standard library, which every Go program contains.
func goItself(parts map[string]*part) error {
	if parts["Go"] != nil {
		return nil
	}
	out, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return fmt.Errorf("go env GOROOT: %w", err)
	}
	root := strings.TrimSpace(string(out))
	p := &part{name: "Go", version: "the one that `hardcatch version` names", source: "go.dev/dl", files: map[string]string{}}
	for _, f := range []string{"LICENSE", "PATENTS"} {
		if err := p.add(root, filepath.Join(root, f)); err != nil {
			return fmt.Errorf("the licence of Go itself is missing from this toolchain; use one as it is released: %w", err)
		}
	}
	parts["Go"] = p
	return nil
}

// vendored is the licence of a file that others wrote and that stands among ours: name-LICENSE.txt beside name-1.2.3.min.js.
var (
	vendored = regexp.MustCompile(`^(.+)-LICENSE\.txt$`)
	foreign  = regexp.MustCompile(`^([a-z0-9]+(?:-[a-z]+)*)-(\d[0-9.]*\d)(\.min|\.regular|\.bold)?\.(js|css|woff2)$|\.(woff2?|ttf|otf)$|\.min\.`)
)

// assets adds what others wrote and is embedded in a package of ours. It fails when a licence is missing.
func assets(parts map[string]*part, p listed) error {
	known := map[string]*part{}
	for _, f := range p.EmbedFiles {
		if m := vendored.FindStringSubmatch(path.Base(f)); m != nil {
			x := &part{name: m[1], files: map[string]string{}}
			if err := x.add(p.Dir, filepath.Join(p.Dir, f)); err != nil {
				return err
			}
			known[m[1]] = x
		}
	}
	for _, f := range p.EmbedFiles {
		m := foreign.FindStringSubmatch(path.Base(f))
		if m == nil {
			continue
		}
		x := known[m[1]]
		if x == nil || m[2] == "" {
			return fmt.Errorf("%s/%s was written by others: name it NAME-VERSION.min.js and put NAME-LICENSE.txt beside it", p.ImportPath, f)
		}
		x.version, x.source = m[2], "npm pack "+m[1]+"@"+m[2]
		parts[m[1]] = x
	}
	return nil
}

// licences are recognised by phrases of their text, each word for word in the licence's own published text.
var licences = []struct{ name, phrase string }{
	{"Apache-2.0", "Apache License, Version 2.0"},
	{"Apache-2.0", "Apache License Version 2.0"},
	{"BSD-3-Clause", "may be used to endorse or promote products derived from this software without specific prior written permission"},
	{"BSD-2-Clause", "Redistribution and use in source and binary forms, with or without modification, are permitted"},
	{"EPL-2.0", "Eclipse Public License - v 2.0"},
	{"OFL-1.1", "licensed under the SIL Open Font License, Version 1.1"},
	{"ISC", "Permission to use, copy, modify, and/or distribute this software for any purpose"},
	{"MIT", "Permission is hereby granted, free of charge, to any person obtaining a copy"},
	{"public domain", "public domain"},
}

// either is what a file says that gives its licences for choice.
const either = "Eclipse Public License v2.0 and Eclipse Distribution License v1.0"

func namesIn(text string) (names []string) {
	words := strings.Join(strings.Fields(text), " ")
	if strings.Contains(words, either) {
		return []string{"(EPL-2.0 OR BSD-3-Clause)"}
	}
	for _, l := range licences {
		if strings.Contains(words, l.phrase) && !slices.Contains(names, l.name) && (l.name != "BSD-2-Clause" || !slices.Contains(names, "BSD-3-Clause")) {
			names = append(names, l.name)
		}
	}
	return names
}

// licence names the licences that the files at the top of a part give.
func (m *part) licence() (string, error) {
	files := make([]string, 0, len(m.files))
	for f := range m.files {
		if base := strings.ToLower(path.Base(f)); (!strings.Contains(f, "/") || vendored.MatchString(path.Base(f))) && !strings.HasPrefix(base, "notice") && !strings.Contains(base, "l-v") {
			files = append(files, f)
		}
	}
	slices.Sort(files)
	var names []string
	for _, f := range files {
		for _, n := range namesIn(m.files[f]) {
			if !slices.Contains(names, n) {
				names = append(names, n)
			}
		}
	}
	if len(names) == 0 {
		return "", fmt.Errorf("the licence of %s %s was not recognised (files: %s); read it, and add a phrase of it to the list in internal/build/notices", m.name, m.version, strings.Join(files, ", "))
	}
	return strings.Trim(strings.Join(names, " AND "), "()"), nil
}

const head = `THIRD-PARTY NOTICES

The program hardcatch (Apache License 2.0) contains the following, which others wrote, unchanged but for fonts, which are cut to the letters that pages use. Texts of the licences stand below.
The source of each part is available in the version named: the command beside it fetches it as its authors published it. For the parts under
the Eclipse Public License 2.0 this is the statement that its section 3.1 asks for; hardcatch does not change them, and gives no warranty and
takes no liability on behalf of their contributors.

Written by "go run ./internal/build/notices"; do not edit.

`

func write(parts map[string]*part) ([]byte, error) {
	list := make([]*part, 0, len(parts))
	for _, p := range parts {
		list = append(list, p)
	}
	sort.Slice(list, func(i, j int) bool { return list[i].name < list[j].name })
	var b bytes.Buffer
	b.WriteString(head)
	uses := map[string][]string{} // what a text is for
	var texts []string
	for _, p := range list {
		l, err := p.licence()
		if err != nil {
			return nil, err
		}
		fmt.Fprintf(&b, "%s %s\n    licence  %s\n    source   %s\n", p.name, p.version, l, p.source)
		files := make([]string, 0, len(p.files))
		for f := range p.files {
			files = append(files, f)
		}
		slices.Sort(files)
		for _, f := range files {
			text := p.files[f]
			if uses[text] == nil {
				texts = append(texts, text)
			}
			uses[text] = append(uses[text], fmt.Sprintf("%s, %s", p.name, f))
		}
	}
	for _, text := range texts {
		b.WriteString("\n" + strings.Repeat("=", 80) + "\n")
		for _, u := range uses[text] {
			b.WriteString(u + "\n")
		}
		b.WriteString(strings.Repeat("-", 80) + "\n" + text)
	}
	return b.Bytes(), nil
}
