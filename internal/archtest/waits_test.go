package archtest

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// why is how the comment begins that says why a test waits for time, on the line of the sleep or above it.
const why = "Waits for time:"

// sleeps lists the places at which a test waits for time without saying why: for each, a busy machine needs longer some day, and
// a quiet one waits in vain every day.
func sleeps(name string, source []byte) ([]string, error) {
	set := token.NewFileSet()
	f, err := parser.ParseFile(set, name, source, parser.ParseComments)
	if err != nil {
		return nil, err
	}
	said := map[int]bool{}
	for _, g := range f.Comments {
		if strings.HasPrefix(g.Text(), why) {
			said[set.Position(g.Pos()).Line] = true
			said[set.Position(g.End()).Line+1] = true
		}
	}
	var bad []string
	note := func(n ast.Node, what string) {
		if at := set.Position(n.Pos()); !said[at.Line] {
			bad = append(bad, fmt.Sprintf("%s:%d: %s: wait for a condition (waittest.Until), or say why in a comment that begins with %q", name, at.Line, what, why))
		}
	}
	limits := map[ast.Stmt]bool{} // <-time.After(...) in a select is a limit of something else that is waited for
	ast.Inspect(f, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.CommClause:
			limits[n.Comm] = true
		case *ast.ExprStmt:
			u, ok := n.X.(*ast.UnaryExpr)
			if ok && u.Op == token.ARROW && !limits[n] && called(u.X, "time.After") {
				note(n, "<-time.After")
			}
		case *ast.CallExpr:
			for _, s := range []string{"time.Sleep", "chromedp.Sleep"} {
				if called(n, s) {
					note(n, s)
				}
			}
		}
		return true
	})
	return bad, nil
}

func called(e ast.Expr, name string) bool {
	c, ok := e.(*ast.CallExpr)
	if !ok {
		return false
	}
	s, ok := c.Fun.(*ast.SelectorExpr)
	if !ok {
		return false
	}
	x, ok := s.X.(*ast.Ident)
	return ok && x.Name+"."+s.Sel.Name == name
}

// Tests, and what serves tests only, wait for conditions.
func TestTestsWaitForConditions(t *testing.T) {
	root, seen := filepath.Join("..", ".."), 0
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && path != root && strings.HasPrefix(d.Name(), ".") {
			return filepath.SkipDir
		}
		if !strings.HasSuffix(path, ".go") || !strings.HasSuffix(path, "_test.go") && !strings.HasSuffix(filepath.Dir(path), "test") {
			return nil
		}
		source, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		seen++
		bad, err := sleeps(strings.TrimPrefix(filepath.ToSlash(path), "../../"), source)
		for _, b := range bad {
			t.Error(b)
		}
		return err
	})
	if err != nil || seen < 100 {
		t.Errorf("%d files were looked at: %v", seen, err)
	}
}

// The rule itself must be able to fail.
func TestRuleNoticesSleeps(t *testing.T) {
	for body, want := range map[string]int{
		"time.Sleep(1)":                                        1,
		"chromedp.Sleep(1)":                                    1,
		"<-time.After(1)":                                      1,
		"for ; ; time.Sleep(1) {\n}":                           1,
		"// It takes a while.\n time.Sleep(1)":                 1,
		"select {\n case <-a:\n case <-time.After(1):\n }":     0,
		"select {\n case <-a:\n <-time.After(1)\n }":           1,
		"time.Sleep(1) // Waits for time: the device's pace.":  0,
		"// Waits for time: the device's pace.\ntime.Sleep(1)": 0,
		"// Waits for time: here.\n\ntime.Sleep(1)":            1,
	} {
		bad, err := sleeps("x.go", []byte("package x\n\nfunc f() {\n"+body+"\n}\n"))
		if err != nil || len(bad) != want {
			t.Errorf("%q: %v (%v), want %d", body, bad, err, want)
		}
	}
}

// Every file of assembly can be left out, as on processors that it is not written for.
func TestAssemblyCanBeLeftOut(t *testing.T) {
	seen := 0
	err := filepath.WalkDir(filepath.Join("..", ".."), func(path string, d fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, ".s") {
			return err
		}
		source, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		seen++
		if !strings.Contains(string(source), "\n//go:build !purego\n") {
			t.Errorf("%s is built with the tag purego too", path)
		}
		return nil
	})
	if err != nil || seen == 0 {
		t.Errorf("%d files of assembly were found: %v", seen, err)
	}
}
