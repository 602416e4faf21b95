package csvtrace

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/traceio"
)

// Format reads delimited text.
type Format struct{ old bool }

// First is the reader of the first version, for the records that it has read: it takes every time without a unit for seconds, and knows
// no clock times with AM or PM or of minutes and seconds alone, no UTF-16 without a mark, and fewer marks between thousands.
func First() Format { return Format{old: true} }

// Name is the reader with the version of its rules.
func (x Format) Name() string {
	if x.old {
		return "csv/1"
	}
	return "csv/2"
}

// Sniff looks for rows of numbers.
func (x Format) Sniff(head []byte, name string) int {
	named := 0
	switch strings.ToLower(path.Ext(name)) {
	case ".csv", ".txt", ".tsv", ".dat", ".asc", ".tab", ".prn":
		named = 20
	}
	text, _, _ := decoded(head, x.old)
	if !isText(text) {
		return 0
	}
	if returnsOnly(text) {
		text = bytes.ReplaceAll(text, []byte{'\r'}, []byte{'\n'})
	}
	if anyDialect(headLines(text), x.old) {
		return 60 + named
	}
	return named / 2
}

// decoded is a head as UTF-8, what it was, and how many bytes of it are a mark.
func decoded(head []byte, old bool) (text []byte, was string, mark int) {
	wide := func(big bool) ([]byte, string, int) {
		text, err := io.ReadAll(newWide(bytes.NewReader(head[mark:]), big))
		if err != nil {
			return nil, "", 0
		}
		if big {
			return text, "UTF-16BE", mark
		}
		return text, "UTF-16LE", mark
	}
	switch {
	case bytes.HasPrefix(head, utf8Mark):
		return head[len(utf8Mark):], "", len(utf8Mark)
	case bytes.HasPrefix(head, utf16Little), bytes.HasPrefix(head, utf16Big):
		mark = 2
		return wide(head[0] == utf16Big[0])
	case old:
	case widths(head) > 0:
		return wide(true)
	case widths(head) < 0:
		return wide(false)
	}
	return head, "", 0
}

// widths tells text in UTF-16 that has no mark by its zeros, which stand in the upper byte of nearly every sign of a table: 1 when they
// come first, -1 when they come second, 0 when it is none.
func widths(head []byte) int {
	var zeros [2]int
	for i, c := range head {
		if c == 0 {
			zeros[i&1]++
		}
	}
	half := len(head) / 2
	switch {
	case half < 4:
	case zeros[0] >= half*9/10 && zeros[1] == 0:
		return 1
	case zeros[1] >= half*9/10 && zeros[0] == 0:
		return -1
	}
	return 0
}

const (
	// headSize is how much of a file is looked at for its dialect; longer when the rows begin later.
	headSize = 64 << 10
	// longestHead bounds the preamble, and mostHeadLines its lines.
	longestHead   = 1 << 20
	mostHeadLines = 1 << 15
	// mostColumns bounds the fields of a row.
	mostColumns = 512
)

// headLines are the complete lines of a head; when none is complete, the only one.
func headLines(text []byte) [][]byte {
	lines := splitLines(text, false)
	if len(lines) == 0 {
		return splitLines(text, true)
	}
	return lines
}

// Read reads a record.
func (x Format) Read(ctx context.Context, name string, r io.Reader, o traceio.Options) (t *drop.Trace, err error) {
	f := newFinder(name)
	f.old = x.old
	text, n, src, err := start(f, r, o)
	if err != nil {
		return nil, err
	}
	text, n, lines, d, err := findRows(f, text, n, src, o)
	if err != nil {
		return nil, err
	}
	p, err := makePlan(f, lines, d, o)
	if err != nil {
		return nil, err
	}
	for i, b := range p.before {
		if i == mostRemarks {
			f.once(drop.Note, "preamble", b.line, fmt.Sprintf("%d more lines stand before the samples", len(p.before)-i), "")
			break
		}
		f.once(drop.Note, "preamble", b.line, sample([]byte(b.text)), "")
	}
	from := rowsFrom(text[:n], p.first)
	rd := newReader(f, p, o, bytesPerRow(text[from:n]))
	defer func() { err = errors.Join(err, rd.dropAside()) }()
	n = copy(text, text[from:n])
	if err := rd.readAll(ctx, src, text, n); err != nil {
		return nil, err
	}
	s, err := rd.settle()
	if err != nil {
		return nil, err
	}
	if t, err = rd.trace(s); err != nil {
		return nil, err
	}
	t.Format = x.Name()
	return t, nil
}

