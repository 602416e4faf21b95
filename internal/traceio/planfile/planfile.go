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
	"github.com/hardcatch/hardcatch/internal/traceio/yamlread"
)

// file is a plan with what is written in another form than the plan keeps it.
type file struct {
	plan.Plan  `yaml:",inline"`
	RigFile    string                            `yaml:"rig_file"`
	Mass       quantity.Mass                     `yaml:"mass"`
	Factors    map[string][]string               `yaml:"factors"`
	Fixed      map[string]string                 `yaml:"fixed"`
	Reference  map[string]string                 `yaml:"reference"`
	Effects    map[string]map[string]plan.Effect `yaml:"effects"`
	Blocks     blocks                            `yaml:"blocks"`
	CheckDrops *check                            `yaml:"check_drops"`
	Questions  []drop.Written                    `yaml:"questions"`
}

type blocks struct {
	Day      int      `yaml:"day"`
	Dates    []string `yaml:"dates"`
	Batch    []string `yaml:"batch"`
	Operator []string `yaml:"operator"`
}

type check struct {
	plan.CheckDrop `yaml:",inline"`
	Model          arrest.Textile `yaml:",inline" keys:"E1 material=set"`
}

// UnmarshalYAML fills in the starting set where the check drop names one.
func (c *check) UnmarshalYAML(read func(any) error) error {
	type plain check
	return c.Model.Over(func() error { return read((*plain)(c)) })
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
	b := builder{f: file{Plan: plan.Plan{
		Spare: plan.StartSpare, Simulations: plan.StartSimulations, Seed: 1, Spread: plan.StartingSpread(), Builds: map[string]plan.Build{},
		Tower: plan.Tower{LeastCellPart: plan.StartLeastCell, MostCellPart: plan.StartMostCell},
	}}, open: open}
	var err error
	if b.places, err = yamlread.Decode(name, r, &b.f); err != nil {
		return nil, nil, err
	}
	b.out = &b.f.Plan
	if err := b.build(); err != nil {
		at := ""
		var p *placed
		if errors.As(err, &p) {
			at = p.path
		}
		return nil, nil, fmt.Errorf("%s: %w", b.places.At(name, at), err)
	}
	return b.out, b.warnings, nil
}

type builder struct {
	f        file
	places   yamlread.Places
	open     func(string) ([]byte, error)
	out      *plan.Plan // the plan of f
	warnings []string
}

func (b *builder) warn(format string, args ...any) {
	b.warnings = append(b.warnings, fmt.Sprintf(format, args...))
}

