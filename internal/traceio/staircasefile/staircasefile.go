// Package staircasefile reads an up-and-down series: one line a drop, in the order they were made.
package staircasefile

import (
	"fmt"
	"io"
	"slices"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/plan"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/traceio/tabular"
)

// mostBelieved is the greatest height that is not taken for a mistaken unit.
const mostBelieved = quantity.Length(100)

// Series is what was read.
type Series struct {
	Axis     string // "height" or "slack"
	Drops    []plan.UpDownDrop
	Warnings []string
}

// Read reads a series: separated by comma, semicolon or tab, with a header. Columns are height or slack, with the unit in the
// header ("height [mm]") or with each number, outcome (held, broke, or void, which is left out with a warning), and
// if wished specimen. All faults are reported at once, each with its line; then no drop is returned.
func Read(name string, r io.Reader) (*Series, error) {
	t, err := tabular.Read(name, r, nil, "height (or slack) and outcome")
	if err != nil {
		return nil, err
	}
	s := &Series{}
	cols, err := s.columns(t)
	if err != nil {
		return nil, err
	}
	faults := t.Broken
	seen := map[string]int{}
	for _, row := range t.Rows {
		d, outcome, err := cols.read(t, row)
		if err == nil && d.Specimen != "" {
			if first, twice := seen[d.Specimen]; twice {
				err = fmt.Errorf("specimen %s was dropped in line %d already; a dropped specimen is no new one: leave the line out, or correct the name", d.Specimen, first)
			}
			seen[d.Specimen] = row.Line
		}
		switch {
		case err != nil:
			faults = append(faults, fmt.Errorf("%s: %w", t.Place(row.Line), err))
		case outcome == drop.Void:
			s.Warnings = append(s.Warnings, t.Place(row.Line)+": the drop is void and left out; the rule goes on from the drop before it")
		default:
			d.Line = row.Line
			s.Drops = append(s.Drops, d)
		}
	}
	if len(faults) > 0 {
		return nil, t.Faults(faults)
	}
	if len(s.Drops) == 0 {
		return nil, fmt.Errorf("%s: there is a header but no drop below it that counts", name)
	}
	return s, nil
}

// columns are the places of what is read; -1 = not there.
type columns struct{ height, outcome, specimen int }

var heights = []string{"height", "fall", "fall height", "free fall", "slack"}

func (s *Series) columns(t *tabular.Table) (columns, error) {
	c := columns{height: -1, outcome: -1, specimen: -1}
	for i, h := range t.Columns {
		at := &c.specimen
		switch {
		case slices.Contains(heights, h.Name):
			if c.height >= 0 {
				return c, fmt.Errorf("%s: both %s and %s are given; only one of them can be stepped: remove the other", t.Place(t.Line), t.Columns[c.height].Name, h.Name)
			}
			if s.Axis = "height"; h.Name == "slack" {
				s.Axis = h.Name
			}
			at = &c.height
		case h.Name == "outcome" || h.Name == "result":
			at = &c.outcome
		case h.Name == "specimen":
		default:
			if h.Name != "" {
				s.Warnings = append(s.Warnings, fmt.Sprintf("%s: column %q is not used here", t.Place(t.Line), h.Raw))
			}
			continue
		}
		if *at >= 0 {
			return c, fmt.Errorf("%s: column %s stands twice; remove or rename one", t.Place(t.Line), h.Name)
		}
		*at = i
	}
	if c.height < 0 || c.outcome < 0 {
		return c, fmt.Errorf("%s: the columns height (or slack) and outcome are needed; the header has %s", t.Place(t.Line), t.Header())
	}
	return c, nil
}

func (c columns) read(t *tabular.Table, row tabular.Row) (d plan.UpDownDrop, o drop.Outcome, err error) {
	d.Specimen = row.Field(c.specimen)
	column := t.Columns[c.height]
	h := row.Field(c.height)
	if h == "" {
		return d, o, fmt.Errorf("the drop has no %s; fill the column", column.Name)
	}
	h = column.WithUnit(h)
	if err := d.Height.UnmarshalText([]byte(h)); err != nil {
		return d, o, fmt.Errorf("column %s: %w", column.Name, err)
	}
	if d.Height <= 0 || d.Height > mostBelieved {
		return d, o, fmt.Errorf("a %s of %s is not believed; it lies above 0, and a bare number is metres: write for example 900 mm", column.Name, d.Height)
	}
	if o, err = drop.ParseOutcome(row.Field(c.outcome)); err != nil {
		return d, o, fmt.Errorf("column outcome: %w", err)
	}
	if o == drop.Slipped {
		return d, o, fmt.Errorf("slipped is neither held nor broke; write broke if a slip is what you ask about, held if it is not, void if the drop does not count")
	}
	d.Broke = o == drop.Broke
	return d, o, nil
}
