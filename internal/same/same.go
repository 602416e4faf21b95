// Package same holds a result against one that was kept: every number to the last bit.
package same

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"runtime"
	"slices"
	"strconv"
)

// Difference is one value that is not as it was kept.
type Difference struct {
	Where    string `json:"where"`    // path of names, "measures[2].u"
	Expected string `json:"expected"` // as kept, numbers as shortest decimals that give the same bits back
	Found    string `json:"found"`
}

func (d Difference) String() string {
	return fmt.Sprintf("%s: expected %s, found %s", d.Where, d.Expected, d.Found)
}

// Report is what a comparison of two results found.
type Report struct {
	Numbers int // compared
	Texts   int // compared, truth values among them
	Differ  []Difference
}

// Machine is what decides how a program rounds.
type Machine struct {
	Arch  string `json:"arch"`  // as Go names it: amd64, arm64
	Exact bool   `json:"exact"` // every product is rounded before it is added
	Go    string `json:"go"`    // version of the compiler
}

// Here is the machine of this program.
func Here() Machine { return Machine{runtime.GOARCH, exact, runtime.Version()} }

// RoundsAs tells that both round alike, as far as is known: on machines of one kind the same program gives the same bits.
func (m Machine) RoundsAs(o Machine) bool { return m.Arch == o.Arch && m.Exact == o.Exact }

// String names the machine.
func (m Machine) String() string {
	if m.Arch == "amd64" && !m.Exact {
		return m.Arch + " (fused), " + m.Go
	}
	return m.Arch + ", " + m.Go
}

// Elsewhere is how far, relative to the number kept, a number may lie off when it was made on a machine that rounds otherwise. On arm64
// main results were found to agree to 1e-13, and small terms of a budget, differences of large numbers, to 1e-8.
const Elsewhere = 1e-7

// Tolerance is how far, relative to the number kept, a number may lie off on this machine: 0 where the compiler gives the same
// bits (amd64 up to GOAMD64=v2), else 1e-7. Where the compiler fuses x*y + z it leaves one rounding of 1e-16 out, which
// the language permits; the small terms of a budget are differences of numbers up to a billion times larger.
func Tolerance() float64 {
	if exact {
		return 0
	}
	return Elsewhere
}

// JSON compares two JSON values name by name. Numbers may lie off by rel times the number kept and
// a thousandth of rel (what is left over of an energy balance is nothing but rounding), 0 asks for the same bits;
// texts, truth values, names and their order, and lengths of lists must be equal; where numbers may lie off, so may those within texts. It fails when either is not JSON.
func JSON(kept, found []byte, rel float64) (Report, error) {
	a, err := decode(kept)
	if err != nil {
		return Report{}, fmt.Errorf("the result kept is not JSON: %w", err)
	}
	b, err := decode(found)
	if err != nil {
		return Report{}, fmt.Errorf("the result found is not JSON: %w", err)
	}
	var r Report
	r.compare("", a, b, rel)
	return r, nil
}

func decode(text []byte) (any, error) {
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	v, err := value(d)
	if err != nil {
		return nil, err
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("something follows the value")
	}
	return v, nil
}

// object keeps the order of its names.
type object struct {
	names  []string
	values map[string]any
}

func value(d *json.Decoder) (any, error) {
	t, err := d.Token()
	if err != nil {
		return nil, err
	}
	switch t {
	case json.Delim('{'):
		o := object{values: map[string]any{}}
		for d.More() {
			name, err := d.Token()
			if err != nil {
				return nil, err
			}
			v, err := value(d)
			if err != nil {
				return nil, err
			}
			o.names = append(o.names, name.(string))
			o.values[name.(string)] = v
		}
		_, err := d.Token()
		return o, err
	case json.Delim('['):
		list := []any{}
		for d.More() {
			v, err := value(d)
			if err != nil {
				return nil, err
			}
			list = append(list, v)
		}
		_, err := d.Token()
		return list, err
	}
	return t, nil
}

func (r *Report) differ(where string, a, b any) {
	r.Differ = append(r.Differ, Difference{where, text(a), text(b)})
}

func text(v any) string {
	switch v := v.(type) {
	case nil:
		return "nothing"
	case object:
		return fmt.Sprintf("an object of %d names", len(v.names))
	case []any:
		return fmt.Sprintf("a list of %d", len(v))
	case string:
		return strconv.Quote(v)
	}
	return fmt.Sprint(v)
}

func (r *Report) compare(where string, a, b any, rel float64) {
	switch a := a.(type) {
	case object:
		o, ok := b.(object)
		before := len(r.Differ)
		if !ok {
			r.differ(where, a, b)
			return
		}
		for _, n := range a.names {
			v, has := o.values[n]
			if !has {
				r.differ(join(where, n), a.values[n], nil)
				continue
			}
			r.compare(join(where, n), a.values[n], v, rel)
		}
		for _, n := range o.names {
			if _, has := a.values[n]; !has {
				r.differ(join(where, n), nil, o.values[n])
			}
		}
		if len(r.Differ) == before && !slices.Equal(a.names, o.names) {
			r.Differ = append(r.Differ, Difference{where, fmt.Sprintf("names in the order %q", a.names), fmt.Sprintf("%q", o.names)})
		}
	case []any:
		l, ok := b.([]any)
		if !ok || len(l) != len(a) {
			r.differ(where, a, b)
			return
		}
		for i := range a {
			r.compare(fmt.Sprintf("%s[%d]", where, i), a[i], l[i], rel)
		}
	case json.Number:
		r.Numbers++
		n, ok := b.(json.Number)
		if !ok || !number(a, n, rel) {
			r.differ(where, a, b)
		}
	default:
		if a != nil {
			r.Texts++
		}
		if _, list := b.([]any); list {
			r.differ(where, a, b)
		} else if _, obj := b.(object); obj || a != b && !(rel > 0 && words(a) == words(b)) {
			r.differ(where, a, b)
		}
	}
}

// words is a text without the digits in it.
func words(v any) any {
	if s, ok := v.(string); ok {
		return digits.ReplaceAllString(s, "#")
	}
	return v
}

var digits = regexp.MustCompile(`[0-9]+`)

func join(where, name string) string {
	if where == "" {
		return name
	}
	return where + "." + name
}

func number(a, b json.Number, rel float64) bool {
	x, errX := a.Float64()
	y, errY := b.Float64()
	if errX != nil || errY != nil {
		return a == b
	}
	return math.Float64bits(x) == math.Float64bits(y) || rel > 0 && math.Abs(x-y) <= rel*math.Abs(x)+rel/1000
}
