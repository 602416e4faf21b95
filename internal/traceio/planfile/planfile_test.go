package planfile

import (
	"errors"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/plan"
)

const whole = `name: knots
question: Does an overhand knot halve the strength of our sling?
rig: {mass: 100 kg, mass_u: 160 g, fall_u: 4 mm, stiffness: 2 MN/m, load_cell: {capacity: 50 kN}}
mass: 80 kg
tower: {height: 8 m, anchor_height: 6 m, rigging: 0.4 m, mass_height: 0.3 m, clearance: 0.5 m, connectors: 25 kN, anchor_limit: 40 kN, energy_limit: 5 kJ}
factors:
  wax: ["yes", "no"]
  material: [polyamide, HMPE]
  knot: [sewn, overhand]
  fall_factor: [1, 2]
fixed: {length: 0.6 m}
skip:
  - {material: HMPE, fall_factor: 2}
only:
  - {knot: sewn}
  - {wax: "yes"}
specimens:
  polyamide: {set: polyamide-webbing, E3: 0 kN, strength: 20 kN, rating: 22 kN, construction: sewn sling}
  HMPE: {E1: 100 kN, maxwell: [{E: 15 kN, tau: 50 ms}], friction: 0.06, friction_stiffness: 1 MN, permanent_set: 0.02, knots: {overhand: 0.5}, standard: none, diameter: 8 mm}
effects:
  wax: {"yes": {stiffness: 90 %}}
replicates: 3
spare: 20 %
blocks: {day: 2, dates: [2026-12-01, 2026-12-02], batch: [A, B], operator: [ab, cd]}
check_drops: {specimen: steel link, material: steel, length: 0.9 m, fall: 0.1 m, mass: 100 kg, prior: 4}
conditioning: {temperature: 20 degC, humidity: 65 %, wet: false}
spread: {strength: 6 %, fall: 10 mm}
simulations: 500
seed: 20261125
`

func none(string) ([]byte, error) { return nil, errors.New("no such file") }

func TestRead(t *testing.T) {
	p, warnings, err := Read("plan.yaml", strings.NewReader(whole), none)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, f := range p.Factors {
		names = append(names, f.Name)
	}
	if got := strings.Join(names, "|"); got != "wax|material|knot|fall factor" {
		t.Errorf("factors %s, want them in the order written", got)
	}
	if p.Rig.Mass != 80 || p.Seed != 20261125 || p.Replicates != 3 || p.Days != 2 || len(p.Batches) != 2 || len(p.Operators) != 2 || p.Dates[1] != "2026-12-02" || p.Simulations != 500 || p.Spare != 0.2 {
		t.Errorf("%+v", p)
	}
	if p.Skip[0][plan.FallFactor] != "2" || len(p.Only) != 2 || p.Fixed[0].Name != plan.Length {
		t.Errorf("%+v %+v %+v", p.Skip, p.Only, p.Fixed)
	}
	set, _ := arrest.StartingSet("polyamide-webbing")
	if x := p.Builds["polyamide"]; x.Textile.E1 != set.E1 || x.Textile.E3 != 0 || x.Textile.Strength != 20000 || x.Rating != 22000 || x.Textile.StartingSet == "" {
		t.Errorf("%+v", x)
	}
	if x := p.Builds["HMPE"]; x.Textile.E1 != 100000 || len(x.Textile.Maxwell) != 1 || x.Textile.Set != 0.02 || x.Knots["overhand"] != 0.5 || math.Abs(x.Diameter.SI()-0.008) > 1e-12 || x.Textile.StartingSet != "" {
		t.Errorf("%+v", x)
	}
	if e := p.Effects[0]; e.Factor != "wax" || e.Level != "yes" || e.Strength != 1 || e.Stiffness != 0.9 {
		t.Errorf("%+v", e)
	}
	if c := p.Check; c.Specimen != "steel link" || c.Fall != 0.1 || c.Mass != 100 || c.Prior != 4 {
		t.Errorf("%+v", c)
	}
	// The rig's own 160 g of 80 kg are 0.2 %; the plan's fall stands before the rig's.
	if s := p.Spread; math.Abs(s.Strength.SI()-0.06) > 1e-12 || s.Stiffness != 0.10 || math.Abs(s.Mass.SI()-0.002) > 1e-12 || math.Abs(s.Fall.SI()-0.01) > 1e-12 {
		t.Errorf("%+v", s)
	}
	if p.Conditioning.String() != "20 degC, 65 % humidity" {
		t.Errorf("%q", p.Conditioning)
	}
	if tw := p.Tower; tw.Connectors != 25000 || tw.LeastCellPart != plan.StartLeastCell || tw.MostCellPart != plan.StartMostCell || tw.Energy != 5000 {
		t.Errorf("%+v", tw)
	}
	all := strings.Join(warnings, "\n")
	for _, part := range []string{"10 % to 90 % of the load cell's capacity", "material HMPE: no strength is given", "spread: strength varies by 6 %"} {
		if !strings.Contains(all, part) {
			t.Errorf("warnings do not say %q: %s", part, all)
		}
	}
	// 2 x 2 x 2 x 2 less HMPE from factor 2 (4), less waxless overhand: 12 - 3 = 9.
	if cells, err := p.Cells(); err != nil || len(cells) != 9 {
		t.Errorf("%d cells, %v", len(cells), err)
	}
}

