package arrest

import (
	"github.com/hardcatch/hardcatch/internal/arrest/element"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Wear is what a drop did to a textile with a law of damage.
type Wear struct {
	Element   string         `json:"element"`
	Load      quantity.Ratio `json:"force_over_strength"` // strength before the drop, knots in it
	Before    quantity.Force `json:"strength_before_N"`   // of the textile, knots in it
	After     quantity.Force `json:"strength_after_N"`    // 0 where it broke
	Left      quantity.Ratio `json:"strength_left"`       // share of that before the first drop
	Stiffness quantity.Ratio `json:"stiffness_factor"`    // after the drop, over that of the first
	Friction  quantity.Ratio `json:"friction_factor"`
}

// Series is what came of several drops on one specimen. They are one specimen's, and count as one wherever specimens are counted. Its
// life in falls lies from HeldFrom to below HeldTo: an interval, never a number.
type Series struct {
	Asked    int  `json:"asked"`
	Made     int  `json:"made"`
	HeldFrom int  `json:"held_from"`
	HeldTo   *int `json:"held_to"` // null: it has not broken, and may hold more
}

// wear notes what the drop r did to each textile with a law of damage; after changes the links for the next drop.
func (m *solver) wear(c *Case, r *Result) {
	for i := range m.links {
		l := &m.links[i]
		if l.kind != linkTextile || c.Chain[l.elem].Textile.Damage == nil {
			continue
		}
		if m.worn == nil {
			m.worn = map[int]element.Worn{}
		}
		w, ok := m.worn[l.elem]
		if !ok {
			w = element.Worn{Left: 1, Stiffness: 1, Friction: 1}
		}
		weakest := c.weakestAbout(l.elem)
		out := Wear{Element: m.names[l.elem], Before: quantity.Force(w.Left * weakest)}
		out.Load = quantity.Ratio(min(r.PeakChain.SI()/out.Before.SI(), 1))
		if r.Broke == nil || r.Broke.place != l.elem && (c.Chain[r.Broke.place].Knot == nil || c.TextileOf(r.Broke.place) != l.elem) {
			w = c.Chain[l.elem].Textile.Damage.Next(w, out.Load.SI())
			out.After = quantity.Force(w.Left * weakest)
			out.Left = quantity.Ratio(w.Left)
		}
		out.Stiffness, out.Friction = quantity.Ratio(w.Stiffness), quantity.Ratio(w.Friction)
		m.worn[l.elem] = w
		r.Wear = append(r.Wear, out)
	}
}

// weakestAbout is the least force at which textile i or what is tied in it parts.
func (c *Case) weakestAbout(i int) float64 {
	least := c.StrengthOf(i).SI()
	for j := range c.Chain {
		if c.Chain[j].Knot != nil && c.TextileOf(j) == i {
			least = min(least, c.StrengthOf(j).SI())
		}
	}
	return least
}

// goOnWorn changes the rested links as the drop r left them, for the drop that follows it.
func (m *solver) goOnWorn(c *Case, r *Result) {
	if len(r.Wear) == 0 {
		return
	}
	done := 0
	for i := range m.links {
		l := &m.links[i]
		if l.kind != linkTextile || c.Chain[l.elem].Textile.Damage == nil {
			continue
		}
		load := r.Wear[done].Load.SI()
		done++
		d, w := c.Chain[l.elem].Textile.Damage, m.worn[l.elem]
		l.stiffen(w.Stiffness / l.stiffened())
		l.grown = w.Stiffness
		if l.mu > 0 {
			l.mu = c.Chain[l.elem].Textile.Friction.SI() * w.Friction
		}
		if l.alpha > 0 {
			l.top *= 1 + d.SetGrowth.SI()*load
			l.base = l.alpha * l.length * l.top / (1 - l.alpha)
		}
		l.solve(0)
	}
	if c.Unbroken {
		return
	}
	m.strength, m.weakest, m.ramp = inf, -1, 0
	for i := range c.Chain {
		s, of := c.StrengthOf(i).SI(), i
		if c.Chain[i].Knot != nil {
			of = c.TextileOf(i)
		}
		if s == 0 {
			continue
		}
		ramp := 0.0
		if of >= 0 && c.Chain[of].Textile != nil {
			ramp = c.Chain[of].Textile.BreakRamp.SI()
			if w, ok := m.worn[of]; ok {
				s *= w.Left
			}
		}
		m.weaken(s, i, ramp)
	}
}

// stiffened is by how much the link is stiffer than it was at first.
func (l *link) stiffened() float64 { return orDefault(l.grown, 1) }

// stiffen makes an unloaded textile stiffer by the factor k: all its forces grow alike.
func (l *link) stiffen(k float64) {
	l.el.E1, l.el.E2, l.el.E3, l.kf = l.el.E1*k, l.el.E2*k, l.el.E3*k, l.kf*k
	for j := range l.branches {
		b := &l.branches[j]
		b.e *= k
		b.z[0] *= k
		b.loss /= k
	}
	l.evaluate()
}

// seriesOf sums up the drops on one specimen, of which last is the last.
func seriesOf(c *Case, earlier []*Result, last *Result) *Series {
	if c.Drops < 2 {
		return nil
	}
	s := &Series{Asked: c.Drops, Made: len(earlier) + 1, HeldFrom: len(earlier) + 1}
	if last.Outcome != drop.Held {
		s.HeldFrom = len(earlier)
	}
	if last.Outcome == drop.Broke {
		to := s.Made
		s.HeldTo = &to
	}
	return s
}

// Say is the series as a sentence.
func (s *Series) Say() message.Sentence {
	if s.HeldTo == nil {
		return message.Say("%d drops on one specimen, %d held and no break: its falls held are %d or more; it counts as one specimen, not as %d", s.Made, s.HeldFrom, s.HeldFrom, s.Made)
	}
	return message.Say("%d drops on one specimen: it held %d and broke on drop %d; it counts as one specimen, not as %d", s.Made, s.HeldFrom, *s.HeldTo, s.Made)
}

// damaged are the doubts about repeated drops.
func (c *Case) damaged() []message.Sentence {
	if c.Drops < 2 {
		return nil
	}
	var out []message.Sentence
	any := false
	for i := range c.Chain {
		if t := c.Chain[i].Textile; t != nil && t.Damage != nil {
			any = true
			if t.Damage.Starts() {
				out = append(out, message.Say("%s: its damage from drop to drop is a starting law, no source; replace it by a series of drops of your own", message.Names(c.Label(i))))
			}
		}
	}
	if !any {
		out = append(out, message.Say("no textile has a law of damage: from drop to drop only set and slips stay, so that real peaks rise more and falls held end sooner; give damage: starting"))
	}
	return out
}
