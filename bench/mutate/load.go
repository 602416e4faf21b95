package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
)

// listed is what `go list -json` says of one package.
type listed struct {
	ImportPath, Dir, Name, Export string
	GoFiles                       []string
	TestGoFiles, XTestGoFiles     []string
	Module                        *struct{ Dir string }
}

// source is a package read with its types.
type source struct {
	listed
	root  string // folder of the module
	fset  *token.FileSet
	files []*ast.File
	text  [][]byte // of files
	paths []string // of files
	info  *types.Info
	types *types.Package
	lits  map[types.Object]bool
}

// goList runs `go list -json` with further arguments in dir.
func goList(dir string, args ...string) ([]listed, error) {
	cmd := exec.Command("go", append([]string{"list", "-json=ImportPath,Dir,Name,Export,GoFiles,TestGoFiles,XTestGoFiles,Module"}, args...)...)
	cmd.Dir, cmd.Stderr = dir, os.Stderr
	out, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("go list %s: %w", strings.Join(args, " "), err)
	}
	var all []listed
	d := json.NewDecoder(strings.NewReader(string(out)))
	for {
		var p listed
		if err := d.Decode(&p); errors.Is(err, io.EOF) {
			return all, nil
		} else if err != nil {
			return nil, err
		}
		all = append(all, p)
	}
}

// load reads one package; exports names the compiled form of each package that it may import.
func load(p listed, exports map[string]string) (*source, error) {
	s := &source{listed: p, root: p.Module.Dir, fset: token.NewFileSet()}
	for _, name := range p.GoFiles {
		path := filepath.Join(p.Dir, name)
		text, err := os.ReadFile(path)
		if err != nil {
			return nil, err
		}
		f, err := parser.ParseFile(s.fset, path, text, parser.ParseComments|parser.SkipObjectResolution)
		if err != nil {
			return nil, err
		}
		s.files, s.text, s.paths = append(s.files, f), append(s.text, text), append(s.paths, path)
	}
	s.info = &types.Info{Types: map[ast.Expr]types.TypeAndValue{}, Uses: map[*ast.Ident]types.Object{}, Defs: map[*ast.Ident]types.Object{}, Implicits: map[ast.Node]types.Object{}}
	conf := types.Config{Importer: importer.ForCompiler(s.fset, "gc", func(path string) (io.ReadCloser, error) {
		if exports[path] == "" {
			return nil, fmt.Errorf("no compiled form of %s", path)
		}
		return os.Open(exports[path])
	})}
	pkg, err := conf.Check(p.ImportPath, s.fset, s.files, s.info)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", p.ImportPath, err)
	}
	s.types = pkg
	return s, nil
}

// pathOf is the path of a file below the module, with slashes.
func (s *source) pathOf(file string) string {
	rel, err := filepath.Rel(s.root, file)
	if err != nil {
		return file
	}
	return filepath.ToSlash(rel)
}

// exported compiles what the packages import and says where the compiled forms lie.
func exported(dir string, packages []string) (map[string]string, error) {
	all, err := goList(dir, append([]string{"-export", "-deps"}, packages...)...)
	if err != nil {
		return nil, err
	}
	m := map[string]string{}
	for _, p := range all {
		m[p.ImportPath] = p.Export
	}
	return m, nil
}

// literal tells the constants of the package that are declared with a number of their own, not counted by iota.
func (s *source) literal() map[types.Object]bool {
	if s.lits != nil {
		return s.lits
	}
	s.lits = map[types.Object]bool{}
	for _, f := range s.files {
		ast.Inspect(f, func(n ast.Node) bool {
			spec, ok := n.(*ast.ValueSpec)
			if !ok {
				return true
			}
			for i, name := range spec.Names {
				if i >= len(spec.Values) {
					continue
				}
				counted := false
				ast.Inspect(spec.Values[i], func(n ast.Node) bool {
					if id, ok := n.(*ast.Ident); ok && id.Name == "iota" {
						counted = true
					}
					return true
				})
				s.lits[s.info.Defs[name]] = !counted
			}
			return true
		})
	}
	return s.lits
}
