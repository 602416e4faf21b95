// Package foresee answers before a drop is made: one fall and many, maps of falls, plans, series and numbers of specimens, and the drop that would tell
// most.
package foresee

import (
	"context"
	"fmt"
	"math"
	"sync"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/limits"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/store"
)

// MapQuestion asks for the peak over two quantities of the fall. The quantities that the map does not lay out are those of
// WhatIf; zero values are filled with usual ones.
type MapQuestion struct {
	WhatIf
	Across, Up MapAxis
	Limits     []string  // names of the limits to draw; nil = MapLimits
	Own        *OwnLimit // a rating that no standard gives; nil = that of a small chock
}

// OwnLimit is a rating or limit of the reader's own. A zero value draws none.
type OwnLimit struct {
	Name  string
	Value quantity.Force
}

// smallChock is a rating that many small wired chocks have. Common practice, no source.
func smallChock() OwnLimit { return OwnLimit{"small chock", 12000} }

// MapLimits are the limits that a map draws when none is chosen.
func MapLimits() []string {
	return []string{"energy absorber", "body harness, work at height (US)", "anchor device, static", "dynamic rope, single", "connector B, gate closed", "sewn sling"}
}

// Map is the peak force over two quantities of the fall, as the model predicts it. The JSON names are stable: names are added,
// never changed. Places are in SI units of the axes.
type Map struct {
	Campaign   string             `json:"campaign"` // empty without one
	Invented   bool               `json:"invented"`
	Starting   string             `json:"starting_values"`
	Asked      WhatIf             `json:"asked"`
	Across     MapValues          `json:"across"`
	Up         MapValues          `json:"up"`
	Peak       [][]float64        `json:"peak_N"` // if nothing parts; a row for each value of up
	Levels     []MapLevel         `json:"levels"`
	Limits     []MapLimit         `json:"limits"`
	Parting    *MapParting        `json:"parting"`
	Table      []MapRow           `json:"table"` // each computed, none read off the map
	Drops      []MapDrop          `json:"drops"`
	Dropped    MapDropped         `json:"dropped"`
	Reading    MapFit             `json:"reading"` // how well the map is read between the computed drops
	Statements []string           `json:"statements"`
	Warnings   []message.Sentence `json:"warnings"`
	Cautions   []string           `json:"cautions"`
	Head       string             `json:"head"`
	AskedPeak  quantity.Force     `json:"asked_peak_N"` // if nothing parts
	AskedParts bool               `json:"asked_predicted_to_part"`

	q    MapQuestion
	s    *surface
	hull [][2]float64

	mu    sync.Mutex
	drawn map[string]drawing // by language and width
}

// MapValues is an axis with the values of the grid on it.
type MapValues struct {
	MapAxis
	Values []float64 `json:"values"`
}

// MapLine is a line on the map.
type MapLine struct {
	Across []float64 `json:"across"`
	Up     []float64 `json:"up"`
}

// MapLevel is an iso-line of the peak.
type MapLevel struct {
	Force quantity.Force `json:"force_N"`
	Lines []MapLine      `json:"lines"`
}

// MapLimit is a limit with the line on which the peak reaches it.
type MapLimit struct {
	limits.Limit
	Lines []MapLine `json:"lines"`
	Below bool      `json:"below_everywhere"` // the limit lies below every peak of the map
	MapReach
	Statement string `json:"statement"`
}

// MapReach is the largest free fall whose peak stays within a limit, for the mass, length, rig and chain asked; null: see Note.
type MapReach struct {
	Slack *quantity.Length `json:"slack_m"`
	Note  message.Sentence `json:"note"`
}

// MapParting is the force at which the chain is predicted to part, with the line on which the force in the chain reaches it.
type MapParting struct {
	Force      quantity.Force `json:"force_N"`
	What       string         `json:"what"` // parts
	Strength   quantity.Force `json:"strength_N"`
	Efficiency quantity.Ratio `json:"knot_efficiency"` // 1 without a knot
	Lines      []MapLine      `json:"lines"`
	MapReach
	Statement string `json:"statement"`
}

