// Package droplist reads the list of drops of a campaign: one line a drop, one column a property.
package droplist

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"hardcatch/internal/drop"
)

// MaxBytes bounds a list; a larger file is refused.
const MaxBytes = 32 << 20

// List is what was read.
type List struct {
	Drops    []drop.Drop
	Warnings []string
}

// Read reads a list: separated by comma, semicolon or tab, with a header. Known columns are drop,
// specimen, material, construction, length, knot, batch, conditioning, rating, diameter, standard,
// prior, fall, slack, mass, record, channel, order, taken, operator, role, outcome, place, reason, scenario,
// and any number named "factor NAME". A unit may stand in the header ("fall [mm]") for bare numbers
// below it, or with each number. Required: drop, specimen, fall, record. All faults of the list are
// reported at once, each with its line; then no drop is returned.
func Read(name string, r io.Reader) (*List, error) {
	data, err := io.ReadAll(io.LimitReader(r, MaxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if len(data) > MaxBytes {
		return nil, fmt.Errorf("%s: more than %d MB are no drop list; did you give a record file?", name, MaxBytes>>20)
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	cr := csv.NewReader(bytes.NewReader(data))
	cr.Comma, cr.Comment, cr.FieldsPerRecord, cr.TrimLeadingSpace = Separator(data), '#', -1, true
	header, err := cr.Read()
	if errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("%s: the file is empty; the first line names the columns, at least drop, specimen, fall, record", name)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	line, _ := cr.FieldPos(0)
	cols, warnings, err := columns(fmt.Sprintf("%s:%d", name, line), header)
	if err != nil {
		return nil, err
	}
	l := &List{Warnings: warnings}
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
		d, err := readDrop(cols, fields)
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
		return nil, errors.Join(faults...)
	}
	if len(l.Drops) == 0 {
		return nil, fmt.Errorf("%s: there is a header but no drop below it", name)
	}
	return l, nil
}

// Separator is the candidate that occurs most often in the first line.
func Separator(data []byte) rune {
	first := data
	for bytes.HasPrefix(first, []byte("#")) {
		_, rest, found := bytes.Cut(first, []byte("\n"))
		if !found {
			break
		}
		first = rest
	}
	first, _, _ = bytes.Cut(first, []byte("\n"))
	best, most := ',', -1
	for _, c := range []rune{',', ';', '\t'} {
		if n := bytes.Count(first, []byte(string(c))); n > most {
			best, most = c, n
		}
	}
	return best
}

type column struct {
	name string
	unit string
	set  func(d *drop.Drop, v string) error
}

func columns(place string, header []string) ([]column, []string, error) {
	var cols []column
	var warnings []string
	have := map[string]bool{}
	for _, h := range header {
		name, unit := SplitUnit(h)
		name = strings.ToLower(strings.Join(strings.FieldsFunc(name, func(r rune) bool { return r == '_' || r == ' ' || r == '-' }), " "))
		if a, ok := aliases[name]; ok {
			name = a
		}
		c := column{name: name, unit: unit}
		if f, ok := strings.CutPrefix(name, "factor "); ok && name != "factor " {
			c.set = func(d *drop.Drop, v string) error {
				if d.Factors == nil {
					d.Factors = map[string]string{}
				}
				d.Factors[f] = v
				return nil
			}
		} else {
			c.set = setters[name]
		}
		if have[name] {
			return nil, nil, fmt.Errorf("%s: column %s stands twice; remove or rename one", place, name)
		}
		have[name] = true
		if c.set == nil && name != "" {
			warnings = append(warnings, fmt.Sprintf("%s: column %q is not known and not used; name it \"factor %s\" if drops are to be compared by it", place, h, name))
		}
		cols = append(cols, c)
	}
	for _, must := range []string{"drop", "specimen", "fall", "record"} {
		if !have[must] {
			return nil, nil, fmt.Errorf("%s: column %s is missing; the header has %s", place, must, strings.Join(header, ", "))
		}
	}
	return cols, warnings, nil
}

var aliases = map[string]string{
	"fall height": "fall", "height": "fall", "free fall": "fall", "file": "record", "record file": "record", "date": "taken",
	"termination": "knot", "condition": "conditioning", "break place": "place", "run order": "order", "working length": "length",
}

// SplitUnit cuts "fall [mm]" or "fall (mm)" into name and unit.
func SplitUnit(h string) (name, unit string) {
	h = strings.TrimSpace(h)
	for _, b := range []string{"[]", "()"} {
		if i := strings.IndexByte(h, b[0]); i > 0 && h[len(h)-1] == b[1] {
			return strings.TrimSpace(h[:i]), strings.TrimSpace(h[i+1 : len(h)-1])
		}
	}
	return h, ""
}

func readDrop(cols []column, fields []string) (drop.Drop, error) {
	d := drop.Drop{Role: drop.Trial}
	given := map[string]bool{}
	if len(fields) > len(cols) {
		return d, fmt.Errorf("%d fields where the header has %d; is a decimal comma split by a comma separator?", len(fields), len(cols))
	}
	for i, f := range fields {
		f = strings.TrimSpace(f)
		c := cols[i]
		if f == "" || c.set == nil {
			continue
		}
		given[c.name] = true
		if c.unit != "" {
			if _, err := strconv.ParseFloat(strings.Replace(f, ",", ".", 1), 64); err == nil {
				f += " " + c.unit
			}
		}
		if err := c.set(&d, f); err != nil {
			return d, fmt.Errorf("column %s: %w", c.name, err)
		}
	}
	if !given["fall"] {
		return d, fmt.Errorf("drop %s has no fall; fill the column fall, with 0 m for a load let go when taut", d.ID)
	}
	if d.Record == "" {
		return d, fmt.Errorf("drop %s has no record; fill the column record with the file name", d.ID)
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
