// Package droplist reads the list of drops of a campaign: one line a drop, one column a property.
package droplist

import (
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/traceio/tabular"
)

// List is what was read.
type List struct {
	Drops    []drop.Drop
	Warnings []string
	columns  map[string]bool // the names in the header
}

// Has tells that the list has the column.
func (l *List) Has(column string) bool { return l.columns[column] }

// Keep gives a drop of the list what an earlier entry of it says in the columns that the list does not have: a list never clears what it
// does not speak of.
func (l *List) Keep(d, before drop.Drop) drop.Drop {
	for name, c := range known {
		if !l.Has(name) {
			c.keep(&d, &before)
		}
	}
	d.Factors = maps.Clone(d.Factors)
	for name, level := range before.Factors {
		if !l.Has("factor " + name) {
			if d.Factors == nil {
				d.Factors = map[string]string{}
			}
			d.Factors[name] = level
		}
	}
	if d.Entered.Outcome != "" {
		d.Entered.Drop = d.ID
	}
	return d
}

// Read reads a list: separated by comma, semicolon or tab, with a header. Known columns are drop,
// specimen, material, construction, length, knot, batch, conditioning, rating, diameter, standard,
// prior, fall, slack, mass, record, channel, order, taken, operator, role, outcome, place, reason, scenario,
// and any number named "factor NAME". A unit may stand in the header ("fall [mm]") for bare numbers
// below it, or with each number. Required: drop, specimen, fall, record. All faults of the list are
// reported at once, each with its line; then no drop is returned.
func Read(name string, r io.Reader) (*List, error) {
	return read(name, r, []string{"drop", "specimen", "fall", "record"})
}

// ReadPlanned reads a list in which the record may be left empty, or the column be missing: such a drop is planned
// and not taken. It may carry no outcome. All else is as with Read.
func ReadPlanned(name string, r io.Reader) (*List, error) {
	return read(name, r, []string{"drop", "specimen", "fall"})
}

// read reads a list with the columns that it must have; drops without a record are refused when record is one.
func read(name string, r io.Reader, required []string) (*List, error) {
	t, err := tabular.Read(name, r, aliases, "at least "+strings.Join(required, ", "))
	if err != nil {
		return nil, err
	}
	cols, warnings, err := columns(t, required)
	if err != nil {
		return nil, err
	}
	l := &List{Warnings: warnings, columns: map[string]bool{}}
	for _, c := range cols {
		l.columns[c.Name] = true
	}
	faults := t.Broken
	seen := map[string]int{}
	ahead := 0
	for _, row := range t.Rows {
		line, place := row.Line, t.Place(row.Line)
		if slices.Contains(required, "record") && open(cols, row) {
			ahead++
			continue
		}
		d, err := readDrop(cols, row)
		if err == nil {
			err = checkRecord(d, slices.Contains(required, "record"))
		}
		if err == nil {
			err = d.Validate()
		}
		if err != nil {
			faults = append(faults, fmt.Errorf("%s: %w", place, err))
			continue
		}
		if first, twice := seen[d.ID]; twice {
			faults = append(faults, fmt.Errorf("%s: drop %s stands in line %d already; give each drop its own name", place, d.ID, first))
			continue
		}
		seen[d.ID] = line
		d.ListLine = line
		l.Drops = append(l.Drops, d)
	}
	if len(faults) > 0 {
		return nil, t.Faults(faults)
	}
	if ahead > 0 && len(l.Drops) > 0 {
		l.Warnings = append(l.Warnings, fmt.Sprintf("%s: %d of %d drops have neither record, date nor outcome and count as not taken yet", name, ahead, ahead+len(l.Drops)))
	}
	if ahead > 0 && len(l.Drops) == 0 {
		return nil, fmt.Errorf("%s: none of the %d drops has a record, a date or an outcome; fill the columns taken and record of those that were taken", name, ahead)
	}
	if len(l.Drops) == 0 {
		return nil, fmt.Errorf("%s: there is a header but no drop below it", name)
	}
	return l, nil
}

type column struct {
	tabular.Column
	set func(d *drop.Drop, v string) error
}

func columns(t *tabular.Table, required []string) ([]column, []string, error) {
	var cols []column
	var warnings []string
	for _, h := range t.Columns {
		c := column{Column: h}
		if f, ok := strings.CutPrefix(h.Name, "factor "); ok && f != "" {
			c.set = func(d *drop.Drop, v string) error {
				if d.Factors == nil {
					d.Factors = map[string]string{}
				}
				d.Factors[f] = v
				return nil
			}
		} else {
			c.set = known[h.Name].set
		}
		if meant := mistyped(h.Name); c.set == nil && meant != "" {
			return nil, nil, fmt.Errorf("%s: column %q is not known; %s was probably meant: correct the header, or name it \"factor %s\" if it is a factor of your own", t.Place(t.Line), h.Raw, meant, h.Name)
		}
		if c.set == nil && h.Name != "" {
			warnings = append(warnings, fmt.Sprintf("%s: column %q is not known and not used; name it \"factor %s\" if drops are to be compared by it", t.Place(t.Line), h.Raw, h.Name))
		}
		cols = append(cols, c)
	}
	for _, must := range required {
		if t.Index(must) < 0 {
			return nil, nil, fmt.Errorf("%s: column %s is missing; the header has %s", t.Place(t.Line), must, t.Header())
		}
	}
	return cols, warnings, nil
}

func checkRecord(d drop.Drop, required bool) error {
	switch {
	case d.Record != "":
		return nil
	case required:
		return fmt.Errorf("drop %s has no record; fill the column record with the file name, or add the list as planned", d.ID)
	case d.Entered.Outcome != "":
		return fmt.Errorf("drop %s has an outcome but no record; fill the column record, or leave the outcome out of a planned drop", d.ID)
	}
	return nil
}

var aliases = map[string]string{
	"fall height": "fall", "height": "fall", "free fall": "fall", "file": "record", "record file": "record", "date": "taken",
	"termination": "knot", "condition": "conditioning", "break place": "place", "run order": "order", "working length": "length",
}

// open tells that a line is a planned drop that was not taken yet: the list has the columns taken and outcome, and
// the line has nothing in them nor in record.
func open(cols []column, row tabular.Row) bool {
	asked := 0
	for i, c := range cols {
		switch c.Name {
		case "taken", "outcome":
			asked++
		case "record":
		default:
			continue
		}
		if row.Field(i) != "" {
			return false
		}
	}
	return asked == 2 && len(row.Fields) == len(cols)
}

func readDrop(cols []column, row tabular.Row) (drop.Drop, error) {
	d := drop.Drop{Role: drop.Trial}
	given := map[string]bool{}
	for i, c := range cols {
		f := row.Field(i)
		if f == "" || c.set == nil {
			continue
		}
		given[c.Name] = true
		if err := c.set(&d, c.WithUnit(f)); err != nil {
			return d, fmt.Errorf("column %s: %w", c.Name, err)
		}
	}
	if !given["fall"] {
		return d, fmt.Errorf("drop %s has no fall; fill the column fall, with 0 m for a load let go when taut", d.ID)
	}
	if d.Entered.Outcome == "" && (d.Entered.Reason != "" || d.Entered.Place != "") {
		return d, fmt.Errorf("drop %s has a reason or break place but no outcome; fill the column outcome", d.ID)
	}
	if d.Entered.Outcome != "" {
		d.Entered.Drop = d.ID
		if err := d.Entered.Check(); err != nil {
			return d, err
		}
	}
	return d, nil
}
