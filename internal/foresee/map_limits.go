package foresee

import (
	"context"
	"fmt"
	"math"
	"sort"
	"strings"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/limits"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// part finds what parts first: all elements carry one force.
func (m *Map) part(ctx context.Context) error {
	c, err := m.q.model()
	if err != nil {
		return err
	}
	p := MapParting{Force: quantity.Force(math.Inf(1)), Efficiency: 1}
	for i, e := range c.Chain {
		switch {
		case e.Textile != nil && e.Textile.Strength > 0:
			p.Strength, p.Force, p.What = e.Textile.Strength, e.Textile.Strength, c.Label(i)
		case e.Knot != nil:
			p.Efficiency = e.Knot.Efficiency
			p.Force *= quantity.Force(p.Efficiency)
			p.What = spaced(knotWord(c.Label(i)))
		case e.Absorber != nil && e.Absorber.Strength > 0 && e.Absorber.Strength < p.Force:
			p.Strength, p.Force, p.What, p.Efficiency = e.Absorber.Strength, e.Absorber.Strength, c.Label(i), 1
		}
	}
	if math.IsInf(p.Force.SI(), 1) {
		return nil
	}
	p.Lines = m.s.lines(p.Force)
	if p.MapReach, err = m.slack(ctx, p.Force, arrest.Strength); err != nil {
		return err
	}
	m.Parting = &p
	return nil
}

// reach holds the chosen limits against the map.
func (m *Map) reach(ctx context.Context, least quantity.Force) error {
	chosen, err := m.q.chosenLimits()
	if err != nil {
		return err
	}
	for _, l := range chosen {
		x := MapLimit{Limit: l, Lines: m.s.lines(l.Value), Below: l.Value < least}
		if x.MapReach, err = m.slack(ctx, l.Value, useOf(l.Kind)); err != nil {
			return err
		}
		m.Limits = append(m.Limits, x)
	}
	return nil
}

func (q MapQuestion) chosenLimits() ([]limits.Limit, error) {
	var out []limits.Limit
	for _, name := range q.Limits {
		found := false
		for _, l := range limits.Table() {
			if !found && strings.EqualFold(l.Name, strings.TrimSpace(name)) {
				out, found = append(out, l), true
			}
		}
		if !found {
			return nil, fmt.Errorf("limit: %q is not known here; hardcatch limits lists the names", name)
		}
	}
	if q.Own != nil && q.Own.Value > 0 {
		l := limits.Limit{Name: strings.TrimSpace(q.Own.Name), Value: q.Own.Value, Kind: limits.Strength, Current: true, Source: "stated by the reader"}
		if l.Name == "" {
			l.Name = "own rating"
		}
		if *q.Own == smallChock() {
			l.Source = "common practice, no source: many small wired chocks are rated so"
		}
		out = append(out, l)
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Value < out[j].Value })
	return out, nil
}

// slack is the largest free fall whose force, by what the limit is held against, stays below it: as hardcatch chain has it.
func (m *Map) slack(ctx context.Context, f quantity.Force, use arrest.Use) (out MapReach, err error) {
	c, err := m.q.model()
	if err != nil {
		return out, err
	}
	k := slackSearch{limit: f, use: use, most: min(50, mostSlack(c))}
	at, found, err := k.find(ctx, *c)
	switch {
	case err != nil:
		return out, fmt.Errorf("map: %w", err)
	case found == slackNone:
		out.Note = message.Say("passed by the sudden load alone, without any slack")
	case found == slackBeyond:
		out.Note = message.Say("not reached up to %s of free fall", metres(k.most))
	case found == slackOpen:
		out.Note = message.Say("cannot be told: a run ended while the force could still rise")
	}
	out.Slack = at
	return out, nil
}

// floored rounds a slack down to what is printed: a centimetre, or a millimetre below 0.1 m.
func floored(h float64) *quantity.Length {
	step := 100.0
	if h < 0.1 {
		step = 1000
	}
	s := quantity.Length(math.Floor(h*step) / step)
	return &s
}
