package delimited

import (
	"fmt"
	"math"
	"strings"

	"hardcatch/internal/drop"
	"hardcatch/internal/quantity"
)

type role int

const (
	roleSkip role = iota
	roleTime
	roleIndex
	roleClock
	roleValue
)

type column struct {
	role   role
	name   string
	unit   unit
	scale  float64 // to SI
	values []float64
}

// assign gives every column its role. sample holds the head's first rows as numbers (NaN where not).
func (s *scan) assign(sample [][]float64, clocks []bool) error {
	l := s.layout
	s.cols = make([]column, l.cols)
	timeAt := -1
	for i := range s.cols {
		c := &s.cols[i]
		c.role, c.scale = roleValue, 1
		if l.header {
			c.name = l.names[i]
			c.unit, _ = unitOf(l.units[i])
		}
		named := timeName.MatchString(c.name) || c.unit.Dim == quantity.DimDuration
		switch {
		case clocks[i] && timeAt < 0:
			c.role, timeAt = roleClock, i
		case clocks[i]:
			c.role = roleSkip
		case named && timeAt < 0:
			c.role, timeAt = roleTime, i
		case named:
			c.role = roleSkip
			s.note(drop.Note, "second-time", fmt.Sprintf("%s:%d", s.name, l.line), fmt.Sprintf("column %q looks like a time too and is not used", c.name), "remove it if the first time column is the wrong one")
		case timeAt < 0 && (l.header && indexName.MatchString(c.name) || c.unit.kind == "index") && countsUp(sample, i):
			c.role, timeAt = roleIndex, i
		}
	}
	if timeAt < 0 && !l.header && l.cols > 1 && steady(sample, 0) {
		s.cols[0].role, timeAt = roleTime, 0
		s.note(drop.Note, "assumed-time", fmt.Sprintf("%s:%d", s.name, l.line), "there is no header: the first column rises steadily and is taken for the time", "add a header line if it is something else")
	}
	s.timeAt = timeAt
	return s.scales()
}

func (s *scan) scales() error {
	l, o := s.layout, s.opts
	kept := 0
	for i := range s.cols {
		c := &s.cols[i]
		if c.name == "" {
			c.name = fmt.Sprintf("column %d", i+1)
		}
		switch c.role {
		case roleTime:
			if c.unit.Name == "" && o.TimeUnit != "" {
				u, ok := unitOf(o.TimeUnit)
				if !ok || u.Dim != quantity.DimDuration {
					return fmt.Errorf("time unit %q is not a unit of time; write s, ms or us", o.TimeUnit)
				}
				c.unit = u
			}
			if c.unit.Dim == quantity.DimDuration {
				c.scale = c.unit.Factor
			} else if c.unit.Name == "" && (l.header || s.timeAt == i) {
				s.note(drop.Note, "assumed-unit", fmt.Sprintf("%s:%d", s.name, max(l.line-1, 1)), fmt.Sprintf("the time column %q names no unit and is taken as seconds", c.name), "say it with --time-unit if it is not")
			}
		case roleValue:
			if o.Channel != "" && !strings.EqualFold(c.name, o.Channel) {
				c.role = roleSkip
				continue
			}
			kept++
			if err := s.valueUnit(c); err != nil {
				return err
			}
		}
	}
	if kept == 0 {
		var names []string
		for i := range s.cols {
			names = append(names, s.cols[i].name)
		}
		if o.Channel != "" {
			return fmt.Errorf("%s:%d: there is no channel %q; the columns are %s", s.name, l.line, o.Channel, strings.Join(names, ", "))
		}
		return fmt.Errorf("%s:%d: there is no column of values beside the time (%s); export the force as well", s.name, l.line, strings.Join(names, ", "))
	}
	return nil
}

func (s *scan) valueUnit(c *column) error {
	if c.unit.Name == "" && s.opts.ForceUnit != "" {
		u, ok := unitOf(s.opts.ForceUnit)
		if !ok {
			return fmt.Errorf("force unit %q is not known; write N, kN, kgf, lbf, V, mV/V, counts or g", s.opts.ForceUnit)
		}
		c.unit = u
	}
	if c.unit.Name == "" {
		c.unit.kind = "unnamed"
		s.note(drop.Warning, "no-unit", fmt.Sprintf("%s:%d", s.name, max(s.layout.line-1, 1)), fmt.Sprintf("column %q names no unit", c.name), "say it with --force-unit kN, or in the header: Force [kN]")
		return nil
	}
	c.scale = c.unit.Factor
	if c.unit.kind == "acceleration" && s.opts.Mass > 0 {
		c.scale *= s.opts.Mass.SI()
		s.note(drop.Note, "acceleration", fmt.Sprintf("%s:%d", s.name, max(s.layout.line-1, 1)), fmt.Sprintf("column %q is an acceleration in %s and was multiplied by the mass %s: it is the force on the mass, not that at the anchor", c.name, c.unit.Name, s.opts.Mass), "")
		c.unit.Dim, c.unit.kind = quantity.DimForce, "from acceleration"
	}
	return nil
}

// countsUp tells that a column is whole numbers that never fall.
func countsUp(sample [][]float64, col int) bool {
	for i := range sample {
		v := sample[i][col]
		if v != math.Trunc(v) || i > 0 && v < sample[i-1][col] {
			return false
		}
	}
	return len(sample) > 1
}

// steady tells that a column rises in nearly all rows.
func steady(sample [][]float64, col int) bool {
	rises := 0
	for i := 1; i < len(sample); i++ {
		if sample[i][col] > sample[i-1][col] {
			rises++
		}
	}
	return len(sample) > 3 && rises >= (len(sample)-1)*9/10
}
