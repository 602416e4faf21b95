// Package planfile reads a campaign's plan from YAML.
package planfile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/plan"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/traceio/rigfile"
	"github.com/hardcatch/hardcatch/internal/traceio/textile"
	"github.com/hardcatch/hardcatch/internal/traceio/yamlread"
)

// file mirrors the YAML. Pointers tell "not written" from zero.
type file struct {
	Name         string                       `yaml:"name"`
	Question     string                       `yaml:"question"`
	Notes        string                       `yaml:"notes"`
	Invented     bool                         `yaml:"invented"`
	Rig          *drop.Rig                    `yaml:"rig"`
	RigFile      string                       `yaml:"rig_file"`
	Tower        tower                        `yaml:"tower"`
	Mass         quantity.Mass                `yaml:"mass"`
	Factors      map[string][]string          `yaml:"factors"`
	Fixed        map[string]string            `yaml:"fixed"`
	Skip         []map[string]string          `yaml:"skip"`
	Only         []map[string]string          `yaml:"only"`
	Specimens    map[string]build             `yaml:"specimens"`
	Effects      map[string]map[string]effect `yaml:"effects"`
	Replicates   int                          `yaml:"replicates"`
	Spare        *quantity.Ratio              `yaml:"spare"`
	Blocks       blocks                       `yaml:"blocks"`
	CheckDrops   *check                       `yaml:"check_drops"`
	Conditioning conditioning                 `yaml:"conditioning"`
	Spread       spread                       `yaml:"spread"`
	Simulations  *int                         `yaml:"simulations"`
	Seed         *uint64                      `yaml:"seed"`
}

type tower struct {
	Height       quantity.Length `yaml:"height"`
	AnchorHeight quantity.Length `yaml:"anchor_height"`
	Rigging      quantity.Length `yaml:"rigging"`
	MassHeight   quantity.Length `yaml:"mass_height"`
	Clearance    quantity.Length `yaml:"clearance"`
	Connectors   quantity.Force  `yaml:"connectors"`
	Anchor       quantity.Force  `yaml:"anchor_limit"`
	Energy       quantity.Energy `yaml:"energy_limit"`
	LeastCell    *quantity.Ratio `yaml:"least_cell_share"`
	MostCell     *quantity.Ratio `yaml:"largest_cell_share"`
}

type build struct {
	Construction    string          `yaml:"construction"`
	Rating          quantity.Force  `yaml:"rating"`
	Batch           string          `yaml:"batch"`
	Diameter        quantity.Length `yaml:"diameter"`
	Standard        string          `yaml:"standard"`
	Set             string          `yaml:"set"`
	textile.Written `yaml:",inline"`
	PermanentSet    *quantity.Ratio           `yaml:"permanent_set"`
	Knots           map[string]quantity.Ratio `yaml:"knots"`
}

type effect struct {
	Strength  *quantity.Ratio `yaml:"strength"`
	Stiffness *quantity.Ratio `yaml:"stiffness"`
}

type blocks struct {
	Day      int      `yaml:"day"`
	Dates    []string `yaml:"dates"`
	Batch    []string `yaml:"batch"`
	Operator []string `yaml:"operator"`
}

type check struct {
	Specimen string           `yaml:"specimen"`
	Material string           `yaml:"material"`
	Length   quantity.Length  `yaml:"length"`
	Fall     *quantity.Length `yaml:"fall"`
	Mass     quantity.Mass    `yaml:"mass"`
	Prior    int              `yaml:"prior"`
	Set      string           `yaml:"set"`
	E1       *quantity.Force  `yaml:"E1"`
}

type conditioning struct {
	Temperature string `yaml:"temperature"`
	Humidity    string `yaml:"humidity"`
	Wet         bool   `yaml:"wet"`
	Text        string `yaml:"text"`
}

type spread struct {
	Strength     *quantity.Ratio  `yaml:"strength"`
	Stiffness    *quantity.Ratio  `yaml:"stiffness"`
	RigStiffness *quantity.Ratio  `yaml:"rig_stiffness"`
	Knot         *quantity.Ratio  `yaml:"knot"`
	KnotSlip     *quantity.Ratio  `yaml:"knot_slip"`
	Mass         *quantity.Ratio  `yaml:"mass"`
	Fall         *quantity.Length `yaml:"fall"`
}

// fault is something wrong with the value at path.
func fault(path, format string, args ...any) error {
	return &placed{path, fmt.Errorf(format, args...)}
}

type placed struct {
	path string
	err  error
}