// MapRow is a row of the table of single falls.
type MapRow struct {
	Up    float64   `json:"up"`
	Cells []MapCell `json:"cells"`
}

// MapCell is one fall of the table.
type MapCell struct {
	Across float64        `json:"across"`
	Peak   quantity.Force `json:"peak_N"`
	Parts  bool           `json:"predicted_to_part"`
	Beyond bool           `json:"beyond_the_drops"` // an extrapolation
}

// AskMap computes a map without a campaign.
func AskMap(ctx context.Context, a *look.Access, q MapQuestion) (*Map, error) {
	return computeMap(ctx, a, q, nil)
}

// MapOf computes a map with the drops of a campaign on it.
func MapOf(ctx context.Context, a *look.Access, path string, q MapQuestion) (out *Map, err error) {
	err = a.View(ctx, path, func(c *look.Entered, _ store.Reader) error {
		out, err = computeMap(ctx, a, q, c)
		return err
	})
	return out, err
}

func computeMap(ctx context.Context, a *look.Access, q MapQuestion, c *look.Entered) (*Map, error) {
	q, err := q.withDefaults(c)
	if err != nil {
		return nil, err
	}
	s, err := survey(ctx, a, q, q.quiet)
	if err != nil {
		return nil, err
	}
	return q.draw(ctx, s, c)
}

// withDefaults fills in what is not given: from the campaign where it has it.
func (q MapQuestion) withDefaults(c *look.Entered) (_ MapQuestion, err error) {
	if c != nil {
		q.fromCampaign(c)
	}
	q.WhatIf = q.WhatIf.withDefaults()
	if q.Across, err = q.Across.withDefaults(MapFactor); err != nil {
		return q, err
	}
	usual := MapLength
	if q.Across.Quantity == MapLength {
		usual = MapFactor
	}
	if q.Up, err = q.Up.withDefaults(usual); err != nil {
		return q, err
	}
	x, y := mapQuantities[q.Across.Quantity], mapQuantities[q.Up.Quantity]
	switch {
	case q.Across.Quantity == q.Up.Quantity:
		return q, fmt.Errorf("%s was chosen for both directions of the map; choose another quantity for one of them", x.name)
	case x.falls && y.falls:
		return q, fmt.Errorf("%s and %s both say how high the fall is; choose one of them and another quantity", x.name, y.name)
	}
	for _, corner := range [][2]float64{{q.Across.From, q.Up.From}, {q.Across.To, q.Up.To}} {
		if _, err := q.At(corner[0], corner[1]).model(); err != nil {
			return q, err
		}
	}
	if q.Limits == nil {
		q.Limits = MapLimits()
		if q.Own == nil {
			chock := smallChock()
			q.Own = &chock
		}
	}
	if q.Own != nil && q.Own.Value < 0 {
		return q, fmt.Errorf("own rating: %s is negative; write for example 12 kN", q.Own.Value)
	}
	return q, nil
}

// fromCampaign takes what is not given from the campaign: mass and stiffness of its rig, the starting set that most of its
// drops are of, and their most common length.
func (q *MapQuestion) fromCampaign(c *look.Entered) {
	if q.Mass == 0 && c.Rig.Mass > 0 {
		q.Mass = c.Rig.Mass
	}
	if q.Rig == 0 {
		q.Rig = rigStiffness(c.Rig)
	}
	taken := c.Taken()
	if q.Material == "" {
		q.Material, _ = mostCommon(taken, func(d drop.Drop) (string, bool) {
			for _, set := range arrest.StartingSetNames() {
				if d.Role != drop.Check && ofSet(set, d.Specimen) {
					return set, true
				}
			}
			return "", false
		})
	}
	if q.Length == 0 {
		q.Length, _ = mostCommon(taken, func(d drop.Drop) (quantity.Length, bool) {
			return d.Specimen.Length, d.Role != drop.Check && d.Specimen.Length > 0 && ofSet(q.Material, d.Specimen)
		})
	}
}

// mostCommon is the most common value among the drops that have one; of several the one met first.
func mostCommon[K comparable](drops []drop.Drop, value func(drop.Drop) (K, bool)) (best K, n int) {
	count := map[K]int{}
	var order []K
	for _, d := range drops {
		if v, ok := value(d); ok {
			if count[v] == 0 {
				order = append(order, v)
			}
			count[v]++
		}
	}
	for _, v := range order {
		if count[v] > n {
			best, n = v, count[v]
		}
	}
	return best, n
}

