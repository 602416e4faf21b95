package csvtrace

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/traceio"
)

type role byte

const (
	roleLeft  role = iota // left out
	roleValue             // a channel
	roleTime              // times as numbers
	roleIndex             // sample numbers
	roleClock             // times of day
)

// column is one column of the file.
type column struct {
	name string
	unit unit
	role role
	slot int // among the channels kept
}

// plan is how the columns of a file are read.
type plan struct {
	dialect
	header
	cols     []column
	timeAt   int // column of the time, -1 = none
	time     timeScale
	rate     float64 // Hz, stated by the options or the preamble; 0 = none
	stated   statedRate
	unitless unitless
	sci      bool // the times are written with exponents
	// decimals of the last column that is read, when all rows of the head have the same; else -1
	decimals int
}

// makePlan decides what each column is, from the names and the rows of the head.
func makePlan(f *finder, lines [][]byte, d dialect, o traceio.Options) (*plan, error) {
	p := &plan{dialect: d, header: readHeader(lines, d), timeAt: -1, time: timeScale{"s", 0, 1}, unitless: unitless{finding: -1}}
	if err := p.checkCommas(f, lines); err != nil {
		return nil, err
	}
	p.stated = rateIn(p.before)
	p.rate = o.Rate.SI()
	if p.rate == 0 {
		p.rate = p.stated.hz
	}
	s := sampleColumns(lines, d)
	for k := range s {
		if s[k].grouped != nil && s[k].numbers < s[k].words {
			return nil, thousandsError(f.name, s[k].groupedLine, s[k].grouped)
		}
	}
	for k := range p.dialect.cols {
		c := column{name: "column " + strconv.Itoa(k+1), unit: unit{traceio.Unit{Factor: 1, Kind: "unitless"}, 0, 1}}
		if p.names != nil && p.names[k] != "" {
			c.name = p.names[k]
		}
		if s[k].numbers > 0 && !d.text[k] {
			c.role = roleValue
		}
		p.cols = append(p.cols, c)
	}
	p.findTime(f, s, o)
	if err := p.timeColumn(f, s, o); err != nil {
		return nil, err
	}
	if err := p.units(f, o); err != nil {
		return nil, err
	}
	return p, p.choose(f, s, o)
}

// checkCommas refuses decimal commas and thousands separators between commas.
func (p *plan) checkCommas(f *finder, lines [][]byte) error {
	if p.sep != ',' {
		return nil
	}
	for i := p.first - 1; i >= 0; i-- {
		if isBlank(lines[i]) {
			continue
		}
		row, names := splitFields(nil, lines[p.first], ','), len(splitFields(nil, lines[i], ','))
		if names < 2 && p.dialect.cols < 4 || names >= len(row) {
			return nil
		}
		for k := 1; k < len(row); k++ {
			if both := string(row[k-1]) + "," + string(row[k]); len(row) < 2*names && hasThousands([]byte(both), p.old) {
				return thousandsError(f.name, p.first+1, []byte(both))
			}
		}
		if len(row) == 2*names {
			return fmt.Errorf("%s:%d: the row has %d fields under %d names, as if commas were both decimal sign and separator; export with semicolons between the fields or with decimal points", f.name, p.first+1, len(row), names)
		}
		return nil
	}
	return nil
}

// seen is what the rows of the head say of a column.
type seen struct {
	numbers, clocks, dates, words int
	rising, steps, ones, negative int
	whole                         bool
	last                          float64
	exponents                     bool
	exp                           int // of the last digit, when even
	uneven                        bool
	grouped                       []byte // a number with thousands separators
	groupedLine                   int
}

func sampleColumns(lines [][]byte, d dialect) []seen {
	s := make([]seen, d.cols)
	for k := range s {
		s[k].whole = true
	}
	var fields [][]byte
	for i, line := range lines[d.first:] {
		fields = splitFields(fields, line, d.sep)
		if len(fields) != d.cols {
			continue
		}
		for k, f := range fields {
			switch d.kindOf(f) {
			case kindClock:
				s[k].clocks++
			case kindDate:
				s[k].dates++
			case kindWords:
				s[k].words++
				if s[k].grouped == nil && hasThousands(f, d.old) {
					s[k].grouped, s[k].groupedLine = f, d.first+i+1
				}
			case kindNumber:
				s[k].add(parse(f, d.mark, 0), f)
			}
		}
	}
	return s
}

func (s *seen) add(n number, f []byte) {
	if !s.exponents && bytes.ContainsAny(f, "eE") {
		s.exponents = true
	}
	if n.exp != 0 {
		s.whole = false
	}
	if s.numbers == 0 {
		s.exp = n.exp
	} else {
		s.uneven = s.uneven || n.exp != s.exp
		s.steps++
		switch step := n.value - s.last; {
		case step == 1:
			s.ones++
			s.rising++
		case step > 0:
			s.rising++
		case step < 0:
			s.negative++
		}
	}
	s.last = n.value
	s.numbers++
}

