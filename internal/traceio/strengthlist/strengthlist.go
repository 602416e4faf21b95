// Package strengthlist reads strengths, or any life data, of which some were only held and not reached.
package strengthlist

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/traceio/tabular"
)

// List is what was read.
type List struct {
	Name string
	// Values are in SI when the column or the values have a unit, else as written.
	Values   []censor.Value
	Lines    []int
	Void     int          // lines left out because they are void
	Again    int          // lines left out because their specimen has a line before
	Unit     string       // SI unit of the values, "" for bare numbers
	IsForce  bool         // Unit is N
	Quantity string       // name of the value column as written
	Warnings []string     //
	dim      quantity.Dim //
}

var aliases = map[string]string{
	"strength": "value", "force": "value", "peak": "value", "peak force": "value", "break force": "value", "breaking force": "value", "life": "value", "time": "value", "hours": "value", "cycles": "value", "load": "value", "height": "value",
	"held/broke": "outcome", "broke/held": "outcome", "held or broke": "outcome", "state": "outcome", "status": "outcome", "result": "outcome",
	"lower": "at least", "from": "at least", "upper": "at most", "to": "at most", "n": "count", "number": "count", "specimen id": "specimen", "id": "specimen", "sample": "specimen",
}

const needs = "value and outcome (held or broke), or at least and at most"

var words = map[string]string{
	"broke": "broke", "broken": "broke", "failed": "broke", "failure": "broke",
	"held": "held", "survived": "held", "unfailed": "held", "unbroken": "held", "censored": "held", "slipped": "held",
	"void": "void",
}

// Read reads a list: a header, then one line a specimen with its value and outcome. Broke makes the value
// exact; held and slipped make it a lower bound; void lines are left out. Instead, the columns "at least" and
// "at most" bound a value, either of them empty when there is no such bound. A column count tells how many are
// alike. Where a column names the specimen, its first line that is not void counts, and others are left out with a warning. All faults are reported at once, each with its line; then no value is returned.
func Read(name string, r io.Reader) (*List, error) {
	t, err := tabular.Read(name, r, aliases, needs)
	if err != nil {
		return nil, err
	}
	l := &List{Name: name}
	read, err := l.reader(t)
	if err != nil {
		return nil, err
	}
	faults := t.Broken
	first := map[string]int{} // line of a specimen
	for _, row := range t.Rows {
		v, keep, err := read(row)
		if err == nil && keep {
			v.Count, err = count(row.Field(t.Index("count")))
		}
		if err == nil && keep {
			err = v.Check()
		}
		switch {
		case err != nil:
			faults = append(faults, fmt.Errorf("%s: %w", t.Place(row.Line), err))
		case !keep:
			l.Void++
		case l.again(t, row, first):
		default:
			l.Values, l.Lines = append(l.Values, v), append(l.Lines, row.Line)
		}
	}
	if len(faults) > 0 {
		return nil, t.Faults(faults)
	}
	if len(l.Values) == 0 {
		return nil, fmt.Errorf("%s: there is a header but no value below it", name)
	}
	for _, c := range t.Columns {
		switch c.Name {
		case "value", "outcome", "at least", "at most", "count", "specimen", "drop", "note", "":
		default:
			l.Warnings = append(l.Warnings, fmt.Sprintf("%s: column %q is not used; all values are taken as one kind of specimen", t.Place(t.Line), c.Raw))
		}
	}
	return l, nil
}

// again tells, and warns, that a specimen has a line already, which counts.
func (l *List) again(t *tabular.Table, row tabular.Row, first map[string]int) bool {
	id := strings.TrimSpace(row.Field(t.Index("specimen")))
	if id == "" {
		return false
	}
	if at, ok := first[id]; ok {
		l.Again++
		l.Warnings = append(l.Warnings, fmt.Sprintf("%s: specimen %s stands in line %d already, which counts, and is left out here: a specimen has one strength", t.Place(row.Line), id, at))
		return true
	}
	first[id] = row.Line
	return false
}

func (l *List) reader(t *tabular.Table) (func(tabular.Row) (censor.Value, bool, error), error) {
	value, outcome, lo, hi := t.Index("value"), t.Index("outcome"), t.Index("at least"), t.Index("at most")
	switch {
	case value >= 0 && outcome >= 0 && lo < 0 && hi < 0:
		l.Quantity = t.Columns[value].Raw
		return func(row tabular.Row) (censor.Value, bool, error) {
			word := strings.ToLower(row.Field(outcome))
			o, ok := words[word]
			if !ok {
				return censor.Value{}, false, fmt.Errorf("the outcome %q is not known; write held or broke", row.Field(outcome))
			}
			if o == "void" {
				return censor.Value{}, false, nil
			}
			v, err := l.number(t.Columns[value], row.Field(value))
			if o == "held" {
				return censor.AtLeast(v), true, err
			}
			return censor.Exact(v), true, err
		}, nil
	case lo >= 0 && hi >= 0 && value < 0:
		l.Quantity = t.Columns[lo].Raw
		return func(row tabular.Row) (censor.Value, bool, error) {
			v := censor.Between(math.Inf(-1), math.Inf(1))
			var err error
			if f := row.Field(lo); f != "" {
				v.Lo, err = l.number(t.Columns[lo], f)
			}
			if f := row.Field(hi); f != "" && err == nil {
				v.Hi, err = l.number(t.Columns[hi], f)
			}
			return v, true, err
		}, nil
	}
	return nil, fmt.Errorf("%s: the columns must be %s; the header has %s", t.Place(t.Line), needs, t.Header())
}

// number reads a value and holds all values to one dimension.
func (l *List) number(c tabular.Column, field string) (float64, error) {
	if field == "" {
		return 0, fmt.Errorf("column %s is empty; write the value, or void as outcome", c.Name)
	}
	v, unit, bare, err := quantity.ParseAny(c.WithUnit(field))
	if err != nil {
		return 0, fmt.Errorf("column %s: %w", c.Name, err)
	}
	dim, text := unit.Dim, unit.Dim.Unit()
	if bare {
		dim, text = quantity.Dim{}, ""
	}
	first := l.dim == quantity.Dim{} && l.Unit == "" && len(l.Values) == 0
	if first {
		l.dim, l.Unit, l.IsForce = dim, text, dim == quantity.DimForce && !bare
	} else if dim != l.dim || text != l.Unit {
		return 0, fmt.Errorf("column %s: %q does not go with the unit of the lines above (%s); give every value the same kind of unit, best in the header", c.Name, field, shown(l.Unit))
	}
	return v, nil
}

func shown(unit string) string {
	if unit == "" {
		return "bare numbers"
	}
	return unit
}

func count(field string) (int, error) {
	if field == "" {
		return 0, nil
	}
	n, err := strconv.Atoi(field)
	if err != nil || n < 1 {
		return 0, fmt.Errorf("column count: %q is not a whole number from 1; leave it empty for one", field)
	}
	return n, nil
}
