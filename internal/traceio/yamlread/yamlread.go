// Package yamlread fills a struct from YAML and says line and column of everything it refuses.
package yamlread

import (
	"encoding"
	"errors"
	"fmt"
	"io"
	"maps"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
)

// Places holds where each value stood: "chain[1].knot.slip" -> line and column.
type Places map[string]Place

// Place is a line and a column, both from 1, and whether a value stands there.
type Place struct {
	Line, Column int
	Given        bool
}

// Given tells that the file has a value at path.
func (p Places) Given(path string) bool { return p[path].Given }

// At is "file:line:column" of a path, of the nearest enclosing value when the path itself is not in the
// file, or just the file.
func (p Places) At(name, path string) string {
	for path != "" {
		if at, ok := p[path]; ok {
			return fmt.Sprintf("%s:%d:%d", name, at.Line, at.Column)
		}
		cut := strings.LastIndexAny(path, ".[")
		if cut < 0 {
			break
		}
		path = path[:cut]
	}
	return name
}

// Decode reads one YAML document into the struct that into points to, by its yaml tags. Unknown keys,
// repeated keys, wrong kinds of value, anchors and values that a field refuses are errors with line and
// column; up to ten are reported at once.
func Decode(name string, r io.Reader, into any) (Places, error) {
	data, err := io.ReadAll(io.LimitReader(r, MaxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if len(data) > MaxBytes {
		return nil, fmt.Errorf("%s: the file is larger than %d MB; it should hold a few lines", name, MaxBytes>>20)
	}
	all, err := words(name, data)
	if err != nil {
		return nil, err
	}
	file, err := parser.Parse(all, 0)
	if err != nil {
		return nil, fmt.Errorf("%s%s", name, tidy(err.Error()))
	}
	if len(file.Docs) == 0 || file.Docs[0].Body == nil || file.Docs[0].Body.Type() == ast.NullType {
		return nil, fmt.Errorf("%s: the file is empty", name)
	}
	if len(file.Docs) > 1 {
		return nil, fmt.Errorf("%s: %d documents in one file; keep one", name, len(file.Docs))
	}
	d := decoder{name: name, places: Places{}}
	d.value("", file.Docs[0].Body, reflect.ValueOf(into).Elem(), 0)
	if len(d.faults) > 10 {
		d.faults = append(d.faults[:10], fmt.Errorf("%s: and %d more", name, len(d.faults)-10))
	}
	return d.places, errors.Join(d.faults...)
}

// tidy turns the parser's "[line:column] text" into ":line:column: text" and drops its source excerpt.
func tidy(s string) string {
	s, _, _ = strings.Cut(s, "\n")
	if rest, ok := strings.CutPrefix(s, "["); ok {
		if pos, text, found := strings.Cut(rest, "] "); found {
			return ":" + pos + ": " + text
		}
	}
	return ": " + s
}

type decoder struct {
	name   string
	places Places
	faults []error
}

func (d *decoder) refuse(n ast.Node, format string, args ...any) {
	p := place(n)
	d.faults = append(d.faults, fmt.Errorf("%s:%d:%d: %w", d.name, p.Line, p.Column, fmt.Errorf(format, args...)))
}

func place(n ast.Node) Place {
	if t := n.GetToken(); t != nil && t.Position != nil {
		return Place{t.Position.Line, t.Position.Column, n.Type() != ast.NullType}
	}
	return Place{1, 1, true}
}

func (d *decoder) value(path string, n ast.Node, v reflect.Value, depth int) {
	if depth > MaxDepth {
		d.refuse(n, "nested deeper than %d levels; write it flatter", MaxDepth)
		return
	}
	if path != "" {
		if _, ok := d.places[path]; !ok {
			d.places[path] = place(n)
		}
	}
	switch n.Type() {
	case ast.AnchorType, ast.AliasType, ast.MergeKeyType, ast.TagType:
		d.refuse(n, notUsed)
		return
	case ast.NullType:
		if _, ok := v.Addr().Interface().(reader); !ok {
			return
		}
	}
	if v.Kind() == reflect.Pointer {
		if v.IsNil() {
			v.Set(reflect.New(v.Type().Elem()))
		}
		d.value(path, n, v.Elem(), depth+1)
		return
	}
	if u, ok := v.Addr().Interface().(encoding.TextUnmarshaler); ok {
		text, ok := scalar(n)
		if !ok {
			d.refuse(n, "a single value is wanted here")
		} else if err := u.UnmarshalText([]byte(text)); err != nil {
			d.refuse(n, "%w", err)
		}
		return
	}
	if u, ok := v.Addr().Interface().(reader); ok {
		d.read(path, n, u, depth)
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		d.structure(path, n, v, depth)
	case reflect.Map:
		d.mapping(path, n, v, depth)
	case reflect.Slice:
		seq, ok := n.(*ast.SequenceNode)
		if !ok {
			d.refuse(n, "a list is wanted here")
			return
		}
		v.Set(reflect.MakeSlice(v.Type(), 0, len(seq.Values))) // an empty list is written, too
		for i, item := range seq.Values {
			e := reflect.New(v.Type().Elem()).Elem()
			d.value(fmt.Sprintf("%s[%d]", path, i), item, e, depth+1)
			v.Set(reflect.Append(v, e))
		}
	default:
		d.plain(n, v)
	}
}

// reader is a value that reads itself by having read fill structs of its choice.
type reader interface {
	UnmarshalYAML(read func(any) error) error
}

// read lets a value read itself. It may read more than once: the faults of the last reading count.
func (d *decoder) read(path string, n ast.Node, u reader, depth int) {
	before := len(d.faults)
	err := u.UnmarshalYAML(func(into any) error {
		d.faults = d.faults[:before]
		d.value(path, n, reflect.ValueOf(into).Elem(), depth+1)
		return errors.Join(d.faults[before:]...)
	})
	if err != nil && len(d.faults) == before {
		d.faults = append(d.faults, fmt.Errorf("%s: %w", d.places.At(d.name, path), err))
	}
}

func (d *decoder) plain(n ast.Node, v reflect.Value) {
	text, ok := scalar(n)
	if !ok {
		d.refuse(n, "a single value is wanted here")
		return
	}
	switch v.Kind() {
	case reflect.String:
		v.SetString(text)
	case reflect.Bool:
		b, err := strconv.ParseBool(text)
		if err != nil {
			d.refuse(n, "%q is neither true nor false", text)
		}
		v.SetBool(b)
	case reflect.Int, reflect.Int64:
		i, err := strconv.ParseInt(strings.ReplaceAll(text, "_", ""), 10, 64)
		if err != nil || v.OverflowInt(i) {
			d.refuse(n, "%q is not a whole number that fits", text)
			return
		}
		v.SetInt(i)
	case reflect.Uint64:
		u, err := strconv.ParseUint(text, 10, 64)
		if err != nil {
			d.refuse(n, "%q is not a whole number from 0", text)
		}
		v.SetUint(u)
	case reflect.Float64:
		f, err := strconv.ParseFloat(text, 64)
		if err != nil || f-f != 0 {
			d.refuse(n, "%q is not a number", text)
			return
		}
		v.SetFloat(f)
	default:
		panic("yamlread: a field of kind " + v.Kind().String() + " cannot be filled")
	}
}

func scalar(n ast.Node) (string, bool) {
	switch s := n.(type) {
	case *ast.StringNode:
		return s.Value, true
	case *ast.LiteralNode:
		return s.Value.Value, true
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.InfinityNode, *ast.NanNode:
		return n.GetToken().Value, true
	}
	return "", false
}

// pairs gives the key-value pairs of a mapping, refusing keys that stand twice.
func (d *decoder) pairs(n ast.Node) ([]*ast.MappingValueNode, bool) {
	var list []*ast.MappingValueNode
	switch m := n.(type) {
	case *ast.MappingNode:
		list = m.Values
	case *ast.MappingValueNode:
		list = []*ast.MappingValueNode{m}
	default:
		return nil, false
	}
	seen := map[string]bool{}
	for _, p := range list {
		k := p.Key.GetToken().Value
		if seen[k] {
			d.refuse(p.Key, "key %q stands twice; remove one", k)
		}
		seen[k] = true
	}
	return list, true
}

func (d *decoder) structure(path string, n ast.Node, v reflect.Value, depth int) {
	list, ok := d.pairs(n)
	if !ok {
		d.refuse(n, "keys with values are wanted here: %s", keysOf(v.Type()))
		return
	}
	known := fields(v.Type())
	for _, p := range list {
		key := p.Key.GetToken().Value
		field, ok := known[key]
		if !ok {
			d.refuse(p.Key, "key %q is not known here; known are %s", key, keysOf(v.Type()))
			continue
		}
		at := key
		if path != "" {
			at = path + "." + key
		}
		d.member(at, p, v.FieldByIndex(field), depth)
	}
}

// member reads the value of a key.
func (d *decoder) member(path string, p *ast.MappingValueNode, v reflect.Value, depth int) {
	at := place(p.Key)
	at.Given = p.Value.Type() != ast.NullType
	d.places[path] = at
	d.value(path, p.Value, v, depth+1)
}

func (d *decoder) mapping(path string, n ast.Node, v reflect.Value, depth int) {
	list, ok := d.pairs(n)
	if !ok {
		d.refuse(n, "keys with values are wanted here")
		return
	}
	v.Set(reflect.MakeMap(v.Type()))
	for _, p := range list {
		e := reflect.New(v.Type().Elem()).Elem()
		key := p.Key.GetToken().Value
		d.member(path+"."+key, p, e, depth)
		v.SetMapIndex(reflect.ValueOf(key), e)
	}
}

// fields are the keys of a struct with the fields that they fill. Those of an inlined struct stand among those of the
// struct around it, which go before; a tag `keys:"E1 material=set"` takes only those of its keys, under other names
// where it says so.
func fields(t reflect.Type) map[string][]int {
	out, inlined := map[string][]int{}, map[string][]int{}
	for i := range t.NumField() {
		f := t.Field(i)
		key, option, _ := strings.Cut(f.Tag.Get("yaml"), ",")
		if option != "inline" {
			if key != "" && key != "-" {
				out[key] = f.Index
			}
			continue
		}
		inner := fields(f.Type)
		taken, some := f.Tag.Lookup("keys")
		if !some {
			taken = strings.Join(slices.Collect(maps.Keys(inner)), " ")
		}
		for _, key := range strings.Fields(taken) {
			from, to, renamed := strings.Cut(key, "=")
			if !renamed {
				to = from
			}
			inlined[to] = append([]int{i}, inner[from]...)
		}
	}
	maps.Copy(inlined, out)
	return inlined
}

func keysOf(t reflect.Type) string { return strings.Join(slices.Sorted(maps.Keys(fields(t))), ", ") }