func (p *placed) Error() string { return p.err.Error() }
func (p *placed) Unwrap() error { return p.err }

// Read reads a plan; open gives the bytes of the file that rig_file names. Quantities carry units; a bare number is
// SI. An unknown key, a wrong unit or an impossible value is an error with line and column. The warnings say what
// the plan leaves out and what stands for it.
func Read(name string, r io.Reader, open func(string) ([]byte, error)) (*plan.Plan, []string, error) {
	var f file
	places, err := yamlread.Decode(name, r, &f)
	if err != nil {
		return nil, nil, err
	}
	b := builder{f: f, places: places, open: open}
	if err := b.build(); err != nil {
		at := ""
		var p *placed
		if errors.As(err, &p) {
			at = p.path
		}
		return nil, nil, fmt.Errorf("%s: %w", places.At(name, at), err)
	}
	return &b.out, b.warnings, nil
}

type builder struct {
	f        file
	places   yamlread.Places
	open     func(string) ([]byte, error)
	out      plan.Plan
	warnings []string
}

func (b *builder) warn(format string, args ...any) {
	b.warnings = append(b.warnings, fmt.Sprintf(format, args...))
}

func (b *builder) build() error {
	f := b.f
	b.out = plan.Plan{Name: f.Name, Question: strings.TrimSpace(f.Question), Notes: f.Notes, Invented: f.Invented, Replicates: f.Replicates, Builds: map[string]plan.Build{}, Simulations: plan.StartSimulations}
	if b.out.Question == "" {
		return fault("question", "a campaign answers a question; write for example question: \"Does an overhand knot halve the strength of our sling?\"")
	}
	for _, step := range []func() error{b.rig, b.tower, b.factors, b.combinations, b.specimens, b.effects, b.layout, b.check, b.spread} {
		if err := step(); err != nil {
			return err
		}
	}
	b.out.Conditioning = plan.Conditioning(f.Conditioning)
	return nil
}

func (b *builder) rig() error {
	f := b.f
	switch {
	case f.Rig != nil && f.RigFile != "":
		return fault("rig_file", "rig and rig_file are both given; keep one")
	case f.RigFile != "":
		data, err := b.open(f.RigFile)
		if err != nil {
			return fault("rig_file", "the rig file cannot be read: %w", err)
		}
		if b.out.Rig, err = rigfile.Read(f.RigFile, bytes.NewReader(data)); err != nil {
			return fault("rig_file", "%w", err)
		}
	case f.Rig != nil:
		b.out.Rig = *f.Rig
	default:
		return fault("", "no rig is given; write rig_file: rig.yaml, or the keys of a rig file below rig:")
	}
	if f.Mass != 0 {
		b.out.Rig.Mass = f.Mass
	}
	path := "rig"
	if f.Rig == nil {
		path = "rig_file"
	}
	if err := b.out.Rig.Validate(); err != nil {
		return fault(path, "%w", err)
	}
	if b.out.Rig.LoadCell.Capacity < 0 {
		return fault("rig.load_cell.capacity", "a capacity may not be negative")
	}
	if b.out.Rig.LoadCell.Capacity == 0 {
		b.warn("rig: the load cell's capacity is not given; no peak is held against it")
	}
	return nil
}

func (b *builder) tower() error {
	t := b.f.Tower
	for _, q := range []struct {
		key string
		v   float64
	}{
		{"height", t.Height.SI()}, {"anchor_height", t.AnchorHeight.SI()}, {"rigging", t.Rigging.SI()}, {"mass_height", t.MassHeight.SI()}, {"clearance", t.Clearance.SI()},
		{"connectors", t.Connectors.SI()}, {"anchor_limit", t.Anchor.SI()}, {"energy_limit", t.Energy.SI()},
	} {
		if q.v < 0 {
			return fault("tower."+q.key, "%s may not be negative", q.key)
		}
	}
	if t.Height > 0 && t.AnchorHeight > t.Height {
		return fault("tower.anchor_height", "the anchor at %s is above the highest release at %s; height is from the floor to the release", t.AnchorHeight.Text(3), t.Height.Text(3))
	}
	b.out.Tower = plan.Tower{
		Height: t.Height, AnchorHeight: t.AnchorHeight, Rigging: t.Rigging, MassHeight: t.MassHeight, Clearance: t.Clearance, Connectors: t.Connectors, Anchor: t.Anchor,
		Energy: t.Energy, LeastCellPart: or(t.LeastCell, plan.StartLeastCell), MostCellPart: or(t.MostCell, plan.StartMostCell),
	}
	if p := b.out.Tower; p.LeastCellPart < 0 || p.MostCellPart <= p.LeastCellPart || p.MostCellPart > 1 {
		return fault("tower.largest_cell_share", "the shares of the load cell's range must rise from least_cell_share to largest_cell_share, between 0 and 100 %%")
	}
	if b.out.Rig.LoadCell.Capacity > 0 && (t.LeastCell == nil || t.MostCell == nil) {
		b.warn("tower: peaks are held against %.0f %% to %.0f %% of the load cell's capacity (common practice, no source); least_cell_share and largest_cell_share replace it", 100*b.out.Tower.LeastCellPart.SI(), 100*b.out.Tower.MostCellPart.SI())
	}
	for _, m := range []struct {
		name  string
		given bool
	}{{"height", t.Height > 0}, {"clearance", t.Clearance > 0}, {"connectors", t.Connectors > 0}, {"anchor_limit", t.Anchor > 0}} {
		if !m.given {
			b.warn("tower: %s is not given and not checked", m.name)
		}
	}
	return nil
}

