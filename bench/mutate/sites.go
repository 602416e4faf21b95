package main

import (
	"bytes"
	"fmt"
	"go/ast"
	"go/constant"
	"go/token"
	"go/types"
	"strconv"
	"strings"
)

// mutant is one change of one expression.
type mutant struct {
	id       int
	file     string // relative to the module, with slashes
	line     int
	function string
	original string
	mutated  string
	site     int // what a recording names: the first mutant of the place
}

// key names a mutant without its line, so that it is found again when lines move.
func (m mutant) key() string {
	return strings.Join([]string{m.file, m.function, m.original, m.mutated}, "\t")
}

// edit is a piece of text that goes in at an offset, in the place of the bytes it removes.
type edit struct {
	offset, remove int
	closes         bool
	start, end     int // of the expression that it belongs to: they nest
	order          int
	text           string
	line           int
}

// finder walks one file and collects mutants with the edits that build them all into one text, behind switches.
type finder struct {
	s        *source
	file     int
	function string
	imports  map[string]string // path -> name in this file
	skip     map[ast.Node]bool
	consts   map[types.Object]int // declaration -> its mutant
	next     *int
	wanted   func(mutant) bool
	mutants  []mutant
	edits    []edit
	mathUsed string
}

func (f *finder) pos(p token.Pos) int { return f.s.fset.Position(p).Offset }

func (f *finder) textOf(n ast.Node) string {
	return string(bytes.Join(bytes.Fields(f.s.text[f.file][f.pos(n.Pos()):f.pos(n.End())]), []byte(" ")))
}

// add keeps the mutants of one place and says the number of the first, or -1 when none of them is wanted.
func (f *finder) add(n ast.Node, original string, mutated ...string) int {
	return f.addAt(n.Pos(), f.function, original, mutated...)
}

func (f *finder) addAt(at token.Pos, function, original string, mutated ...string) int {
	place := f.s.fset.Position(at)
	var these []mutant
	wanted := false
	for i, to := range mutated {
		m := mutant{id: *f.next + i, site: *f.next, file: f.s.pathOf(place.Filename), line: place.Line, function: function, original: original, mutated: to}
		if f.wanted(m) {
			wanted = true
			these = append(these, m)
		}
	}
	if !wanted {
		return -1
	}
	id := *f.next
	*f.next += len(mutated)
	f.mutants = append(f.mutants, these...)
	return id
}

func (f *finder) insert(at token.Pos, remove int, closes bool, n ast.Node, text string) {
	f.edits = append(f.edits, edit{f.pos(at), remove, closes, f.pos(n.Pos()), f.pos(n.End()), len(f.edits), text, f.s.fset.Position(at).Line})
}

func (f *finder) wrap(n ast.Node, before, after string) {
	f.insert(n.Pos(), 0, false, n, before)
	f.insert(n.End(), 0, true, n, after)
}

// typeName is how this file writes a numeric type; empty when it cannot.
func (f *finder) typeName(t types.Type) string {
	if t == nil {
		return ""
	}
	basic, ok := t.Underlying().(*types.Basic)
	if !ok || basic.Info()&types.IsNumeric == 0 || basic.Info()&types.IsUntyped != 0 {
		return ""
	}
	known := true
	name := types.TypeString(t, func(p *types.Package) string {
		if p == f.s.types {
			return ""
		}
		if f.imports[p.Path()] == "" {
			known = false
		}
		return f.imports[p.Path()]
	})
	if !known {
		return ""
	}
	return name
}

func numeric(t types.Type) (ok, whole bool) {
	if t == nil {
		return false, false
	}
	b, is := t.Underlying().(*types.Basic)
	if !is {
		return false, false
	}
	return b.Info()&types.IsNumeric != 0, b.Info()&types.IsInteger != 0
}

// file finds the mutants of one file.
func (f *finder) run() {
	file := f.s.files[f.file]
	if ast.IsGenerated(file) {
		return
	}
	f.skip, f.imports = map[ast.Node]bool{}, map[string]string{}
	for _, spec := range file.Imports {
		path, _ := strconv.Unquote(spec.Path.Value)
		if spec.Name != nil {
			f.imports[path] = spec.Name.Name
		} else if o, ok := f.s.info.Implicits[spec].(*types.PkgName); ok {
			f.imports[path] = o.Name()
		}
	}
	for _, d := range file.Decls {
		f.function = "-"
		if fn, ok := d.(*ast.FuncDecl); ok {
			f.function = functionName(fn)
		}
		ast.Inspect(d, f.visit)
	}
}

func functionName(fn *ast.FuncDecl) string {
	if fn.Recv == nil || len(fn.Recv.List) == 0 {
		return fn.Name.Name
	}
	t := fn.Recv.List[0].Type
	if star, ok := t.(*ast.StarExpr); ok {
		t = star.X
	}
	if i, ok := t.(*ast.IndexExpr); ok {
		t = i.X
	}
	if id, ok := t.(*ast.Ident); ok {
		return id.Name + "." + fn.Name.Name
	}
	return fn.Name.Name
}

