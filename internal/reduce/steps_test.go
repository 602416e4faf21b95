package reduce

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"strings"
	"testing"
)

// steps are the types that the steps of a reduction hand on. What a step was given it may not change: it gives a new value.
var steps = map[string]bool{"given": true, "signal": true, "timed": true, "sight": true, "topped": true, "moved": true, "told": true, "judged": true}

// No method of a step assigns to what its receiver holds. Notes are only added to, and toForce takes the memory of a trace that nobody
// needs any more.
func TestNoStepChangesWhatItWasGiven(t *testing.T) {
	files := token.NewFileSet()
	names, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	methods := 0
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(files, name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range file.Decls {
			f, ok := d.(*ast.FuncDecl)
			if !ok || f.Recv == nil || f.Body == nil {
				continue
			}
			if star, ok := f.Recv.List[0].Type.(*ast.StarExpr); !ok || !steps[star.X.(*ast.Ident).Name] {
				continue
			}
			methods++
			w := f.Recv.List[0].Names[0].Name
			ast.Inspect(f.Body, func(n ast.Node) bool {
				var to []ast.Expr
				switch n := n.(type) {
				case *ast.AssignStmt:
					to = n.Lhs
				case *ast.IncDecStmt:
					to = []ast.Expr{n.X}
				case *ast.UnaryExpr:
					if n.Op == token.AND {
						to = []ast.Expr{n.X} // whoever has its address may change it
					}
				}
				for _, e := range to {
					if field := fieldOf(e, w); field != "" && field != "Warnings" && f.Name.Name+" "+field != "toForce trace" {
						t.Errorf("%s: %s changes %s.%s, which an earlier step gave", files.Position(n.Pos()), f.Name.Name, w, field)
					}
				}
				return true
			})
		}
	}
	if methods < 50 {
		t.Errorf("only %d methods of steps are seen", methods)
	}
}

// fieldOf is the field of the receiver in which a place lies: "ev" for w.ev.later[0]. Empty for any other place.
func fieldOf(e ast.Expr, receiver string) string {
	for {
		switch x := e.(type) {
		case *ast.IndexExpr:
			e = x.X
		case *ast.StarExpr:
			e = x.X
		case *ast.ParenExpr:
			e = x.X
		case *ast.SelectorExpr:
			if id, ok := x.X.(*ast.Ident); ok && id.Name == receiver {
				return x.Sel.Name
			}
			e = x.X
		default:
			return ""
		}
	}
}
