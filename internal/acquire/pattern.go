package acquire

import (
	"fmt"
	"strings"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Pattern is a declared line: "{counter},{force mV/V}". Fields stand in braces; what stands between them must
// stand in each line, a blank standing for one or more. The fields are {counter}, {time UNIT}, {skip}, and
// channels {NAME} or {NAME UNIT}; a field that ends in " hex" holds a hexadecimal whole number.
type Pattern struct {
	text     string
	lead     []byte
	fields   []patternField
	channels []Channel
	tick     fieldKind // fieldCounter, fieldTime, or none
	perTick  float64   // seconds of one unit of the time
	comma    bool
}

type fieldKind byte

const (
	fieldNone fieldKind = iota
	fieldCounter
	fieldTime
	fieldSkip
	fieldChannel
)

type patternField struct {
	kind  fieldKind
	slot  int // of a channel
	hex   bool
	after []byte
}

// ParsePattern reads a declared line.
func ParsePattern(text string) (*Pattern, error) {
	if len(text) > longestLine {
		return nil, fmt.Errorf("lines: a pattern of %d characters is no line (at most %d); write one line of the device", len(text), longestLine)
	}
	p := &Pattern{text: text}
	lead, rest, found := strings.Cut(text, "{")
	if !found {
		return nil, fmt.Errorf("lines: %q has no field in braces; write for example \"{counter},{force mV/V}\"", text)
	}
	p.lead = []byte(strings.TrimLeft(lead, " \t"))
	for found {
		inside, more, closed := strings.Cut(rest, "}")
		if !closed {
			return nil, fmt.Errorf("lines: %q: the brace before %q is not closed", text, rest)
		}
		var after string
		after, rest, found = strings.Cut(more, "{")
		if !found {
			after = strings.TrimRight(after, " \t")
		}
		if found && after == "" {
			return nil, fmt.Errorf("lines: %q: nothing stands between {%s} and the next field; a separator must", text, inside)
		}
		if strings.ContainsAny(after, "}\r\n") || found && numeric(after[0]) {
			return nil, fmt.Errorf("lines: %q: %q cannot part two fields", text, after)
		}
		if err := p.field(inside, after); err != nil {
			return nil, err
		}
	}
	if len(p.channels) == 0 {
		return nil, fmt.Errorf("lines: %q names no channel; write for example \"{counter},{force mV/V}\"", text)
	}
	return p, nil
}

// numeric tells bytes that could belong to the number before.
func numeric(c byte) bool {
	return c >= '0' && c <= '9' || c == '.' || c == '+' || c == '-' || c|0x20 >= 'a' && c|0x20 <= 'z'
}

func (p *Pattern) field(inside, after string) error {
	words := strings.Fields(inside)
	f := patternField{after: []byte(strings.ReplaceAll(after, "\t", " "))}
	if n := len(words); n > 1 && words[n-1] == "hex" {
		f.hex, words = true, words[:n-1]
	}
	if len(words) == 0 {
		return fmt.Errorf("lines: %q: a field without a name; write {skip} for what is not wanted", p.text)
	}
	name, unit := words[0], strings.Join(words[1:], " ")
	switch name {
	case "counter":
		f.kind = fieldCounter
		if unit != "" {
			return fmt.Errorf("lines: %q: a counter has no unit", p.text)
		}
	case "time":
		f.kind = fieldTime
		u, err := quantity.ParseUnit(unit)
		if err != nil || u.Dim != quantity.DimDuration {
			return fmt.Errorf("lines: %q: {time} needs its unit, for example {time us}", p.text)
		}
		p.perTick = u.Factor
	case "skip":
		f.kind = fieldSkip
	default:
		f.kind, f.slot = fieldChannel, len(p.channels)
		p.channels = append(p.channels, Channel{Name: name, Unit: unit})
	}
	if f.kind == fieldCounter || f.kind == fieldTime {
		if p.tick == f.kind {
			return fmt.Errorf("lines: %q: {%s} stands twice", p.text, name)
		}
		if p.tick != fieldCounter { // a counter is surer than a time
			p.tick = f.kind
		}
	}
	p.fields = append(p.fields, f)
	return nil
}

// Counted tells that the line carries a counter or a time, by which lost lines are known.
func (p *Pattern) Counted() bool { return p.tick != fieldNone }

// Parse reads a line without its end. It fills v, one number for each channel, and tells the counter or time,
// and with one bit a channel which show no number (their v is NaN). It keeps nothing of the line and allocates
// nothing.
func (p *Pattern) Parse(line []byte, v []float64) (tick float64, blank uint32, ok bool) {
	i := literal(line, blanks(line, 0), p.lead)
	if i < 0 {
		return 0, 0, false
	}
	mark := byte('.')
	if p.comma {
		mark = ','
	}
	for k := range p.fields {
		f := &p.fields[k]
		if f.kind == fieldSkip {
			i = skipped(line, i, f.after)
		} else {
			var x float64
			var good bool
			next := blanks(line, i)
			if f.hex {
				x, next, good = hexNumber(line, next)
			} else {
				x, next, good = number(line, next, mark)
			}
			switch {
			case good && f.kind == fieldChannel:
				v[f.slot] = x
			case good && f.kind == p.tick:
				tick = x
			case good:
			case f.kind == fieldChannel:
				if next = noNumber(line, next); next < 0 {
					return 0, 0, false
				}
				v[f.slot] = nan
				blank |= 1 << f.slot
			default:
				return 0, 0, false
			}
			i = next
		}
		if i = literal(line, i, f.after); i < 0 {
			return 0, 0, false
		}
	}
	return tick, blank, blanks(line, i) == len(line)
}

func blanks(line []byte, i int) int {
	for i < len(line) && (line[i] == ' ' || line[i] == '\t' || line[i] == '\r') {
		i++
	}
	return i
}

// literal is where the text ends that must stand at i; -1 when it does not.
func literal(line []byte, i int, text []byte) int {
	for k, c := range text {
		if c == ' ' {
			if k > 0 && text[k-1] == ' ' {
				continue
			}
			j := blanks(line, i)
			if j == i {
				return -1
			}
			i = j
			continue
		}
		if i >= len(line) || line[i] != c {
			return -1
		}
		i++
	}
	return i
}

// skipped is where the text that may be anything ends: before the next separator, or at the end.
func skipped(line []byte, i int, after []byte) int {
	if len(after) == 0 {
		return len(line)
	}
	for ; i < len(line); i++ {
		if line[i] == after[0] || after[0] == ' ' && line[i] == '\t' {
			break
		}
	}
	return i
}