func (f *finder) visit(n ast.Node) bool {
	if n == nil || f.skip[n] {
		return false
	}
	if e, ok := n.(ast.Expr); ok {
		if tv := f.s.info.Types[e]; tv.IsType() {
			return false
		} else if tv.Value != nil {
			f.constant(e, tv)
			return false
		}
	}
	switch n := n.(type) {
	case *ast.GenDecl:
		return n.Tok != token.CONST && n.Tok != token.TYPE && n.Tok != token.IMPORT
	case *ast.CompositeLit:
		if _, isMap := f.s.info.Types[n].Type.Underlying().(*types.Map); !isMap {
			for _, e := range n.Elts {
				if kv, ok := e.(*ast.KeyValueExpr); ok {
					f.skip[kv.Key] = true
				}
			}
		}
	case *ast.BinaryExpr:
		f.binary(n)
	case *ast.UnaryExpr:
		if ok, _ := numeric(f.s.info.Types[n].Type); ok && n.Op == token.SUB {
			if id := f.add(n, f.textOf(n), f.textOf(n.X)); id >= 0 {
				f.insert(n.Pos(), 1, false, n, fmt.Sprintf("mutantNeg(%d, ", id))
				f.insert(n.End(), 0, true, n, ")")
			}
		}
		if n.Op == token.NOT {
			f.negate(n, f.textOf(n.X))
		}
	case *ast.IfStmt:
		f.condition(n.Cond)
	case *ast.ForStmt:
		f.condition(n.Cond)
		if n.Post != nil {
			if s, ok := n.Post.(*ast.IncDecStmt); ok {
				f.skip[s] = true
			}
		}
	case *ast.CallExpr:
		return f.call(n)
	case *ast.IncDecStmt:
		if t := f.typeName(f.s.info.Types[n.X].Type); t != "" {
			if id := f.add(n, f.textOf(n), "(left out)"); id >= 0 {
				f.insert(n.TokPos, 2, false, n, fmt.Sprintf(" %s= mutantStep[%s](%d)", n.Tok.String()[:1], t, id))
			}
		}
	case *ast.AssignStmt:
		f.assign(n)
	}
	return true
}

// condition negates what is neither a comparison nor built of others: those are mutated themselves.
func (f *finder) condition(e ast.Expr) {
	if e == nil || f.s.info.Types[e].Value != nil {
		return
	}
	switch e.(type) {
	case *ast.Ident, *ast.CallExpr, *ast.SelectorExpr, *ast.IndexExpr:
		f.negate(e, "!"+f.textOf(e))
	}
}

func (f *finder) negate(e ast.Expr, to string) {
	if id := f.add(e, f.textOf(e), to); id >= 0 {
		f.wrap(e, "(", fmt.Sprintf(" != mutantIs(%d))", id))
	}
}

// operators tells the other text and the helper of a comparison.
var comparisons = map[token.Token][3]string{
	token.LSS: {"mutantLT", "<=", ">="}, token.LEQ: {"mutantLE", "<", ">"},
	token.GTR: {"mutantGT", ">=", "<="}, token.GEQ: {"mutantGE", ">", "<"},
}

func (f *finder) binary(n *ast.BinaryExpr) {
	a, b, whole := f.textOf(n.X), f.textOf(n.Y), f.textOf(n)
	replace := func(helper string, mutated ...string) {
		if id := f.add(n, whole, mutated...); id >= 0 {
			f.insert(n.Pos(), 0, false, n, fmt.Sprintf("%s(%d, ", helper, id))
			f.insert(n.OpPos, len(n.Op.String()), false, n, ",")
			f.insert(n.End(), 0, true, n, ")")
		}
	}
	switch n.Op {
	case token.LSS, token.LEQ, token.GTR, token.GEQ:
		c := comparisons[n.Op]
		replace(c[0], a+" "+c[1]+" "+b, a+" "+c[2]+" "+b)
		return
	case token.EQL:
		f.negate(n, a+" != "+b)
		return
	case token.NEQ:
		f.negate(n, a+" == "+b)
		return
	case token.LAND, token.LOR:
		format := " || mutantIs(%d))"
		if n.Op == token.LOR {
			format = " && !mutantIs(%d))"
		}
		if id := f.add(n, whole, b); id >= 0 {
			f.wrap(n.X, "(", fmt.Sprintf(format, id))
		}
		if id := f.add(n, whole, a); id >= 0 {
			f.wrap(n.Y, "(", fmt.Sprintf(format, id))
		}
		return
	}
	if ok, _ := numeric(f.s.info.Types[n].Type); !ok {
		return
	}
	switch n.Op {
	case token.ADD:
		replace("mutantAdd", a+" - "+b, a, b)
	case token.SUB:
		replace("mutantSub", a+" + "+b, a, "-"+b)
	case token.MUL:
		if a == b {
			replace("mutantSquare", a)
		} else {
			replace("mutantMul", a+" / "+b, a, b)
		}
	case token.QUO:
		replace("mutantQuo", a+" * "+b, a)
	case token.REM:
		replace("mutantRem", a)
	}
}