// counts tells that the column counts 1 by 1, short of a few odd rows.
func (s *seen) counts() bool { return s.whole && s.ones > 0 && s.ones >= s.steps*9/10 }

// steady tells that the column does not fall, short of a few odd rows, as times do.
func (s *seen) steady() bool { return s.rising > 0 && s.negative*20 <= s.steps }

var timeNames = map[string]bool{"t": true, "zeit": true, "temps": true, "tiempo": true, "tempo": true, "timestamp": true, "elapsed": true, "clock": true, "seconds": true}

func timeName(name string) bool {
	n := strings.ToLower(name)
	return timeNames[n] || strings.Contains(n, "time") || strings.Contains(n, "zeit")
}

var indexNames = map[string]bool{
	"n": true, "i": true, "k": true, "nr": true, "nr.": true, "no": true, "no.": true, "#": true, "sample": true, "samples": true, "index": true, "idx": true,
	"sample no": true, "sample no.": true, "sample number": true, "sample index": true, "sample_no": true, "sample_n": true, "sample_index": true, "point": true, "reading": true, "scan": true, "row": true,
}

// findTime picks the time column: clock times, then a name or unit of time, then a name of sample numbers,
// then the first of several columns that does not fall.
func (p *plan) findTime(f *finder, s []seen, o traceio.Options) {
	for k := range s {
		if s[k].clocks > s[k].numbers && s[k].clocks > s[k].words {
			p.timeAt, p.cols[k].role = k, roleClock
			return
		}
	}
	if p.names != nil {
		for k := range s {
			_, byUnit := timeUnit(p.units0(k))
			if p.cols[k].role == roleValue && (byUnit || p.units0(k) == "" && timeName(p.cols[k].name)) {
				p.timeAt, p.cols[k].role = k, roleTime
				return
			}
		}
		for k := range s {
			if p.cols[k].role == roleValue && (indexNames[strings.ToLower(p.cols[k].name)] && p.units0(k) == "" || p.cols[k].name == "N" && s[k].counts()) {
				p.timeAt, p.cols[k].role = k, roleIndex
				return
			}
		}
	}
	first, others := -1, 0
	for k := range s {
		if p.cols[k].role == roleValue {
			if first < 0 {
				first = k
			} else {
				others++
			}
		}
	}
	if others == 0 || p.units0(first) != "" || !s[first].steady() {
		return
	}
	if s[first].counts() && o.TimeUnit == "" {
		p.timeAt, p.cols[first].role = first, roleIndex
		f.once(drop.Warning, "time-assumed", p.first+1, fmt.Sprintf("column %d counts 1 by 1 and has no name that says what it is; it was taken as the sample number", first+1), "name the column in a header line")
		return
	}
	p.timeAt, p.cols[first].role = first, roleTime
	f.once(drop.Warning, "time-assumed", p.first+1, fmt.Sprintf("column %d rises throughout and has no name that says what it is; it was taken as the time", first+1), "name the columns in a header line")
}

func (p *plan) units0(k int) string {
	if p.names == nil {
		return ""
	}
	return p.header.units[k]
}

// timeColumn finds the unit of the time column, or the rate where there is none.
func (p *plan) timeColumn(f *finder, s []seen, o traceio.Options) error {
	if p.timeAt < 0 {
		if p.rate == 0 {
			return fmt.Errorf("%s:%d: there is no time column, and no line before the samples names the sample rate; state the rate, for example --rate \"10 kHz\"", f.name, p.first+1)
		}
		p.sayRate(f, o)
		return nil
	}
	c := &p.cols[p.timeAt]
	p.sci = s[p.timeAt].exponents
	switch c.role {
	case roleClock:
		return nil
	case roleIndex:
		if p.rate == 0 {
			return fmt.Errorf("%s:%d: column %q numbers the samples, but no line before them names the sample rate; state the rate, for example --rate \"10 kHz\"", f.name, p.first+1, c.name)
		}
		p.time = timeScale{"", 0, 1 / p.rate}
		p.sayRate(f, o)
		return nil
	}
	given := p.units0(p.timeAt)
	if given == "" {
		given = o.TimeUnit
	}
	if given == "" {
		p.unitless = unitless{c.name, max(p.line, 1), len(f.all)}
		f.once(drop.Warning, "time-unit", max(p.line, 1), fmt.Sprintf("the time column %q has no unit; seconds were taken", c.name), "state the unit, for example --time-unit ms, if it is another")
		return nil
	}
	u, ok := timeUnit(given)
	if !ok {
		return fmt.Errorf("%s:%d: %q is no unit of time for column %q; use s, ms, us, ns, min or h", f.name, max(p.line, 1), given, c.name)
	}
	p.time = u
	return nil
}