func TestRigFile(t *testing.T) {
	text := strings.Replace(whole, "rig: {mass: 100 kg, mass_u: 160 g, fall_u: 4 mm, stiffness: 2 MN/m, load_cell: {capacity: 50 kN}}", "rig_file: rig.yaml", 1)
	p, _, err := Read("plan.yaml", strings.NewReader(text), func(name string) ([]byte, error) { return []byte("name: " + name + "\nmass: 100 kg\n"), nil })
	if err != nil || p.Rig.Name != "rig.yaml" || p.Rig.Mass != 80 {
		t.Errorf("%+v, %v", p, err)
	}
	if _, _, err = Read("plan.yaml", strings.NewReader(text), none); err == nil || !strings.HasPrefix(err.Error(), "plan.yaml:3:1: the rig file cannot be read: no such file") {
		t.Error(err)
	}
	if _, _, err = Read("plan.yaml", strings.NewReader(text), func(string) ([]byte, error) { return []byte("mas: 1 kg"), nil }); err == nil || !strings.Contains(err.Error(), "rig.yaml:1:1") {
		t.Error(err)
	}
}

// Each fault is said with its place: line and column of the value, or of the nearest thing about it.
func TestRefusals(t *testing.T) {
	for _, c := range []struct{ old, new, want string }{
		{"question: Does an overhand knot halve the strength of our sling?", "question: \" \"", "plan.yaml:2:1: a campaign answers a question"},
		{"name: knots", "nam: knots", `plan.yaml:1:1: key "nam" is not known here`},
		{"mass: 100 kg, mass_u", "mass: 100 m, mass_u", "plan.yaml:3:13: \"100 m\" is a length, but a mass is wanted"},
		{"rig: {", "rig_file: a\nrig: {", "rig and rig_file are both given"},
		{"capacity: 50 kN", "capacity: -5 kN", "a capacity may not be negative"},
		{"anchor_height: 6 m", "anchor_height: 9 m", "plan.yaml:5:22: the anchor at 9.00 m is above the highest release at 8.00 m"},
		{"clearance: 0.5 m", "clearance: -0.5 m", "clearance may not be negative"},
		{"clearance: 0.5 m", "clearance: 0.5 m, largest_cell_share: 150 %", "must rise"},
		{"knot: [sewn, overhand]", "knot: [sewn, sewn]", `plan.yaml:9:3: level "sewn" of knot stands twice`},
		{"knot: [sewn, overhand]", "knot: []", "plan.yaml:9:3: factor knot has no level"},
		{"fall_factor: [1, 2]", "fall_factor: [1, 2 m]", `plan.yaml:10:20: "2 m" is a length`},
		{"fall_factor: [1, 2]", "fall_factor: [1, -2]", "plan.yaml:10:20: a fall factor of -2 is not believed"},
		{"fixed: {length: 0.6 m}", "fixed: {length: 600 m}", "a length of 600 m is not believed"},
		{"fixed: {length: 0.6 m}", "fixed: {length: 0 m}", "a length of 0 m is not possible"},
		{"fixed: {length: 0.6 m}", "fixed: {batch: x}", "length is neither a factor nor fixed"},
		{"fixed: {length: 0.6 m}", "fixed: {length: 0.6 m, fall: 1 m}", "give either fall or fall_factor"},
		{"fixed: {length: 0.6 m}", "fixed: {length: 0.6 m, knot: sewn}", "knot is given twice"},
		{"{material: HMPE, fall_factor: 2}", "{material: HMPE, fall_factor: 3}", `plan.yaml:13:22: fall_factor has no level "3"; it has 1, 2`},
		{"{material: HMPE, fall_factor: 2}", "{matter: HMPE}", "matter is no factor of this plan; there are wax, material"},
		{"{knot: sewn}", "{}", "an empty combination fits every cell"},
		{"set: polyamide-webbing", "set: silk", `plan.yaml:18:3: there are no starting values for material "silk"; known are polyamide-webbing`},
		{"polyamide: {set", "nylon: {set", `material "polyamide" is not described`},
		{"E1: 100 kN, maxwell", "E1: -100 kN, maxwell", "plan.yaml:19:3: "},
		{"knots: {overhand: 0.5}", "knots: {overhand: 1.5}", "plan.yaml:19:"},
		{"standard: none", "batch: X", "batches are given below blocks too"},
		{`wax: {"yes": {stiffness`, `colour: {"yes": {stiffness`, "plan.yaml:21:3: colour is no factor"},
		{`wax: {"yes": {stiffness`, `wax: {"maybe": {stiffness`, `wax has no level "maybe"`},
		{"stiffness: 90 %", "stiffness: 0 %", "are shares of what they would be"},
		{"replicates: 3", "replicates: 0", "plan.yaml:22:1: replicates is the number of specimens of each cell"},
		{"spare: 20 %", "spare: -1", "the share of spare specimens"},
		{"day: 2", "day: 3", "2 dates for 3 days"},
		{"day: 2", "day: 1000", "1000 days"},
		{"[2026-12-01, 2026-12-02]", "[2026-12-01, tomorrow]", `plan.yaml:24:`},
		{"batch: [A, B]", "batch: [A, A]", `"A" stands twice`},
		{"specimen: steel link", "specimen: \"\"", "the reference element has no name"},
		{"fall: 0.1 m", "fall: -0.1 m", "the check drop has no fall"},
		{"strength: 6 %", "strength: 300 %", "a coefficient of variation lies from 0 to 200 %, not 3"},
		{"simulations: 500", "simulations: 5", "5 simulations of a cell"},
		{"seed: 20261125", "seed: -1", "is not a whole number from 0"},
	} {
		if !strings.Contains(whole, c.old) {
			t.Fatalf("%q is not in the plan", c.old)
		}
		_, _, err := Read("plan.yaml", strings.NewReader(strings.Replace(whole, c.old, c.new, 1)), none)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q for %q: %v, want %q", c.new, c.old, err, c.want)
		}
	}
}