func (f *finder) assign(n *ast.AssignStmt) {
	helper, mutated := "mutantTerm", []string{"(left out)", "sign changed"}
	switch n.Tok {
	case token.ADD_ASSIGN, token.SUB_ASSIGN:
	case token.MUL_ASSIGN, token.QUO_ASSIGN:
		helper, mutated = "mutantFactor", mutated[:1]
	default:
		return
	}
	t := f.typeName(f.s.info.Types[n.Lhs[0]].Type)
	if t == "" {
		return
	}
	if id := f.add(n, f.textOf(n), mutated...); id >= 0 {
		f.wrap(n.Rhs[0], fmt.Sprintf("%s[%s](%d, ", helper, t, id), ")")
	}
}

// call mutates calls that join or clamp terms; it says whether the arguments are looked into.
func (f *finder) call(n *ast.CallExpr) bool {
	helper := ""
	switch fun := n.Fun.(type) {
	case *ast.Ident:
		if _, builtin := f.s.info.Uses[fun].(*types.Builtin); !builtin {
			return true
		}
		switch fun.Name {
		case "panic":
			return false // a panic is a mistake of the programmer; its words are not tested
		case "make":
			for _, a := range n.Args[1:] {
				if _, slice := f.s.info.Types[n].Type.Underlying().(*types.Slice); !slice || len(n.Args) == 3 && a == n.Args[2] {
					f.skip[a] = true // room, not length
				}
			}
		case "max", "min":
			if len(n.Args) == 2 {
				helper = map[string]string{"max": "mutantMax", "min": "mutantMin"}[fun.Name]
			}
		case "append":
			if len(n.Args) > 1 {
				if id := f.add(n, f.textOf(n), f.textOf(n.Args[0])); id >= 0 {
					f.insert(fun.Pos(), len("append"), false, n, "mutantAppend")
					f.insert(n.Args[0].Pos(), 0, false, n, fmt.Sprintf("%d, ", id))
				}
			}
		}
	case *ast.SelectorExpr:
		x, ok := fun.X.(*ast.Ident)
		if !ok {
			return true
		}
		if p, ok := f.s.info.Uses[x].(*types.PkgName); !ok || p.Imported().Path() != "math" {
			return true
		}
		f.mathUsed = x.Name
		helper = map[string]string{"Hypot": "mutantHypot", "Abs": "mutantAbs", "Max": "mutantFloatMax", "Min": "mutantFloatMin"}[fun.Sel.Name]
	}
	if helper == "" {
		return true
	}
	mutated := make([]string, len(n.Args))
	for i, a := range n.Args {
		mutated[i] = f.textOf(a)
	}
	if id := f.add(n, f.textOf(n), mutated...); id >= 0 {
		f.insert(n.Fun.Pos(), f.pos(n.Fun.End())-f.pos(n.Fun.Pos()), false, n, helper)
		f.insert(n.Args[0].Pos(), 0, false, n, fmt.Sprintf("%d, ", id))
	}
	return true
}

// constant enlarges a constant where it is used; a named one of this package is one mutant wherever it is used.
func (f *finder) constant(e ast.Expr, tv types.TypeAndValue) {
	if tv.Value.Kind() != constant.Int && tv.Value.Kind() != constant.Float {
		return
	}
	t := f.typeName(tv.Type)
	if t == "" || !f.counts(e) {
		return
	}
	_, whole := numeric(tv.Type)
	change := " x 1.5"
	if whole || constant.Sign(tv.Value) == 0 {
		change = " + 1"
	}
	if id, ok := e.(*ast.Ident); ok {
		o := f.s.info.Uses[id]
		first, seen := f.consts[o]
		if !seen {
			function := f.function
			if o.Parent() == f.s.types.Scope() {
				function = "-" // declared for the whole package
			}
			first = f.addAt(o.Pos(), function, id.Name, id.Name+change)
			f.consts[o] = first
		}
		if first >= 0 {
			f.wrap(e, fmt.Sprintf("mutantConst[%s](%d, ", t, first), ")")
		}
		return
	}
	if id := f.add(e, f.textOf(e), f.textOf(e)+change); id >= 0 {
		f.wrap(e, fmt.Sprintf("mutantConst[%s](%d, ", t, id), ")")
	}
}

// counts tells a number that somebody chose from a name in an enumeration.
func (f *finder) counts(e ast.Expr) bool {
	found := false
	ast.Inspect(e, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.BasicLit:
			found = found || n.Kind == token.INT || n.Kind == token.FLOAT
		case *ast.SelectorExpr:
			if c, ok := f.s.info.Uses[n.Sel].(*types.Const); ok && (c.Val().Kind() == constant.Float || c.Pkg() == f.s.types) {
				found = true
			}
			return false
		case *ast.Ident:
			if c, ok := f.s.info.Uses[n].(*types.Const); ok && c.Pkg() == f.s.types && f.s.literal()[c] {
				found = true
			}
		}
		return true
	})
	return found
}