func (p *plan) sayRate(f *finder, o traceio.Options) {
	if o.Rate == 0 {
		f.once(drop.Note, "rate-from-preamble", p.stated.line, fmt.Sprintf("the sample rate %s is taken from the line %q", hz(p.rate), sample([]byte(p.stated.text))), "")
		return
	}
	if r := p.stated.hz / p.rate; p.stated.hz > 0 && math.Abs(r-1) > 1e-3 {
		f.once(drop.Warning, "rate-contradicted", p.stated.line, fmt.Sprintf("the line %q says %s, but %s was stated and used", sample([]byte(p.stated.text)), hz(p.stated.hz), hz(p.rate)), "leave the stated rate out, or make sure that it is the right one")
	}
}

func hz(v float64) string { return quantity.Frequency(v).Text(6) }

// units gives each channel its unit: the options by name, then the header, then the force unit of the
// options.
func (p *plan) units(f *finder, o traceio.Options) error {
	force := p.forceColumn(o)
	for k := range p.cols {
		c := &p.cols[k]
		if c.role != roleValue {
			continue
		}
		text, given := o.UnitOf(c.name, strconv.Itoa(k+1))
		if !given {
			text = p.units0(k)
			if text == "" && k == force {
				text, given = o.ForceUnit, o.ForceUnit != ""
			}
		}
		u, ok := anyUnit(text)
		if !ok && given {
			return fmt.Errorf("%s:%d: the unit %q stated for column %q is not known; use %s", f.name, max(p.line, 1), text, c.name, traceio.Units)
		}
		if !ok {
			f.once(drop.Note, "unknown-unit", max(p.line, 1), fmt.Sprintf("the unit %q of column %q is not known; the values were kept as they are", text, c.name), "")
		}
		if u.Kind == "unitless" {
			f.once(drop.Warning, "no-unit", max(p.line, 1), fmt.Sprintf("column %q has no unit", c.name), "state it, for example --force-unit kN, or name it in the header")
		}
		if u.Doubt != "" {
			f.once(drop.Warning, "mass-unit", max(p.line, 1), fmt.Sprintf("column %q: %s", c.name, u.Doubt), "write the unit of force in the header if that is wrong")
		}
		if u.Kind == "acceleration" && o.Mass > 0 {
			u = u.times(o.Mass)
			f.once(drop.Note, traceio.AcceleratedKind, max(p.line, 1), fmt.Sprintf("column %q is an acceleration; the force is %s times it", c.name, o.Mass), traceio.AcceleratedWayOut)
		}
		c.unit = u
	}
	return nil
}

// forceColumn is the channel that a stated force unit is for: the one chosen, else the first without unit
// whose name speaks of force, else the first without unit.
func (p *plan) forceColumn(o traceio.Options) int {
	first := -1
	for k, c := range p.cols {
		if c.role != roleValue || p.units0(k) != "" {
			continue
		}
		if o.Channel != "" && p.named(k, o.Channel) {
			return k
		}
		n := strings.ToLower(c.name)
		if o.Channel == "" && (n == "f" || strings.Contains(n, "force") || strings.Contains(n, "load") || strings.Contains(n, "kraft") || strings.Contains(n, "tension")) {
			return k
		}
		if first < 0 {
			first = k
		}
	}
	return first
}

func (p *plan) named(k int, want string) bool {
	c := p.cols[k]
	return strings.EqualFold(c.name, want) || want == strconv.Itoa(k+1) || p.units0(k) != "" && strings.EqualFold(c.name+" ["+p.units0(k)+"]", want)
}

// choose keeps the channel asked for, or all, and says what is left out.
func (p *plan) choose(f *finder, s []seen, o traceio.Options) error {
	var names []string
	kept := 0
	chosen := -1
	for k, c := range p.cols {
		if c.role == roleValue {
			names = append(names, c.name)
			if o.Channel != "" && chosen < 0 && p.named(k, o.Channel) {
				chosen = k
			}
		}
	}
	if o.Channel != "" && chosen < 0 {
		return fmt.Errorf("%s:%d: there is no channel %q; the record has %s", f.name, max(p.line, 1), o.Channel, strings.Join(names, ", "))
	}
	for k := range p.cols {
		c := &p.cols[k]
		switch {
		case c.role == roleValue && (chosen < 0 || chosen == k):
			c.slot = kept
			kept++
		case c.role == roleValue:
			c.role = roleLeft
		case c.role == roleLeft && s[k].words+s[k].dates+s[k].clocks > 0:
			f.once(drop.Note, "column-left-out", max(p.line, p.first+1), fmt.Sprintf("column %q holds no numbers and was left out", c.name), "")
		}
	}
	p.decimals = -1
	for k, c := range p.cols {
		if c.role != roleLeft {
			p.decimals = -1
			if !s[k].uneven && s[k].numbers > 1 {
				p.decimals = -s[k].exp
			}
		}
	}
	if kept == 0 {
		return fmt.Errorf("%s:%d: there is no column of values beside the time; export the force as well", f.name, p.first+1)
	}
	if p.names == nil {
		f.once(drop.Note, "no-header", p.first+1, "there is no line of names before the samples; the columns are named by their numbers", "")
	}
	return nil
}