func (b *builder) specimens() error {
	materials := make([]string, 0, len(b.f.Specimens))
	for m := range b.f.Specimens {
		materials = append(materials, m)
	}
	b.inOrder("specimens.", materials)
	for _, material := range materials {
		s, path := b.f.Specimens[material], "specimens."+material
		t, err := s.textile(material)
		if err != nil {
			return fault(path, "%w", err)
		}
		for k, e := range s.Knots {
			if e <= 0 || e > 1 {
				return fault(path+".knots."+k, "the share of the strength that a knot leaves lies above 0 and up to 100 %%, not %g", e.SI())
			}
		}
		if s.Rating < 0 {
			return fault(path+".rating", "a rating may not be negative")
		}
		if s.Batch != "" && len(b.f.Blocks.Batch) > 0 {
			return fault(path+".batch", "batches are given below blocks too; keep one")
		}
		b.out.Builds[material] = plan.Build{Construction: s.Construction, Rating: s.Rating, Batch: s.Batch, Diameter: s.Diameter, Standard: s.Standard, Textile: plan.TextileOf(t), Knots: s.Knots}
		if t.Strength == 0 {
			b.warn("material %s: no strength is given; its specimens never part in the simulation", material)
		}
	}
	for _, f := range b.all() {
		if f.Name != plan.Material {
			continue
		}
		for i, m := range f.Levels {
			if _, ok := b.out.Builds[m]; !ok {
				return fault(fmt.Sprintf("factors.material[%d]", i), "material %q is not described; write specimens: {%s: {set: %s}}", m, m, arrest.StartingSetNames()[0])
			}
		}
	}
	return nil
}

// textile is the model of a material, without length: what is written, and the starting set for the rest.
func (s build) textile(material string) (arrest.Textile, error) {
	t, err := s.Over(s.Set)
	if err != nil {
		return t, err
	}
	textile.Fill(&t.Set, s.PermanentSet)
	probe := t
	probe.Length = 1
	return t, (&arrest.Case{Mass: 1, Chain: []arrest.Element{{Kind: arrest.KindTextile, Name: material, Textile: &probe}}}).Validate()
}

func (b *builder) layout() error {
	f := b.f
	p := &b.out
	if f.Replicates < 1 {
		return fault("replicates", "replicates is the number of specimens of each cell, at least 1")
	}
	p.Days, p.Dates, p.Batches, p.Operators = f.Blocks.Day, f.Blocks.Dates, f.Blocks.Batch, f.Blocks.Operator
	if p.Days < 0 || p.Days > plan.MostDays {
		return fault("blocks.day", "%d days; a plan takes up to %d", p.Days, plan.MostDays)
	}
	if p.Days == 0 {
		p.Days = max(1, len(p.Dates))
	}
	if n := len(p.Dates); n > 0 && n != p.Days {
		return fault("blocks.dates", "%d dates for %d days; give each day its date, or leave the dates out", n, p.Days)
	}
	for i, d := range p.Dates {
		if _, err := time.Parse("2006-01-02", d); err != nil {
			return fault(fmt.Sprintf("blocks.dates[%d]", i), "%q is not a date; write it as 2026-03-31", d)
		}
	}
	if twice := repeated(p.Batches); twice != "" {
		return fault("blocks.batch", "%q stands twice", twice)
	}
	if twice := repeated(p.Operators); twice != "" {
		return fault("blocks.operator", "%q stands twice", twice)
	}
	p.Spare = or(f.Spare, plan.StartSpare)
	if p.Spare < 0 || p.Spare > 10 {
		return fault("spare", "the share of spare specimens lies from 0 to 1000 %%, not %g", p.Spare.SI())
	}
	if f.Seed != nil {
		p.Seed = *f.Seed
	} else {
		p.Seed = 1
		b.warn("no seed is given; 1 is used. Write a number of your own, for example the date, so that nobody can foresee the order")
	}
	if f.Simulations != nil {
		p.Simulations = *f.Simulations
		if p.Simulations < plan.LeastSimulations || p.Simulations > plan.MostSimulations {
			return fault("simulations", "%d simulations of a cell; from %d to %d are possible", p.Simulations, plan.LeastSimulations, plan.MostSimulations)
		}
	}
	return nil
}

