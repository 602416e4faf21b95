package message

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"sort"
	"strconv"
	"strings"
	"testing"
)

// asked finds the sentences that a template asks for.
var asked = []*regexp.Regexp{
	regexp.MustCompile(`\bt "((?:[^"\\]|\\.)*)"`), regexp.MustCompile(`\bcount [^"}]*"((?:[^"\\]|\\.)*)"`), regexp.MustCompile(`\bcount [^"}]*"(?:[^"\\]|\\.)*" "((?:[^"\\]|\\.)*)"`),
}

// needed are the sentences that templates and code ask for by name, with the place of each.
func needed(t *testing.T) map[string]string {
	t.Helper()
	out := map[string]string{}
	err := filepath.WalkDir("..", func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if path == filepath.Join("..", "cli") { // speaks English
				return fs.SkipDir
			}
			return nil
		}
		switch {
		case strings.HasSuffix(path, ".html") && !strings.Contains(path, "testdata") && !strings.HasSuffix(path, "labels.html"):
			b, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			for _, re := range asked {
				for _, m := range re.FindAllSubmatch(b, -1) {
					out[string(m[1])] = path
				}
			}
		case strings.HasSuffix(path, ".go") && !strings.HasSuffix(path, "_test.go"):
			return calls(path, out)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// calls collects the literal sentences given to Say and Count.
func calls(path string, out map[string]string) error {
	set := token.NewFileSet()
	f, err := parser.ParseFile(set, path, nil, 0)
	if err != nil {
		return err
	}
	ast.Inspect(f, func(n ast.Node) bool {
		c, ok := n.(*ast.CallExpr)
		if !ok {
			return true
		}
		s, ok := c.Fun.(*ast.SelectorExpr)
		if !ok {
			return true
		}
		if x, ok := s.X.(*ast.Ident); ok && x.Name == "strings" {
			return true
		}
		var args []ast.Expr
		switch s.Sel.Name {
		case "Say", "say":
			args = c.Args[:min(1, len(c.Args))]
		case "fact", "statedFact":
			args = c.Args[:min(1, len(c.Args))]
		case "Count", "count":
			args = c.Args[min(1, len(c.Args)):]
		}
		for _, a := range args {
			if text, ok := literal(a); ok && letters.MatchString(blank.ReplaceAllString(text, "")) {
				out[text] = set.Position(a.Pos()).String()
			}
		}
		return true
	})
	return nil
}

func literal(e ast.Expr) (string, bool) {
	switch e := e.(type) {
	case *ast.BasicLit:
		if e.Kind == token.STRING {
			text, err := strconv.Unquote(e.Value)
			return text, err == nil
		}
	case *ast.BinaryExpr:
		a, okA := literal(e.X)
		b, okB := literal(e.Y)
		return a + b, okA && okB && e.Op == token.ADD
	}
	return "", false
}

func TestEverySentenceAskedForIsThere(t *testing.T) {
	all := needed(t)
	if len(all) < 400 {
		t.Fatalf("only %d sentences were found", len(all))
	}
	for _, lang := range Languages[1:] {
		missing := map[string]string{}
		for text, place := range all {
			if _, ok := locales[lang].text[text]; !ok {
				missing[text] = place
			}
		}
		report(t, lang, missing)
	}
}

func report(t *testing.T, lang string, missing map[string]string) {
	t.Helper()
	var lines []string
	for text, place := range missing {
		lines = append(lines, fmt.Sprintf("%s: %q", place, text))
	}
	sort.Strings(lines)
	if len(lines) > 0 {
		t.Errorf("%s lacks %d sentences:\n%s", lang, len(lines), strings.Join(lines, "\n"))
	}
}

// spoken are the packages whose sentences stand in pages and reports, with the files whose do not: they are printed by
// commands only.
var spoken = map[string][]string{
	"reduce": nil, "drop": nil, "limits": nil, "arrest": nil, "compare": nil,
	"plan":          {"updown_dixonmood.go", "updown_likelihood.go", "updown_say.go", "updown.go", "updown_simulate.go", "power.go", "power_censored.go", "power_counts.go", "random.go", "layout.go", "cells.go", "order.go"},
	"num/variation": {"anova.go", "precision.go", "chart.go"},
}

// silent are texts that no reader of a page or report meets, or meets as part of a longer one that the catalogue holds.
var silent = map[string]bool{
	"No exact two-sided test of ranks or break counts can give p below %s, %s. If none of %d breaks, a break probability of up to %s %% is still possible (95 %% confidence).": true,
	"With %d against %d, all holding, and peaks that scatter by %s, the smallest ratio found with %s power is %s (t test of log peaks, two-sided, %s). ":                       true,
	"The scatter, the ratio and the break probabilities are supposed, not measured: a wrong scatter makes a wrong number. Take the scatter from drops of your own rig.":        true, // samplesize
	"Specimens are independent, of one batch in each group, dropped once and in random order.":                                                                                 true,
	"29 CFR 1926 subpart M": true, // a name
	"A difference that is not found is not shown to be absent.": true,
	"second level over first":                                   true, // a column of a regression
}

// formats collects the literal texts of three words and more of a file that are not errors' own.
func formats(path string, out map[string]string) error {
	set := token.NewFileSet()
	f, err := parser.ParseFile(set, path, nil, 0)
	if err != nil {
		return err
	}
	ast.Inspect(f, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.ImportSpec:
			return false
		case *ast.Field:
			n.Tag = nil
		case *ast.CallExpr:
			if s, ok := n.Fun.(*ast.SelectorExpr); ok && (s.Sel.Name == "Errorf" || s.Sel.Name == "New") {
				return false
			}
			if id, ok := n.Fun.(*ast.Ident); ok && id.Name == "panic" {
				return false
			}
		case *ast.BasicLit:
			if text, ok := literal(n); ok && len(strings.Fields(blank.ReplaceAllString(text, ""))) >= 3 {
				out[text] = set.Position(n.Pos()).String()
			}
		}
		return true
	})
	return nil
}

func TestEveryFormatOfTheLayersBelowIsThere(t *testing.T) {
	all := map[string]string{}
	for pkg, leave := range spoken {
		list, err := filepath.Glob(filepath.Join("..", filepath.FromSlash(pkg), "*.go"))
		if err != nil || len(list) == 0 {
			t.Fatal(pkg, err)
		}
		if pkg == "arrest" {
			list = []string{filepath.Join("..", "arrest", "warn.go")} // the rest is for those who write models
		}
		for _, path := range list {
			if strings.HasSuffix(path, "_test.go") || slices.Contains(leave, filepath.Base(path)) {
				continue
			}
			if err := formats(path, all); err != nil {
				t.Fatal(err)
			}
		}
	}
	if len(all) < 250 {
		t.Fatalf("only %d formats were found", len(all))
	}
	for _, lang := range Languages[1:] {
		missing := map[string]string{}
		for text, place := range all {
			if _, ok := locales[lang].bare[strings.TrimSpace(text)]; !ok && !silent[text] {
				missing[text] = place
			}
		}
		report(t, lang, missing)
	}
}
