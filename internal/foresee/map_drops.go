package foresee

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/plan"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// MapDrop is a drop of the campaign held against the model.
type MapDrop struct {
	Drop         string          `json:"drop"`
	Specimen     string          `json:"specimen"`
	Conditioning string          `json:"conditioning"`
	Prior        int             `json:"prior_drops"`
	Outcome      drop.Outcome    `json:"outcome"`
	Mass         quantity.Mass   `json:"mass_kg"`
	Fall         quantity.Length `json:"fall_m"`
	Length       quantity.Length `json:"length_m"`
	Measured     quantity.Force  `json:"measured_N"`
	Expanded     quantity.Force  `json:"u_N"` // expanded uncertainty of the measured peak
	LowerBound   bool            `json:"lower_bound"`
	NoScale      bool            `json:"force_scale_unknown"`
	// Predicted is what the model asks for with the drop's own mass, length and fall, if nothing parts.
	Predicted  quantity.Force   `json:"predicted_N"`
	Parts      bool             `json:"predicted_to_part"`
	Difference quantity.Ratio   `json:"difference"` // measured over predicted, less one
	Across     float64          `json:"across"`
	Up         float64          `json:"up"`
	Shown      bool             `json:"shown"` // it stands on the map
	Why        message.Sentence `json:"why_not_shown,omitempty"`
}

// MapDropped is where the shown drops lie: their convex hull, widened by Near.
type MapDropped struct {
	Shown   int `json:"shown"`
	Matched int `json:"matched"`  // valid drops of the material and knot
	LeftOut int `json:"left_out"` // further drops of them: void, left out by a finding, or without a peak or a length
	Held    int `json:"held"`     // matched drops whose peak is no lower bound
	// Mean is the mean difference of those, measured over predicted less one; null without any.
	Mean   *quantity.Ratio  `json:"mean_difference"`
	Across []float64        `json:"across"` // corners of the hull
	Up     []float64        `json:"up"`
	Near   float64          `json:"near"` // share of the axes by which the hull is widened
	Rule   message.Sentence `json:"rule"` // which drops match
}

// nearDropped is how far beside the dropped falls, as a share of the axes, the map still counts as dropped. Common practice, no
// source.
const nearDropped = 0.025

// alikeValues is how far the mass of a drop may be from the map's, as a share, for the drop to stand on it; so with every quantity
// that the map holds fixed. Common practice, no source.
const alikeValues = 0.02

// setWord is the word of a material or construction that a starting set answers to.
func setWord(set string) string {
	if strings.HasPrefix(set, "semi-static") {
		return "semi-static"
	}
	word, _, _ := strings.Cut(set, "-")
	return word
}

// ofSet tells whether a specimen is of the material of a starting set: its material or construction names it, and it is a
// rope where the set is one.
func ofSet(set string, s drop.Specimen) bool {
	text := strings.ToLower(s.Material + " " + s.Construction)
	named := false
	for _, w := range strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == ',' || r == '(' || r == ')' || r == '/' }) {
		named = named || w == setWord(set) || w == set
	}
	return named && strings.Contains(set, "rope") == strings.Contains(text, "rope")
}

// matches tells whether a drop is of the map's material, knot and absorber.
func (q MapQuestion) matches(d drop.Drop) bool {
	if d.Role == drop.Check || !ofSet(q.Material, d.Specimen) || q.Absorber != strings.Contains(strings.ToLower(d.Specimen.Construction), "absorber") {
		return false
	}
	if q.Knot == "" {
		return !plan.IsTied(d.Specimen.Knot)
	}
	return strings.EqualFold(strings.TrimSpace(d.Specimen.Knot), knotWord(q.Knot))
}

func knotWord(name string) string {
	for _, k := range WhatIfKnots() {
		if k.Name == name {
			return k.Knot
		}
	}
	return name
}

// rule says in words which drops match.
func (q MapQuestion) rule() message.Sentence {
	s := message.Say("trial drops of specimens whose material or construction names %s", message.Own(setWord(q.Material)))
	if q.Knot != "" {
		return s.Say(", with the knot %s", message.Names(knotWord(q.Knot)))
	}
	return s.Say(", with nothing tied in them")
}

// drops holds the matching drops of a campaign against the model.
func (q MapQuestion) drops(c *look.Entered, strength quantity.Force) ([]MapDrop, MapDropped, error) {
	out, hull := []MapDrop{}, MapDropped{Near: nearDropped, Across: []float64{}, Up: []float64{}, Rule: q.rule()}
	if c == nil {
		return out, hull, nil
	}
	k := predictions{made: map[WhatIf][2]quantity.Force{}}
	for _, d := range c.Drops {
		if !q.matches(d) || c.Planned(d) {
			continue
		}
		row := c.Entry(d).Row()
		if row.Outcome == drop.Void || row.LeftOut != "" || row.Peak == nil || d.Specimen.Length <= 0 {
			hull.LeftOut++
			continue
		}
		m, err := q.against(&k, d, row, c.Rig.Mass, strength)
		if err != nil {
			return nil, hull, err
		}
		out = append(out, m)
	}
	hull.Matched = len(out)
	sum := 0.0
	for _, m := range out {
		if m.Outcome == drop.Held && !m.LowerBound {
			hull.Held++
			sum += m.Difference.SI()
		}
	}
	if hull.Held > 0 {
		mean := quantity.Ratio(sum / float64(hull.Held))
		hull.Mean = &mean
	}
	var at [][2]float64
	for _, m := range out {
		if m.Shown {
			hull.Shown++
			at = append(at, [2]float64{q.Across.shown(m.Across), q.Up.shown(m.Up)})
		}
	}
	for _, p := range convexHull(at) {
		hull.Across, hull.Up = append(hull.Across, q.Across.Place(p[0])), append(hull.Up, q.Up.Place(p[1]))
	}
	return out, hull, nil
}