func (b *builder) build() error {
	b.out.Question = strings.TrimSpace(b.out.Question)
	if b.out.Question == "" {
		return fault("question", "a campaign answers a question; write for example question: \"Does an overhand knot halve the strength of our sling?\"")
	}
	for _, step := range []func() error{b.rig, b.tower, b.factors, b.combinations, b.specimens, b.effects, b.questions, b.layout, b.check, b.spread} {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

func (b *builder) rig() error {
	f := &b.f
	path := "rig"
	switch given := b.places.Given("rig"); {
	case given && f.RigFile != "":
		return fault("rig_file", "rig and rig_file are both given; keep one")
	case f.RigFile != "":
		path = "rig_file"
		data, err := b.open(f.RigFile)
		if err != nil {
			return fault(path, "the rig file cannot be read: %w", err)
		}
		if f.Rig, err = rigfile.Read(f.RigFile, bytes.NewReader(data)); err != nil {
			return fault(path, "%w", err)
		}
	case !given:
		return fault("", "no rig is given; write rig_file: rig.yaml, or the keys of a rig file below rig:")
	}
	if f.Mass != 0 {
		f.Rig.Mass = f.Mass
	}
	if err := f.Rig.Validate(); err != nil {
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
	t := b.out.Tower
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
	if t.LeastCellPart < 0 || t.MostCellPart <= t.LeastCellPart || t.MostCellPart > 1 {
		return fault("tower.largest_cell_share", "the shares of the load cell's range must rise from least_cell_share to largest_cell_share, between 0 and 100 %%")
	}
	if b.out.Rig.LoadCell.Capacity > 0 && !(b.places.Given("tower.least_cell_share") && b.places.Given("tower.largest_cell_share")) {
		b.warn("tower: peaks are held against %.0f %% to %.0f %% of the load cell's capacity (common practice, no source); least_cell_share and largest_cell_share replace it", 100*t.LeastCellPart.SI(), 100*t.MostCellPart.SI())
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
	for _, material := range inOrder(b.places, "specimens.", b.out.Builds) {
		s, path := b.out.Builds[material], "specimens."+material
		if err := possible(material, s.Textile); err != nil {
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
		if s.Textile.Strength == 0 {
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

// possible tells whether a textile of a material, without length, can be simulated.
func possible(material string, t arrest.Textile) error {
	t.Length = 1
	return (&arrest.Case{Mass: 1, Chain: []arrest.Element{{Kind: arrest.KindTextile, Name: material, Textile: &t}}}).Validate()
}

func (b *builder) layout() error {
	f, p := &b.f, b.out
	if p.Replicates < 1 {
		return fault("replicates", "replicates is the number of specimens of each cell, at least 1")
	}
	p.Days, p.Dates, p.Batches, p.Operators = f.Blocks.Day, f.Blocks.Dates, f.Blocks.Batch, f.Blocks.Operator
	if p.Days < 0 || p.Days > plan.MaxDays {
		return fault("blocks.day", "%d days; a plan takes up to %d", p.Days, plan.MaxDays)
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
	if p.Spare < 0 || p.Spare > 10 {
		return fault("spare", "the share of spare specimens lies from 0 to 1000 %%, not %g", p.Spare.SI())
	}
	if !b.places.Given("seed") {
		b.warn("no seed is given; 1 is used. Write a number of your own, for example the date, so that nobody can foresee the order")
	}
	if p.Simulations < plan.MinSimulations || p.Simulations > plan.MaxSimulations {
		return fault("simulations", "%d simulations of a cell; from %d to %d are possible", p.Simulations, plan.MinSimulations, plan.MaxSimulations)
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
	case !b.places.Given("check_drops.fall") || c.Fall < 0:
		return fault("check_drops", "the check drop has no fall; write for example fall: 0.1 m")
	case c.Prior < 0 || c.Length < 0 || c.Mass < 0:
		return fault("check_drops", "length, mass and prior may not be negative")
	}
	b.out.Check = &c.CheckDrop
	if c.Model.StartingSet == "" && !b.places.Given("check_drops.E1") {
		b.warn("check_drops: neither set nor E1 is given; the check drop is not simulated, and nothing says that the bench takes it")
		return nil
	}
	if c.Length == 0 {
		return fault("check_drops", "the reference element has no length; write for example length: 0.9 m")
	}
	if err := possible(c.Specimen, c.Model); err != nil {
		return fault("check_drops", "%w", err)
	}
	c.Textile = &c.Model
	return nil
}

func (b *builder) spread() error {
	given := func(key string) bool { return b.places.Given("spread." + key) }
	v := &b.out.Spread
	if !given("fall") && b.out.Rig.FallU > 0 {
		v.Fall = b.out.Rig.FallU
	}
	if !given("mass") && b.out.Rig.MassU > 0 {
		v.Mass = quantity.Ratio(b.out.Rig.MassU / b.out.Rig.Mass)
	}
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
	if !given("strength") || !given("stiffness") || !given("knot") {
		b.warn("spread: strength varies by %.0f %%, stiffness by %.0f %%, a knot's share of the strength by %.2f (standard deviations; where the plan gives none: common practice, no source); spread: replaces them", 100*v.Strength.SI(), 100*v.Stiffness.SI(), v.Knot.SI())
	}
	return nil
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
