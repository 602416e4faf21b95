package foresee

import (
	"fmt"
	"math"
	"strings"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Specimen names what the map is of, for a sentence.
func (m *Map) Specimen() string {
	s := metres(m.Asked.Length) + " of " + spaced(m.Asked.Material)
	if m.Asked.Knot != "" {
		s += " tied with " + spaced(m.Asked.Knot)
	}
	if m.Asked.Absorber {
		s += " and an energy absorber"
	}
	return s
}

// say words what the map shows.
func (m *Map) say(campaign bool) {
	asked := fmt.Sprintf("%s falling %s on %s: %s", m.Asked.Mass.Text(3), metres(m.Asked.Fall), m.Specimen(), m.AskedPeak.Text(3))
	if m.AskedParts {
		asked += " if nothing parted, but it is predicted to part"
	}
	m.Statements = append(m.Statements, asked+".")
	if p := m.Parting; p != nil {
		p.Statement = fmt.Sprintf("%s is predicted to part at %s: %s", m.Specimen(), p.Force.Text(3), p.Note)
		if p.Slack != nil {
			p.Statement = fmt.Sprintf("%s of slack on %s reaches the %s at which the %s is predicted to part", metres(*p.Slack), m.Specimen(), p.Force.Text(3), spaced(p.What))
		}
		m.Statements = append(m.Statements, p.Statement+".")
	}
	for i := range m.Limits {
		l := &m.Limits[i]
		name := l.Name
		if l.Edition != "" {
			name += " (" + l.Edition + ")"
		}
		l.Statement = fmt.Sprintf("the %s of %s: %s on %s", l.Value.Text(3), name, l.Note, m.Specimen())
		if l.Slack != nil {
			l.Statement = fmt.Sprintf("%s of slack on %s reaches the %s of %s", metres(*l.Slack), m.Specimen(), l.Value.Text(3), name)
		}
		m.Statements = append(m.Statements, l.Statement+".")
	}
	if d := m.Dropped.Mean; d != nil {
		m.Statements = append(m.Statements, fmt.Sprintf("The peaks of the %s of this material and knot that held lie on average %.0f %% %s what the model says with its starting values.", look.Plural(m.Dropped.Held, "drop", "drops"), 100*math.Abs(d.SI()), aboveBelow(d.SI())))
	}
	if t := m.parted(); t != "" {
		m.Statements = append(m.Statements, t)
	}
	m.warn(campaign)
}

// parted holds the line at which the specimen is predicted to part against what the drops did; empty where it agrees with all of them, or there are none.
func (m *Map) parted() string {
	if m.Parting == nil {
		return ""
	}
	kept, broke, as := 0, 0, 0
	for _, d := range m.Drops {
		switch {
		case d.Parts && d.Outcome == drop.Held:
			kept++
		case !d.Parts && d.Outcome == drop.Broke:
			broke++
		case d.Outcome == drop.Held || d.Outcome == drop.Broke:
			as++
		}
	}
	if kept+broke == 0 {
		return ""
	}
	t := fmt.Sprintf("Of the drops of this material and knot %d did as predicted, %d held where the specimen was predicted to part, and %d broke where it was predicted to hold", as, kept, broke)
	if broke > 0 {
		return t + ": the line at which it is predicted to part is not on the safe side for these specimens, and drops short of it may break."
	}
	return t + "."
}

func aboveBelow(v float64) string {
	if v < 0 {
		return "below"
	}
	return "above"
}

func (m *Map) warn(campaign bool) {
	warn := func(s message.Sentence) { m.Warnings = append(m.Warnings, s) }
	warn(message.Say("starting values of %s are used: no rating, and not the specimen's", m.Starting))
	if m.Asked.Knot != "" {
		warn(message.Say("the knot leaves %.0f %% of the strength by published slow pulls with n = 2 each; how it slips and locks is a starting value", 100*m.Parting.Efficiency.SI()))
	}
	var knot *arrest.Knot
	if k := arrest.StartingKnot(); m.Asked.Knot != "" {
		knot = &k
	}
	for _, s := range arrest.Contradicted(m.Starting, knot) {
		warn(s)
	}
	warn(message.Say("the rig is a spring without mass on the map; the ringing of the load cell adds up to about 1 % to single falls"))
	if m.Asked.Absorber {
		warn(message.Say("energy absorber: starting values; the forces are those in the chain, with the tearing stitches at their crest; the ringing of the load cell under them, which a single simulated fall shows, is left out"))
	}
	if m.Reading.Worst > allowedFit {
		warn(message.Say("between the computed drops the map is read off with up to %.1f %% of error (at %s %s, %s %s); narrow the range, or take the falls of interest from the table", 100*m.Reading.Worst.SI(),
			m.Across.Quantity.Name(), m.Across.Quantity.Text(m.Reading.Across, 3), m.Up.Quantity.Name(), m.Up.Quantity.Text(m.Reading.Up, 3)))
	}
	switch {
	case !campaign:
	case m.Dropped.Shown == 0:
		warn(message.Say("no drop of this campaign stands on this map: all of it is the model alone, an extrapolation"))
	default:
		warn(message.Say("what lies outside the dropped falls is an extrapolation (dotted on the map)"))
	}
	prior, scale := 0, 0
	for _, d := range m.Drops {
		if d.Prior > 0 {
			prior++
		}
		if d.NoScale {
			scale++
		}
	}
	if scale > 0 {
		warn(message.Say("the force scale of the load cell is not known for %s: every ± leaves it out", dropsIn(scale)))
	}
	if prior > 0 {
		warn(message.Say("%d {drop is of a specimen that had|drops are of specimens that had} been dropped before; the model is of a first drop", prior))
	}
}

func dropsIn(n int) message.Sentence {
	if n == 1 {
		return message.Say("1 drop")
	}
	return message.Say("%d drops", n)
}

// spaced writes a name for a sentence.
func spaced(name string) string { return strings.ReplaceAll(name, "-", " ") }

// metres writes a length as the trade does: 0.35 m, and 0.035 m where it is short.
func metres(l quantity.Length) string {
	if l.SI() < 0.1 {
		return fmt.Sprintf("%.3f m", l.SI())
	}
	return fmt.Sprintf("%.2f m", l.SI())
}