func TestLeftOut(t *testing.T) {
	p, warnings, err := Read("plan.yaml", strings.NewReader("question: q\nrig: {mass: 80 kg}\nfactors: {fall: [1 m, 2 m], colour: [red, blue]}\nfixed: {material: a, length: 1 m}\nspecimens: {a: {E1: 100 kN}}\nreplicates: 1\n"), none)
	if err != nil {
		t.Fatal(err)
	}
	if p.Days != 1 || p.Seed != 1 || p.Simulations != plan.StartSimulations || p.Fixed[2].Levels[0] != "sewn" || p.Spread != plan.StartingSpread() {
		t.Errorf("%+v", p)
	}
	all := strings.Join(warnings, "\n")
	for _, part := range []string{"no seed is given", "no check_drops are planned", "capacity is not given", "height is not given and not checked", "specimens are taken to be sewn", "factor colour: the simulation does not know"} {
		if !strings.Contains(all, part) {
			t.Errorf("warnings do not say %q:\n%s", part, all)
		}
	}
}

// The plan of the manual is read as it stands there.
func TestManual(t *testing.T) {
	manual, err := os.ReadFile("../../../docs/plan.md")
	if err != nil {
		t.Fatal(err)
	}
	_, rest, found := strings.Cut(string(manual), "    name: sling knots")
	if !found {
		t.Fatal("the manual has no plan")
	}
	text := "name: sling knots"
	for _, line := range strings.Split(rest, "\n") {
		if line != "" && !strings.HasPrefix(line, "    ") {
			break
		}
		text += strings.TrimPrefix(line, "    ") + "\n"
	}
	p, _, err := Read("plan.md", strings.NewReader(text), func(string) ([]byte, error) { return []byte("mass: 100 kg"), nil })
	if err != nil {
		t.Fatal(err)
	}
	// 2^4 less HMPE from factor 2, which are 4.
	if cells, err := p.Cells(); err != nil || len(cells) != 12 || p.Seed != 20261125 {
		t.Errorf("%d cells, seed %d, %v", len(cells), p.Seed, err)
	}
}

func FuzzRead(f *testing.F) {
	f.Add(whole)
	f.Add("question: q\nfactors: {fall: [1 m]}")
	f.Fuzz(func(t *testing.T, text string) {
		p, _, err := Read("plan.yaml", strings.NewReader(text), none)
		if err == nil && (p == nil || p.Question == "" || len(p.Factors) == 0) {
			t.Errorf("%+v", p)
		}
	})
}