// predictions computes each fall once: a cell's drops are the same fall.
type predictions struct {
	asker
	made map[WhatIf][2]quantity.Force
}

func (k *predictions) peak(w WhatIf) (cell, chain quantity.Force, err error) {
	if f, ok := k.made[w]; ok {
		return f[0], f[1], nil
	}
	if cell, chain, err = k.hair(w, false); err == nil {
		k.made[w] = [2]quantity.Force{cell, chain}
	}
	return cell, chain, err
}

// against holds one drop against the model, and says why it does not stand on the map where it does not.
func (q MapQuestion) against(k *predictions, d drop.Drop, row compare.Row, usual quantity.Mass, strength quantity.Force) (MapDrop, error) {
	w := q.WhatIf
	w.Fall, w.Length = d.Fall, d.Specimen.Length
	switch {
	case d.Mass > 0:
		w.Mass = d.Mass
	case usual > 0:
		w.Mass = usual
	}
	m := MapDrop{
		Drop: d.ID, Specimen: d.Specimen.ID, Conditioning: d.Specimen.Conditioning, Prior: d.Prior, Outcome: row.Outcome, Mass: w.Mass, Fall: w.Fall, Length: w.Length,
		Measured: *row.Peak, Expanded: *row.Expanded, LowerBound: row.LowerBound, NoScale: row.NoScale,
	}
	cell, chain, err := k.peak(w)
	if err != nil {
		return m, fmt.Errorf("drop %s: %w", d.ID, err)
	}
	m.Predicted, m.Parts = cell, strength > 0 && chain >= strength
	m.Difference = quantity.Ratio(m.Measured.SI()/cell.SI() - 1)
	m.Across, m.Up = q.place(w)
	m.Why = q.whyNot(w)
	m.Shown = m.Why == nil
	return m, nil
}

// whyNot says why a fall does not stand on the map, nothing when it does.
func (q MapQuestion) whyNot(w WhatIf) message.Sentence {
	for _, a := range []MapAxis{q.Across, q.Up} {
		if v := a.of(w); !a.holds(v) {
			return message.Say("%s %s is beyond the map", a.Quantity.Name(), a.Quantity.Text(v, 3))
		}
	}
	// What the map holds fixed: a fall at the same place of the map must be the same fall.
	x, y := q.place(w)
	here := q.At(x, y)
	for _, f := range []struct {
		name, text string
		is, ours   float64
	}{{"mass", w.Mass.Text(3), w.Mass.SI(), here.Mass.SI()}, {"length", w.Length.Text(3), w.Length.SI(), here.Length.SI()}, {"fall height", w.Fall.Text(3), w.Fall.SI(), here.Fall.SI()}} {
		if math.Abs(f.is-f.ours) > alikeValues*f.ours {
			return message.Say("%s %s is not the map's", f.name, f.text)
		}
	}
	return nil
}

// convexHull is the corners of the least convex region around some places, counter-clockwise (Andrew's monotone chain, Inf. Process.
// Lett. 9 (1979) 216; recalled). One place gives one corner, places on a line give two.
func convexHull(p [][2]float64) [][2]float64 {
	p = append([][2]float64(nil), p...)
	sort.Slice(p, func(i, j int) bool { return p[i][0] < p[j][0] || p[i][0] == p[j][0] && p[i][1] < p[j][1] })
	p = slices.Compact(p)
	if len(p) < 3 {
		return p
	}
	var h [][2]float64
	add := func(floor int, q [2]float64) {
		for len(h) >= floor+2 && turn(h[len(h)-2], h[len(h)-1], q) <= 0 {
			h = h[:len(h)-1]
		}
		h = append(h, q)
	}
	for _, q := range p {
		add(0, q)
	}
	floor := len(h) - 1
	for i := len(p) - 2; i >= 0; i-- {
		add(floor, p[i])
	}
	return h[:len(h)-1]
}

func turn(a, b, c [2]float64) float64 {
	return (b[0]-a[0])*(c[1]-a[1]) - (b[1]-a[1])*(c[0]-a[0])
}

// amid tells whether a place of the map, in shares of the axes, lies within near of the hull.
func amid(hull [][2]float64, near float64, p [2]float64) bool {
	if len(hull) == 0 {
		return false
	}
	inside := len(hull) > 2
	least := math.Inf(1)
	for i, a := range hull {
		b := hull[(i+1)%len(hull)]
		inside = inside && turn(a, b, p) >= 0
		least = math.Min(least, apart(p, a, b))
	}
	return inside || least <= near
}

// apart is the distance of p from the stretch between a and b.
func apart(p, a, b [2]float64) float64 {
	dx, dy := b[0]-a[0], b[1]-a[1]
	t := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		t = math.Max(0, math.Min(1, ((p[0]-a[0])*dx+(p[1]-a[1])*dy)/l))
	}
	return math.Hypot(p[0]-a[0]-t*dx, p[1]-a[1]-t*dy)
}
