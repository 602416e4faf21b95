package arrest

import (
	"errors"
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Damage is what a drop that is held leaves behind in a textile. With r the largest force of the drop over the strength that
// the textile, its knots in it, had before it:
//
//	strength    falls by Loss r^Exponent of the strength of the first drop
//	stiffness   the factor k grows towards 1 + Stiffening by the share Rate r of what is missing
//	set         the strain up to which it is set grows by the share SetGrowth r
//	friction    falls by the share FrictionLoss r
type Damage struct {
	Exponent     quantity.Ratio `json:"exponent" yaml:"exponent"`
	Loss         quantity.Ratio `json:"loss" yaml:"loss"`
	Stiffening   quantity.Ratio `json:"stiffening" yaml:"stiffening"`
	Rate         quantity.Ratio `json:"rate" yaml:"rate"`
	SetGrowth    quantity.Ratio `json:"set_growth" yaml:"set_growth"`
	FrictionLoss quantity.Ratio `json:"friction_loss" yaml:"friction_loss"`
}

// StartingDamage is a law to start from, to be replaced by that of a series of one's own: starting values, no source. A dynamic rope
// gets peaks from it that rise as published series do, and falls held of the order that its standard asks for.
func StartingDamage() Damage {
	return Damage{Exponent: 10, Loss: 0.5, Stiffening: 1.2, Rate: 0.7, SetGrowth: 0.05, FrictionLoss: 0.1}
}

// UnmarshalYAML reads the word starting, or values over the starting ones.
func (d *Damage) UnmarshalYAML(read func(any) error) error {
	*d = StartingDamage()
	var word string
	if read(&word) == nil {
		if word != "starting" {
			return errors.New("say starting for starting values, or give exponent, loss, stiffening, rate, set_growth and friction_loss")
		}
		return nil
	}
	type plain Damage
	return read((*plain)(d))
}

// starts tells that some value is a starting one.
func (d Damage) starts() bool {
	s := StartingDamage()
	return d.Exponent == s.Exponent || d.Loss == s.Loss || d.Stiffening == s.Stiffening || d.Rate == s.Rate || d.SetGrowth == s.SetGrowth || d.FrictionLoss == s.FrictionLoss
}

func (d *Damage) validate(t *Textile) error {
	if d == nil {
		return nil
	}
	if t.Strength == 0 {
		return errors.New("damage: it goes by force over strength; give the textile a strength")
	}
	return check(
		limits{"damage: exponent", d.Exponent.SI(), 0, 100, true, false, "it lies above 0 and up to 100"},
		limits{"damage: loss", d.Loss.SI(), 0, 1, false, false, "it lies from 0 to 1"},
		limits{"damage: stiffening", d.Stiffening.SI(), 0, 20, false, false, "it lies from 0 to 20"},
		limits{"damage: rate", d.Rate.SI(), 0, 1, false, false, "it lies from 0 to 1"},
		limits{"damage: set_growth", d.SetGrowth.SI(), 0, 1, false, false, "it lies from 0 to 1"},
		limits{"damage: friction_loss", d.FrictionLoss.SI(), 0, 1, false, false, "it lies from 0 to 1"},
	)
}

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

// worn is the state of a textile with a law of damage.
type worn struct {
	left, stiffness, friction float64
}

// wear notes what the drop r did to each textile with a law of damage; after changes the links for the next drop.
func (m *solver) wear(c *Case, r *Result) {
	for i := range m.links {
		l := &m.links[i]
		if l.kind != linkTextile || c.Chain[l.elem].Textile.Damage == nil {
			continue
		}
		if m.worn == nil {
			m.worn = map[int]worn{}
		}
		w, ok := m.worn[l.elem]
		if !ok {
			w = worn{1, 1, 1}
		}
		weakest := c.weakestAbout(l.elem)
		out := Wear{Element: m.names[l.elem], Before: quantity.Force(w.left * weakest)}
		out.Load = quantity.Ratio(min(r.PeakChain.SI()/out.Before.SI(), 1))
		if r.Broke == nil || r.Broke.place != l.elem && (c.Chain[r.Broke.place].Knot == nil || c.TextileOf(r.Broke.place) != l.elem) {
			w = c.Chain[l.elem].Textile.Damage.next(w, out.Load.SI())
			out.After = quantity.Force(w.left * weakest)
			out.Left = quantity.Ratio(w.left)
		}
		out.Stiffness, out.Friction = quantity.Ratio(w.stiffness), quantity.Ratio(w.friction)
		m.worn[l.elem] = w
		r.Wear = append(r.Wear, out)
	}
}

// next is the state after a drop that was held at r.
func (d *Damage) next(w worn, r float64) worn {
	w.left = max(0, w.left-d.Loss.SI()*math.Pow(r, d.Exponent.SI()))
	w.stiffness += d.Rate.SI() * r * (1 + d.Stiffening.SI() - w.stiffness)
	w.friction *= 1 - d.FrictionLoss.SI()*r
	return w
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
		l.stiffen(w.stiffness / l.stiffened())
		l.grown = w.stiffness
		if l.mu > 0 {
			l.mu = c.Chain[l.elem].Textile.Friction.SI() * w.friction
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
				s *= w.left
			}
		}
		m.weaken(s, i, ramp)
	}
}

// stiffened is by how much the link is stiffer than it was at first.
func (l *link) stiffened() float64 { return orDefault(l.grown, 1) }

// stiffen makes an unloaded textile stiffer by the factor k: all its forces grow alike.
func (l *link) stiffen(k float64) {
	l.e1, l.e2, l.e3, l.kf = l.e1*k, l.e2*k, l.e3*k, l.kf*k
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
			if t.Damage.starts() {
				out = append(out, message.Say("%s: its damage from drop to drop is a starting law, no source; replace it by a series of drops of your own", message.Names(c.Label(i))))
			}
		}
	}
	if !any {
		out = append(out, message.Say("no textile has a law of damage: from drop to drop only set and slips stay, so that real peaks rise more and falls held end sooner; give damage: starting"))
	}
	return out
}