// rigStiffness is what the rig file says of it, 0 when nothing.
func rigStiffness(r drop.Rig) quantity.Stiffness {
	if r.Stiffness == 0 && r.Frequency > 0 && r.NodeMass > 0 {
		w := 2 * math.Pi * r.Frequency.SI()
		return quantity.Stiffness(w * w * r.NodeMass.SI())
	}
	return r.Stiffness
}

// draw makes the answer from the surface.
func (q MapQuestion) draw(ctx context.Context, s *surface, c *look.Entered) (*Map, error) {
	m := &Map{
		Starting: q.Material, Asked: q.WhatIf, Across: MapValues{q.Across, s.fine.X}, Up: MapValues{q.Up, s.fine.Y}, Reading: s.fit,
		Levels: []MapLevel{}, Limits: []MapLimit{}, Table: []MapRow{}, Statements: []string{}, Warnings: []message.Sentence{}, Cautions: drop.Cautions(), q: q, s: s,
	}
	m.Peak = s.rows()
	var k asker
	asked, chain, err := k.hair(q.WhatIf, false)
	if err != nil {
		return nil, fmt.Errorf("map: %w", err)
	}
	m.AskedPeak = asked
	lo, hi := s.span()
	for _, f := range isoForces(lo, hi) {
		m.Levels = append(m.Levels, MapLevel{f, s.lines(f)})
	}
	if err := m.part(ctx); err != nil {
		return nil, err
	}
	if err := m.reach(ctx, lo); err != nil {
		return nil, err
	}
	strength := quantity.Force(0)
	if m.Parting != nil {
		strength = m.Parting.Force
		m.AskedParts = chain >= strength
	}
	if m.Drops, m.Dropped, err = q.drops(c, strength); err != nil {
		return nil, err
	}
	for i := range m.Dropped.Across {
		m.hull = append(m.hull, [2]float64{q.Across.shown(m.Dropped.Across[i]), q.Up.shown(m.Dropped.Up[i])})
	}
	if c != nil {
		m.Campaign, m.Invented, m.Head = c.Info.Name, c.Info.Invented, c.Head.Hash.String()
	}
	if err := m.tabulate(&k, strength); err != nil {
		return nil, err
	}
	m.say(c != nil)
	return m, nil
}

// isoForces are the forces of the iso-lines: the multiples of the least 1, 2 or 5 times a power of ten that gives at most
// sixteen of them. A map that is flat to one percent has none.
func isoForces(lo, hi quantity.Force) []quantity.Force {
	if hi-lo < 0.01*hi {
		return nil // flat: lines would show nothing but noise
	}
	step := math.Pow(10, math.Floor(math.Log10((hi-lo).SI()/16)))
	for _, m := range []float64{1, 2, 5, 10} {
		if m*step*16 >= (hi - lo).SI() {
			step *= m
			break
		}
	}
	var out []quantity.Force
	for f := math.Ceil(lo.SI()/step) * step; f <= hi.SI(); f += step {
		out = append(out, quantity.Force(f))
	}
	return out
}

// Columns and rows of the table of single falls.
const (
	mapColumns = 9
	mapRows    = 7
)

func (m *Map) tabulate(k *asker, strength quantity.Force) error {
	for _, y := range m.q.Up.evenly(mapRows) {
		row := MapRow{Up: y}
		for _, x := range m.q.Across.evenly(mapColumns) {
			cell, chain, err := k.near(m.q, x, y, false)
			if err != nil {
				return err
			}
			row.Cells = append(row.Cells, MapCell{x, cell, strength > 0 && chain >= strength, !m.known(x, y)})
		}
		m.Table = append(m.Table, row)
	}
	return nil
}

// known tells whether a place lies among the dropped falls.
func (m *Map) known(across, up float64) bool {
	return amid(m.hull, nearDropped, [2]float64{m.q.Across.shown(across), m.q.Up.shown(up)})
}
