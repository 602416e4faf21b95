package app

import (
	"context"
	"fmt"
	"math"
	"sort"
	"strings"
	"sync"

	"hardcatch/internal/arrest"
	"hardcatch/internal/drop"
	"hardcatch/internal/limits"
	"hardcatch/internal/quantity"
	"hardcatch/internal/store"
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
	Campaign   string         `json:"campaign"` // empty without one
	Invented   bool           `json:"invented"`
	Starting   string         `json:"starting_values"`
	Asked      WhatIf         `json:"asked"`
	Across     MapValues      `json:"across"`
	Up         MapValues      `json:"up"`
	Peak       [][]float64    `json:"peak_N"` // if nothing parts; a row for each value of up
	Levels     []MapLevel     `json:"levels"`
	Limits     []MapLimit     `json:"limits"`
	Parting    *MapParting    `json:"parting"`
	Table      []MapRow       `json:"table"` // each computed, none read off the map
	Drops      []MapDrop      `json:"drops"`
	Dropped    MapDropped     `json:"dropped"`
	Reading    MapFit         `json:"reading"` // how well the map is read between the computed drops
	Statements []string       `json:"statements"`
	Warnings   []string       `json:"warnings"`
	Cautions   []string       `json:"cautions"`
	Head       string         `json:"head"`
	AskedPeak  quantity.Force `json:"asked_peak_N"` // if nothing parts
	AskedParts bool           `json:"asked_predicted_to_part"`

	q    MapQuestion
	s    *surface
	hull [][2]float64

	mu    sync.Mutex
	drawn map[float64]drawing // by width
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
	Note  string           `json:"note"`
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
func (a *App) AskMap(ctx context.Context, q MapQuestion) (*Map, error) { return a.mapOf(ctx, q, nil) }

// Map computes a map with the drops of a campaign on it.
func (a *App) Map(ctx context.Context, path string, q MapQuestion) (out *Map, err error) {
	err = a.view(ctx, path, func(c *campaign, _ store.Reader) error {
		out, err = a.mapOf(ctx, q, c)
		return err
	})
	return out, err
}

func (a *App) mapOf(ctx context.Context, q MapQuestion, c *campaign) (*Map, error) {
	q, err := q.withDefaults(c)
	if err != nil {
		return nil, err
	}
	s, err := a.survey(ctx, q, q.quiet)
	if err != nil {
		return nil, err
	}
	return q.draw(s, c)
}

// withDefaults fills in what is not given: from the campaign where it has it.
func (q MapQuestion) withDefaults(c *campaign) (_ MapQuestion, err error) {
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
func (q *MapQuestion) fromCampaign(c *campaign) {
	if q.Mass == 0 && c.rig.Mass > 0 {
		q.Mass = c.rig.Mass
	}
	if q.Rig == 0 {
		q.Rig = rigStiffness(c.rig)
	}
	taken := c.taken()
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
func (q MapQuestion) draw(s *surface, c *campaign) (*Map, error) {
	m := &Map{
		Starting: q.Material, Asked: q.WhatIf, Across: MapValues{q.Across, s.fine.X}, Up: MapValues{q.Up, s.fine.Y}, Reading: s.fit,
		Levels: []MapLevel{}, Limits: []MapLimit{}, Table: []MapRow{}, Statements: []string{}, Warnings: []string{}, Cautions: drop.Cautions(), q: q, s: s,
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
	if err := m.part(&k); err != nil {
		return nil, err
	}
	if err := m.reach(&k, lo); err != nil {
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
		m.Campaign, m.Invented, m.Head = c.info.Name, c.info.Invented, c.head.Hash.String()
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

// part finds what parts first: all elements carry one force.
func (m *Map) part(k *asker) error {
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
	if p.MapReach, err = k.reach(m.q.WhatIf, p.Force, true); err != nil {
		return err
	}
	m.Parting = &p
	return nil
}

// reach holds the chosen limits against the map.
func (m *Map) reach(k *asker, least quantity.Force) error {
	chosen, err := m.q.chosenLimits()
	if err != nil {
		return err
	}
	for _, l := range chosen {
		x := MapLimit{Limit: l, Lines: m.s.lines(l.Value), Below: l.Value < least}
		if x.MapReach, err = k.reach(m.q.WhatIf, l.Value, false); err != nil {
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

// reach finds by bisection the largest free fall whose force stays below f, up to twice the length (and at least 4 m).
func (k *asker) reach(w WhatIf, f quantity.Force, inChain bool) (out MapReach, err error) {
	at := func(h float64) (float64, error) {
		w.Fall = quantity.Length(h)
		cell, chain, err := k.hair(w, false)
		if inChain {
			return chain.SI(), err
		}
		return cell.SI(), err
	}
	lo, hi := 0.0, math.Min(50, math.Max(4, 2*w.Length.SI()))
	v, err := at(lo)
	if err == nil && v >= f.SI() {
		out.Note = "passed by the sudden load alone, without any slack"
		return out, nil
	}
	if err == nil {
		v, err = at(hi)
	}
	if err != nil {
		return out, err
	}
	if v < f.SI() {
		out.Note = fmt.Sprintf("not reached up to %s of free fall", metres(quantity.Length(hi)))
		return out, nil
	}
	for hi-lo > 5e-4 {
		mid := (lo + hi) / 2
		if v, err = at(mid); err != nil {
			return out, err
		}
		if v < f.SI() {
			lo = mid
		} else {
			hi = mid
		}
	}
	out.Slack = floored(lo)
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
		m.Statements = append(m.Statements, fmt.Sprintf("The peaks of the %s of this material and knot that held lie on average %.0f %% %s what the model says with its starting values.", plural(m.Dropped.Held, "drop", "drops"), 100*math.Abs(d.SI()), aboveBelow(d.SI())))
	}
	m.warn(campaign)
}

func aboveBelow(v float64) string {
	if v < 0 {
		return "below"
	}
	return "above"
}

func (m *Map) warn(campaign bool) {
	say := func(format string, args ...any) { m.Warnings = append(m.Warnings, fmt.Sprintf(format, args...)) }
	say("starting values of %s are used: no rating, and not the specimen's", m.Starting)
	if m.Asked.Knot != "" {
		say("the knot leaves %.0f %% of the strength by published slow pulls with n = 2 each; how it slips and locks is a starting value", 100*m.Parting.Efficiency.SI())
	}
	say("the rig is a spring without mass on the map; the ringing of the load cell adds up to about 1 %% to single falls")
	if m.Asked.Absorber {
		say("energy absorber: starting values; the forces are those in the chain, with the tearing stitches at their crest; the ringing of the load cell under them, which a single simulated fall shows, is left out")
	}
	if m.Reading.Worst > allowedFit {
		say("between the computed drops the map is read off with up to %.1f %% of error (at %s %s, %s %s); narrow the range, or take the falls of interest from the table", 100*m.Reading.Worst.SI(),
			m.Across.Quantity.Name(), m.Across.Quantity.Text(m.Reading.Across, 3), m.Up.Quantity.Name(), m.Up.Quantity.Text(m.Reading.Up, 3))
	}
	switch {
	case !campaign:
	case m.Dropped.Shown == 0:
		say("no drop of this campaign stands on this map: all of it is the model alone, an extrapolation")
	default:
		say("what lies outside the dropped falls is an extrapolation (dotted on the map)")
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
		say("the force scale of the load cell is not known for %s: every ± leaves it out", plural(scale, "drop", "drops"))
	}
	if prior > 0 {
		say("%s of specimens that had been dropped before; the model is of a first drop", plural(prior, "drop is", "drops are"))
	}
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