func (b *builder) check() error {
	c := b.f.CheckDrops
	if c == nil {
		b.warn("no check_drops are planned: nothing will show whether the rig stayed the same from the first drop of a day to the last")
		return nil
	}
	switch {
	case strings.TrimSpace(c.Specimen) == "":
		return fault("check_drops", "the reference element has no name; write specimen: steel link")
	case c.Fall == nil || *c.Fall < 0:
		return fault("check_drops", "the check drop has no fall; write for example fall: 0.1 m")
	case c.Prior < 0 || c.Length < 0 || c.Mass < 0:
		return fault("check_drops", "length, mass and prior may not be negative")
	}
	b.out.Check = &plan.CheckDrop{Specimen: c.Specimen, Material: c.Material, Length: c.Length, Fall: *c.Fall, Mass: c.Mass, Prior: c.Prior}
	if c.Set == "" && c.E1 == nil {
		b.warn("check_drops: neither set nor E1 is given; the check drop is not simulated, and nothing says that the bench takes it")
		return nil
	}
	if c.Length == 0 {
		return fault("check_drops", "the reference element has no length; write for example length: 0.9 m")
	}
	t, err := build{Set: c.Set, Written: textile.Written{E1: c.E1}}.textile(c.Specimen)
	if err != nil {
		return fault("check_drops", "%w", err)
	}
	kept := plan.TextileOf(t)
	b.out.Check.Textile = &kept
	return nil
}

func (b *builder) spread() error {
	s, start := b.f.Spread, plan.StartingSpread()
	b.out.Spread = plan.Spread{
		Strength: or(s.Strength, start.Strength), Stiffness: or(s.Stiffness, start.Stiffness), RigStiffness: or(s.RigStiffness, start.RigStiffness), Knot: or(s.Knot, start.Knot),
		KnotSlip: or(s.KnotSlip, start.KnotSlip), Mass: or(s.Mass, start.Mass), Fall: or(s.Fall, start.Fall),
	}
	if s.Fall == nil && b.out.Rig.FallU > 0 {
		b.out.Spread.Fall = b.out.Rig.FallU
	}
	if s.Mass == nil && b.out.Rig.MassU > 0 {
		b.out.Spread.Mass = quantity.Ratio(b.out.Rig.MassU / b.out.Rig.Mass)
	}
	v := b.out.Spread
	for _, q := range []struct {
		key string
		v   quantity.Ratio
	}{{"strength", v.Strength}, {"stiffness", v.Stiffness}, {"rig_stiffness", v.RigStiffness}, {"knot", v.Knot}, {"knot_slip", v.KnotSlip}, {"mass", v.Mass}} {
		if q.v < 0 || q.v > 2 {
			return fault("spread."+q.key, "a coefficient of variation lies from 0 to 200 %%, not %g", q.v.SI())
		}
	}
	if v.Fall < 0 || v.Fall > 10 {
		return fault("spread.fall", "a standard deviation of the fall of %s is not believed", v.Fall)
	}
	if s.Strength == nil || s.Stiffness == nil || s.Knot == nil {
		b.warn("spread: strength varies by %.0f %%, stiffness by %.0f %%, a knot's share of the strength by %.2f (standard deviations; where the plan gives none: common practice, no source); spread: replaces them", 100*v.Strength.SI(), 100*v.Stiffness.SI(), v.Knot.SI())
	}
	return nil
}

func or[T ~float64](v *T, start T) T {
	if v == nil {
		return start
	}
	return *v
}

func repeated(list []string) string {
	seen := map[string]bool{}
	for _, s := range list {
		if seen[s] {
			return s
		}
		seen[s] = true
	}
	return ""
}
