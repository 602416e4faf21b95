// Twice lists what stands twice in the Go code: lines that follow each other in two places, and structs that have fields in
// common. Tests and generated files are left out.
//
//	go run ./bench/twice [-lines 6] [-fields 4]
package main

import (
	"bytes"
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/printer"
	"go/token"
	"os"
	"os/exec"
	"regexp"
	"slices"
	"strings"
)

func main() {
	lines := flag.Int("lines", 6, "equal lines in a row from which on they are listed")
	fields := flag.Int("fields", 4, "equal fields from which on two structs are listed")
	flag.Parse()
	files, err := goFiles()
	if err != nil {
		fmt.Fprintln(os.Stderr, "twice:", err)
		os.Exit(1)
	}
	total := 0
	for _, f := range files {
		total += bytes.Count(f.text, []byte("\n"))
	}
	fmt.Printf("%d lines in %d files\n", total, len(files))
	runs := equalRuns(files, *lines)
	fmt.Printf("\n%d times %d lines and more in a row\n", len(runs), *lines)
	for _, r := range runs {
		fmt.Println(r)
	}
	pairs := alike(files, *fields)
	fmt.Printf("\n%d pairs of structs with %d fields and more in common\n", len(pairs), *fields)
	for _, p := range pairs {
		fmt.Println(p)
	}
}

type file struct {
	name string
	text []byte
}

// goFiles are those that git knows, without tests and generated ones.
func goFiles() ([]file, error) {
	list, err := exec.Command("git", "ls-files", "*.go").Output()
	if err != nil {
		return nil, err
	}
	var out []file
	for _, name := range strings.Fields(string(list)) {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		text, err := os.ReadFile(name)
		if os.IsNotExist(err) {
			continue
		}
		if err != nil {
			return nil, err
		}
		if !generated(text) {
			out = append(out, file{name, text})
		}
	}
	return out, nil
}

func generated(text []byte) bool {
	head := bytes.SplitN(text, []byte("\n"), 6)
	return bytes.Contains(bytes.Join(head[:min(5, len(head))], nil), []byte("Code generated"))
}

// dull lines say nothing by themselves: brackets, the passing on of errors, imports, comments.
var dull = regexp.MustCompile(`^([^\pL]*|import \(|package .*|//.*|(\w+ )?"[^"]*"|(\} )?else \{|default:|return|break|continue|if err != nil \{|return (nil, |"", |0, )*(nil|err)|var err error|defer .*\.Close\(\).*)$`)

type line struct {
	file int
	n    int // from 1
	text string
}

// equalRuns are the longest rows of equal lines, dull ones passed over, each said once.
func equalRuns(files []file, least int) []string {
	var all []line
	for i, f := range files {
		for n, text := range strings.Split(string(f.text), "\n") {
			if text = strings.TrimSpace(text); !dull.MatchString(text) {
				all = append(all, line{i, n + 1, text})
			}
		}
		all = append(all, line{i, 0, fmt.Sprint("\x00", i)}) // no row goes over the end of a file
	}
	first := map[string][]int{}
	covered := map[[2]int]bool{}
	var out []string
	for i := 0; i+least <= len(all); i++ {
		var key strings.Builder
		for _, l := range all[i : i+least] {
			key.WriteString(l.text + "\n")
		}
		k := key.String()
		if strings.Contains(k, "\x00") {
			continue
		}
		for _, j := range first[k] {
			if j+least > i || covered[[2]int{j, i}] {
				continue
			}
			n := 0
			for i+n < len(all) && j+n < i && all[j+n].text == all[i+n].text {
				covered[[2]int{j + n, i + n}] = true
				n++
			}
			out = append(out, fmt.Sprintf("%3d %s:%d %s:%d  %s", n, files[all[j].file].name, all[j].n, files[all[i].file].name, all[i].n, all[i].text))
		}
		first[k] = append(first[k], i)
	}
	slices.Sort(out)
	slices.Reverse(out)
	return out
}

type structType struct {
	place  string
	fields []string
}

// alike are the pairs of structs that have fields of one name and type.
func alike(files []file, least int) []string {
	var all []structType
	for _, f := range files {
		set := token.NewFileSet()
		tree, err := parser.ParseFile(set, f.name, f.text, parser.SkipObjectResolution)
		if err != nil {
			continue // testdata that is broken on purpose
		}
		ast.Inspect(tree, func(n ast.Node) bool {
			t, ok := n.(*ast.TypeSpec)
			if !ok {
				return true
			}
			s, ok := t.Type.(*ast.StructType)
			if !ok {
				return true
			}
			x := structType{place: fmt.Sprintf("%s:%d %s", f.name, set.Position(t.Pos()).Line, t.Name.Name)}
			for _, field := range s.Fields.List {
				var of bytes.Buffer
				_ = printer.Fprint(&of, set, field.Type) // a buffer takes everything
				text := strings.TrimPrefix(of.String(), tree.Name.Name+".")
				for _, name := range field.Names {
					x.fields = append(x.fields, name.Name+" "+text)
				}
			}
			all = append(all, x)
			return true
		})
	}
	var out []string
	for i, a := range all {
		for _, b := range all[:i] {
			var both []string
			for _, f := range a.fields {
				if slices.Contains(b.fields, f) {
					both = append(both, f)
				}
			}
			if len(both) >= least {
				out = append(out, fmt.Sprintf("%3d %s | %s  %s", len(both), b.place, a.place, strings.Join(both, ", ")))
			}
		}
	}
	slices.Sort(out)
	slices.Reverse(out)
	return out
}
