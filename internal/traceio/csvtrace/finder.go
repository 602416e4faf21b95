package csvtrace

import (
	"fmt"
	"strconv"

	"github.com/hardcatch/hardcatch/internal/drop"
)

// finder gathers findings of one record. Of many of one kind it keeps the first with their count.
type finder struct {
	name string
	old  bool // the rules of csv/1 count
	all  []found
	at   map[string]int
}

// found is a finding before rows have become samples.
type found struct {
	drop.Finding
	row  int // first row concerned, -1 = the whole record, or From and To are samples already
	rows int // stretch of rows that follow each other
}

func newFinder(name string) *finder { return &finder{name: name, at: map[string]int{}} }

func (f *finder) place(line int) string { return f.name + ":" + strconv.Itoa(line) }

// once enters a finding that is not about rows.
func (f *finder) once(g drop.Grade, kind string, line int, fact, wayOut string) {
	f.all = append(f.all, found{Finding: drop.Finding{Kind: kind, Grade: g, Place: f.place(line), Fact: fact, WayOut: wayOut, Count: 1}, row: -1})
}

// row enters a finding about a row, or counts it when the kind has been entered for the same column. fact
// is asked for only the first time.
func (f *finder) row(g drop.Grade, kind, column string, line, row int, fact func() string, wayOut string) {
	key := kind + "\x00" + column
	if i, ok := f.at[key]; ok {
		x := &f.all[i]
		x.Count++
		if row == x.row+x.rows {
			x.rows++
		}
		return
	}
	f.at[key] = len(f.all)
	f.all = append(f.all, found{Finding: drop.Finding{Kind: kind, Grade: g, Place: f.place(line), Fact: fact(), WayOut: wayOut, Count: 1}, row: row, rows: 1})
}

// stretch enters a finding about samples from..to-1, or counts it when the kind has been entered for the same
// column. line and fact are asked for only the first time.
func (f *finder) stretch(g drop.Grade, kind, column string, from, to int, line func() int, fact func() string, wayOut string) {
	key := kind + "\x00" + column
	if i, ok := f.at[key]; ok {
		f.all[i].Count++
		return
	}
	f.at[key] = len(f.all)
	f.all = append(f.all, found{Finding: drop.Finding{Kind: kind, Grade: g, Place: f.place(line()), Fact: fact(), WayOut: wayOut, From: from, To: to, Count: 1}, row: -1})
}

// findings turns rows into samples. sampleOf is the sample of a row (or the one that stands in its place).
func (f *finder) findings(sampleOf func(row int) int, samples int) []drop.Finding {
	out := make([]drop.Finding, 0, len(f.all))
	for _, x := range f.all {
		if x.row >= 0 {
			x.From = min(sampleOf(x.row), samples-1)
			x.To = min(max(sampleOf(x.row+x.rows-1), x.From)+1, samples)
		}
		out = append(out, x.Finding)
	}
	return out
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
