// Package tabular reads small delimited tables that people write by hand.
package tabular

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
)

// Bounds of a table; a larger one is refused.
const (
	MaxBytes   = 8 << 20
	MaxLines   = 50_000
	MaxColumns = 1000
	maxLine    = 64 << 10
	// shownFaults is how many faults of a table are told one by one.
	shownFaults = 20
)

// Column is one column's header.
type Column struct {
	Name string // in lower case, words parted by one blank
	Unit string // from "fall [mm]" or "fall (mm)", "" when none is given
	Raw  string // as written
}

// Row is one line below the header. Fields are trimmed and as many as there are columns at most.
type Row struct {
	Line   int
	Fields []string
}

// Field is the row's entry in column i, "" when the line ends before it.
func (r Row) Field(i int) string {
	if i < 0 || i >= len(r.Fields) {
		return ""
	}
	return r.Fields[i]
}

// Table is a header with the lines below it.
type Table struct {
	Name    string
	Line    int // of the header
	Columns []Column
	Rows    []Row
	Broken  []error // lines that cannot be taken apart, each with its place; they are not among Rows
}

// Index is the column named, -1 when there is none.
func (t *Table) Index(name string) int {
	for i, c := range t.Columns {
		if c.Name == name {
			return i
		}
	}
	return -1
}

// Header is the header as written.
func (t *Table) Header() string {
	raw := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		raw[i] = c.Raw
	}
	return strings.Join(raw, ", ")
}

// Place is "name:line".
func (t *Table) Place(line int) string { return fmt.Sprintf("%s:%d", t.Name, line) }

// Read reads a table separated by comma, semicolon or tab, whichever the header has most of. Lines that
// start with # are comments. other maps further names of columns to those used here. needs says in an error
// which columns are expected.
func Read(name string, r io.Reader, other map[string]string, needs string) (*Table, error) {
	data, err := io.ReadAll(io.LimitReader(r, MaxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if len(data) > MaxBytes {
		return nil, fmt.Errorf("%s: more than %d MB are no list; did you give a record file?", name, MaxBytes>>20)
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	sep := separator(data)
	if err := measured(name, data, byte(sep)); err != nil {
		return nil, err
	}
	cr := csv.NewReader(bytes.NewReader(data))
	cr.Comma, cr.Comment, cr.FieldsPerRecord, cr.TrimLeadingSpace = sep, '#', -1, true
	header, err := cr.Read()
	if errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("%s: the file is empty; the first line names the columns, %s", name, needs)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	t := &Table{Name: name}
	t.Line, _ = cr.FieldPos(0)
	seen := map[string]bool{}
	for _, h := range header {
		c := column(h, other)
		if seen[c.Name] {
			return nil, fmt.Errorf("%s: column %s stands twice; remove or rename one", t.Place(t.Line), c.Name)
		}
		seen[c.Name] = true
		t.Columns = append(t.Columns, c)
	}
	t.rows(cr)
	return t, nil
}

// measured refuses what is no list that people write before it is taken apart.
func measured(name string, data []byte, sep byte) error {
	line := 0
	for len(data) > 0 {
		if line++; line > MaxLines {
			return fmt.Errorf("%s:%d: more than %d lines are no list; did you give a record file?", name, line, MaxLines)
		}
		text, rest, _ := bytes.Cut(data, []byte("\n"))
		if len(text) > maxLine {
			return fmt.Errorf("%s:%d: a line of %d kB is no list; give one line a drop", name, line, len(text)>>10)
		}
		if n := bytes.Count(text, []byte{sep}); n >= MaxColumns {
			return fmt.Errorf("%s:%d: %d columns are no list (at most %d); give one line a drop", name, line, n+1, MaxColumns)
		}
		data = rest
	}
	return nil
}

// Faults is the faults of a table as one error, the first of them one by one; nil when there are none.
func (t *Table) Faults(list []error) error {
	if n := len(list) - shownFaults; n > 0 {
		list = append(list[:shownFaults:shownFaults], fmt.Errorf("%s: %d more lines have faults; mend these first", t.Name, n))
	}
	return errors.Join(list...)
}

func (t *Table) rows(cr *csv.Reader) {
	for {
		fields, err := cr.Read()
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil {
			t.Broken = append(t.Broken, fmt.Errorf("%s: %w", t.Name, err))
			return
		}
		line, _ := cr.FieldPos(0)
		if len(fields) > len(t.Columns) {
			t.Broken = append(t.Broken, fmt.Errorf("%s: %d fields where the header has %d; is a decimal comma split by a comma separator?", t.Place(line), len(fields), len(t.Columns)))
			continue
		}
		for i := range fields {
			fields[i] = strings.TrimSpace(fields[i])
		}
		t.Rows = append(t.Rows, Row{Line: line, Fields: fields})
	}
}

func column(h string, other map[string]string) Column {
	c := Column{Raw: h}
	c.Name, c.Unit = splitUnit(h)
	c.Name = drop.PlainName(c.Name)
	if a, ok := other[c.Name]; ok {
		c.Name = a
	}
	return c
}

// splitUnit cuts "fall [mm]" or "fall (mm)" into name and unit.
func splitUnit(h string) (name, unit string) {
	h = strings.TrimSpace(h)
	for _, b := range []string{"[]", "()"} {
		if i := strings.IndexByte(h, b[0]); i > 0 && h[len(h)-1] == b[1] {
			return strings.TrimSpace(h[:i]), strings.TrimSpace(h[i+1 : len(h)-1])
		}
	}
	return h, ""
}

// separator is the candidate that occurs most often in the first line.
func separator(data []byte) rune {
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

// WithUnit is a field with the unit of its column, when the field is a bare number.
func (c Column) WithUnit(field string) string {
	if c.Unit == "" {
		return field
	}
	if _, err := strconv.ParseFloat(strings.Replace(field, ",", ".", 1), 64); err != nil {
		return field
	}
	return field + " " + c.Unit
}
