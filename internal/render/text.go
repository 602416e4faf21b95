package render

import (
	"html/template"
	"math"
	"strconv"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

// say writes values and sentences in the report's language.
type say struct{ in message.Locale }

const none = "–"

// probability prints a p-value with two digits.
func (s say) probability(p float64) string { return s.in.Number(quantity.Significant(p, 2)) }

// kN prints a force in kilonewtons without the unit, which stands in the head of the column.
func (s say) kN(f *quantity.Force) string {
	if f == nil || !usable(f.SI()) {
		return none
	}
	return s.in.Number(decimals(f.SI()/1000, 2))
}

// name is what people called something: a level, a material. The catalogue may know it; else it stays.
func (s say) name(text string) string { return s.in.Name(text) }

// names is a list of names.
func (s say) names(text string) string { return s.in.Names(text) }

func usable(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

func decimals(v float64, n int) string {
	s := strconv.FormatFloat(v, 'f', n, 64)
	if s[0] == '-' {
		if strings.Trim(s, "-0.") == "" {
			return s[1:]
		}
		return "\u2212" + s[1:]
	}
	return s
}

// peak prints a peak with its expanded uncertainty, marked as a lower bound when it is one.
func (s say) peak(p, u *quantity.Force, lower bool) string {
	if p == nil || !usable(p.SI()) {
		return none
	}
	text := p.Text(4)
	if u != nil && *u > 0 && usable(u.SI()) {
		text = quantity.WithU(*p, *u)
	}
	if lower {
		text = "≥ " + text
	}
	return s.in.Number(text)
}

// rebuilt prints the interval of a peak that was rebuilt.
func (s say) rebuilt(i *[2]quantity.Force) string {
	if i == nil || !usable(i[0].SI()) || !usable(i[1].SI()) {
		return ""
	}
	lo, hi := reduce.Outward(*i)
	return s.in.Say("%s to %s, rebuilt from momentum", s.in.Number(lo), s.in.Number(hi))
}

func (s say) percent(share float64) string {
	return s.in.Number(strconv.FormatFloat(100*share, 'g', 4, 64)) + "\u00a0%"
}

// breakRange prints a break probability outward: never narrower than it is.
func (s say) breakRange(lo, hi *float64) string {
	if lo == nil || hi == nil || !usable(*lo) || !usable(*hi) {
		return none
	}
	return s.in.Say("%s to %s", strconv.Itoa(int(math.Floor(100**lo+1e-9))), strconv.Itoa(int(math.Ceil(100**hi-1e-9)))) + "\u00a0%"
}

func (s say) outcome(o drop.Outcome) string {
	if o == "" {
		return s.in.Say("not decided")
	}
	return s.in.Text(o)
}

// number prints a value of an audit check or budget with its unit.
func (s say) number(v *float64, unit string) string {
	if v == nil || !usable(*v) {
		return none
	}
	text := quantity.Significant(*v, 4)
	if text[0] == '-' {
		text = "\u2212" + text[1:]
	}
	if unit != "" {
		text += "\u00a0" + unit
	}
	return s.in.Number(text)
}

func (s say) numberOnly(v float64) string { return s.number(&v, "") }

func (s say) dof(d reduce.DoF) string {
	v := float64(d)
	if math.IsInf(v, 1) {
		return "∞"
	}
	if !usable(v) {
		return none
	}
	return s.in.Number(quantity.Significant(math.Floor(v*10)/10, 3))
}

func (s say) notStated(text string) string {
	if strings.TrimSpace(text) == "" {
		return s.in.Say("not stated")
	}
	return text
}

// told is a sentence or word of the program's, or that nothing is stated.
func (s say) told(text string) template.HTML {
	if strings.TrimSpace(text) == "" {
		return s.in.Markup("not stated")
	}
	return s.in.Markup(text)
}

type printed interface{ Text(digits int) string }

// stated prints a quantity with three digits, or says that it is not stated.
func (s say) stated(v float64, q printed) string {
	if v == 0 || !usable(v) {
		return s.in.Say("not stated")
	}
	return s.in.Number(q.Text(3))
}
