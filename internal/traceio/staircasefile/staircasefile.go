// Package staircasefile reads an up-and-down series: one line a drop, in the order they were made.
package staircasefile

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"hardcatch/internal/drop"
	"hardcatch/internal/plan"
	"hardcatch/internal/quantity"
	"hardcatch/internal/traceio/droplist"
)

// MaxBytes bounds a series; a larger file is refused.
const MaxBytes = 1 << 20

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
	data, err := io.ReadAll(io.LimitReader(r, MaxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if len(data) > MaxBytes {
		return nil, fmt.Errorf("%s: more than %d MB are no series of drops; did you give a record file?", name, MaxBytes>>20)
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	cr := csv.NewReader(bytes.NewReader(data))
	cr.Comma, cr.Comment, cr.FieldsPerRecord, cr.TrimLeadingSpace = droplist.Separator(data), '#', -1, true
	header, err := cr.Read()
	if errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("%s: the file is empty; the first line names the columns height (or slack) and outcome", name)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	line, _ := cr.FieldPos(0)
	s := &Series{}
	cols, err := s.columns(fmt.Sprintf("%s:%d", name, line), header)
	if err != nil {
		return nil, err
	}
	var faults []error
	seen := map[string]int{}
	for {
		fields, err := cr.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			faults = append(faults, fmt.Errorf("%s: %w", name, err))
			break
		}
		line, _ := cr.FieldPos(0)
		place := fmt.Sprintf("%s:%d", name, line)
		d, outcome, err := cols.read(fields)
		if err == nil && d.Specimen != "" {
			if first, twice := seen[d.Specimen]; twice {
				err = fmt.Errorf("specimen %s was dropped in line %d already; a dropped specimen is no new one: leave the line out, or correct the name", d.Specimen, first)
			}
			seen[d.Specimen] = line
		}
		switch {
		case err != nil:
			faults = append(faults, fmt.Errorf("%s: %w", place, err))
		case outcome == drop.Void:
			s.Warnings = append(s.Warnings, place+": the drop is void and left out; the rule goes on from the drop before it")
		default:
			d.Line = line
			s.Drops = append(s.Drops, d)
		}
	}
	if len(faults) > 0 {
		return nil, errors.Join(faults...)
	}
	if len(s.Drops) == 0 {
		return nil, fmt.Errorf("%s: there is a header but no drop below it that counts", name)
	}
	return s, nil
}

// columns are the places of what is read; -1 = not there.
type columns struct {
	height, outcome, specimen int
	width                     int
	name, unit                string
}

var heights = []string{"height", "fall", "fall height", "free fall", "slack"}

func (s *Series) columns(place string, header []string) (columns, error) {
	c := columns{height: -1, outcome: -1, specimen: -1, width: len(header)}
	for i, h := range header {
		name, unit := droplist.SplitUnit(h)
		name = strings.ToLower(strings.Join(strings.FieldsFunc(name, func(r rune) bool { return r == '_' || r == ' ' || r == '-' }), " "))
		at := &c.specimen
		switch {
		case slices.Contains(heights, name):
			if c.height >= 0 {
				return c, fmt.Errorf("%s: both %s and %s are given; only one of them can be stepped: remove the other", place, c.name, name)
			}
			c.name, c.unit = name, unit
			if s.Axis = "height"; name == "slack" {
				s.Axis = name
			}
			at = &c.height
		case name == "outcome" || name == "result":
			at = &c.outcome
		case name == "specimen":
		default:
			if name != "" {
				s.Warnings = append(s.Warnings, fmt.Sprintf("%s: column %q is not used here", place, h))
			}
			continue
		}
		if *at >= 0 {
			return c, fmt.Errorf("%s: column %s stands twice; remove or rename one", place, name)
		}
		*at = i
	}
	if c.height < 0 || c.outcome < 0 {
		return c, fmt.Errorf("%s: the columns height (or slack) and outcome are needed; the header has %s", place, strings.Join(header, ", "))
	}
	return c, nil
}

func (c columns) read(fields []string) (d plan.UpDownDrop, o drop.Outcome, err error) {
	if len(fields) > c.width {
		return d, o, fmt.Errorf("%d fields where the header has %d; is a decimal comma split by a comma separator?", len(fields), c.width)
	}
	at := func(i int) string {
		if i < 0 || i >= len(fields) {
			return ""
		}
		return strings.TrimSpace(fields[i])
	}
	d.Specimen = at(c.specimen)
	h := at(c.height)
	if h == "" {
		return d, o, fmt.Errorf("the drop has no %s; fill the column", c.name)
	}
	if c.unit != "" {
		if _, err := strconv.ParseFloat(strings.Replace(h, ",", ".", 1), 64); err == nil {
			h += " " + c.unit
		}
	}
	if err := d.Height.UnmarshalText([]byte(h)); err != nil {
		return d, o, fmt.Errorf("column %s: %w", c.name, err)
	}
	if d.Height <= 0 || d.Height > mostBelieved {
		return d, o, fmt.Errorf("a %s of %s is not believed; it lies above 0, and a bare number is metres: write for example 900 mm", c.name, d.Height)
	}
	if o, err = drop.ParseOutcome(at(c.outcome)); err != nil {
		return d, o, fmt.Errorf("column outcome: %w", err)
	}
	if o == drop.Slipped {
		return d, o, fmt.Errorf("slipped is neither held nor broke; write broke if a slip is what you ask about, held if it is not, void if the drop does not count")
	}
	d.Broke = o == drop.Broke
	return d, o, nil
}