// start reads the head of a file as UTF-8 with lines that end in LF, and gives the source of the rest.
func start(f *finder, r io.Reader, o traceio.Options) (text []byte, n int, src io.Reader, err error) {
	text = make([]byte, headSize+pad)
	n, _, err = fill(r, text[:headSize])
	if err != nil {
		return nil, 0, nil, fmt.Errorf("%s: reading the record: %w", f.name, err)
	}
	src = r
	switch head, was, mark := decoded(text[:n], f.old); {
	case was != "":
		src = newWide(io.MultiReader(bytes.NewReader(bytes.Clone(text[mark:n])), r), was == "UTF-16BE")
		if n, _, err = fill(src, text[:headSize]); err != nil {
			return nil, 0, nil, fmt.Errorf("%s: reading the record: %w", f.name, err)
		}
		f.once(drop.Note, "encoding", 1, "the text is "+was+" and was converted", "")
	case len(head) < n:
		n = copy(text, head)
		k, _, err := fill(r, text[n:headSize])
		if err != nil {
			return nil, 0, nil, fmt.Errorf("%s: reading the record: %w", f.name, err)
		}
		n += k
	}
	if n == 0 {
		return nil, 0, nil, fmt.Errorf("%s: the file is empty; export the record again", f.name)
	}
	if !isText(text[:n]) {
		return nil, 0, nil, fmt.Errorf("%s: the file holds bytes that are no text; export the record as text with one line per sample", f.name)
	}
	if returnsOnly(text[:n]) {
		toFeeds(text[:n])
		src = returns{src}
	}
	return text, n, src, nil
}

// findRows finds the dialect, and reads on as long as the rows have not begun.
func findRows(f *finder, text []byte, n int, src io.Reader, o traceio.Options) ([]byte, int, [][]byte, dialect, error) {
	for {
		lines := headLines(text[:n])
		room := len(text) - pad
		last := n < room || room >= longestHead || len(lines) == mostHeadLines
		d, ok := findDialect(lines, f.old, o)
		if !ok && last {
			lines = splitLines(text[:n], true)
			d, ok = findDialect(lines, f.old, o)
		}
		switch {
		case ok && (last || endsInRow(lines, d)):
			return text, n, lines, d, nil
		case last:
			return nil, 0, nil, dialect{}, noRows(f.name, lines, f.old)
		}
		longer := make([]byte, min(4*room, longestHead)+pad)
		copy(longer, text[:n])
		k, _, err := fill(src, longer[n:len(longer)-pad])
		if err != nil {
			return nil, 0, nil, dialect{}, fmt.Errorf("%s: reading the record: %w", f.name, err)
		}
		text, n = longer, n+k
	}
}

// rowsFrom is where line number first (from 0) begins.
func rowsFrom(text []byte, first int) int {
	at := 0
	for ; first > 0; first-- {
		at += bytes.IndexByte(text[at:], '\n') + 1
	}
	return at
}

// bytesPerRow is the mean length of the lines of the head's rows.
func bytesPerRow(rows []byte) float64 {
	if n := bytes.Count(rows, []byte{'\n'}); n > 0 {
		return float64(bytes.LastIndexByte(rows, '\n')+1) / float64(n)
	}
	return float64(len(rows))
}
