package casefile

import (
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/arrest/ensemble"
)

const whole = `mass: 100 kg
fall: 0.9 m
gravity: 9.80665
until: 1.5 s
drops: 3
rest: 60 s
floor: 5 m
chain:
  - rig:      {stiffness: 2 MN/m, damping_ratio: 0.03, node_mass: 0.5 kg}
  - textile:  {name: lanyard, length: 0.9 m, E1: 120 kN, E2: 400 kN, E3: 0 kN, maxwell: [{E: 15 kN, tau: 50 ms}, {E: 5 kN, tau: 1 s}], friction: 0.06, set: 0.05, strength: 22 kN, degradation: 0.8}
  - knot:     {name: eight, F0: 0.5 kN, FL: 8.5 kN, slip: 45 mm, power: 2, lock: 3 MN/m, efficiency: 0.6}
  - absorber: {force: 4.5 kN, ripple: 0.1, pitch: 15 mm, travel: 1 m, strength: 15 kN}
  - body:     {stiffness: 50 kN/m, damping_ratio: 0.3, torso_share: 0.85}
`

func TestRead(t *testing.T) {
	c, err := Read("case.yaml", strings.NewReader(whole))
	if err != nil {
		t.Fatal(err)
	}
	if c.Mass != 100 || c.Fall != 0.9 || c.Until != 1.5 || c.Drops != 3 || c.Rest != 60 || c.Floor != 5 || len(c.Chain) != 5 {
		t.Errorf("%+v", c)
	}
	x, k, a, b := c.Chain[1].Textile, c.Chain[2].Knot, c.Chain[3].Absorber, c.Chain[4].Body
	if x.E1 != 120000 || x.E2 != 400000 || x.E3 != 0 || len(x.Maxwell) != 2 || math.Abs(x.Maxwell[0].Tau.SI()-0.05) > 1e-12 || x.Strength != 22000 || x.Degradation != 0.8 || x.StartingSet != "" {
		t.Errorf("%+v", x)
	}
	if math.Abs(k.Slip.SI()-0.045) > 1e-12 || k.Efficiency != 0.6 || a.Force != 4500 || b.TorsoShare != 0.85 || c.Chain[0].Rig.Stiffness != 2e6 {
		t.Errorf("%+v %+v %+v", k, a, b)
	}
}

// A starting set fills what is left out, and only that: zero as written stands.
func TestStartingValues(t *testing.T) {
	c, err := Read("case.yaml", strings.NewReader("mass: 80 kg\nfall: 1 m\nchain:\n  - textile: {length: 1 m, material: polyamide-webbing, E3: 0 kN, strength: 20 kN, maxwell: []}\n"))
	if err != nil {
		t.Fatal(err)
	}
	set, _ := arrest.StartingSet("polyamide-webbing")
	x := c.Chain[0].Textile
	if x.E1 != set.E1 || x.E3 != 0 || x.Strength != 20000 || x.StartingSet != "polyamide-webbing" || x.Friction != set.Friction || len(x.Maxwell) != 0 {
		t.Errorf("%+v", x)
	}
	if _, err := Read("case.yaml", strings.NewReader("mass: 80 kg\nfall: 1 m\nchain:\n  - textile: {length: 1 m, material: spider silk}\n")); err == nil || !strings.HasPrefix(err.Error(), "case.yaml:4:") || !strings.Contains(err.Error(), `: there are no starting values for material "spider silk"; known are`) {
		t.Error(err)
	}
}

func TestReadPlan(t *testing.T) {
	p, err := ReadPlan("case.yaml", strings.NewReader(whole+`spread:
  fall: {uniform: 20 mm}
  lanyard.E1: {lognormal: 10 %}
  lanyard.strength: {normal: 1.5 kN, min: 10 kN, max: 30 kN}
  lanyard.maxwell2.tau: {normal: 0.1}
  eight.efficiency: {normal: 0.05, max: 1}
correlations:
  - {between: [lanyard.E1, lanyard.strength], r: 0.4}
seed: 7
`))
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]ensemble.Spread{}
	for _, s := range p.Spreads {
		got[s.Parameter] = s
	}
	for name, width := range map[string]float64{"fall": 0.02, "lanyard.E1": 12000, "lanyard.strength": 1500, "lanyard.maxwell2.tau": 0.1, "eight.efficiency": 0.05} {
		if math.Abs(got[name].Width-width) > 1e-9*width {
			t.Errorf("%s: %+v, want a width of %g", name, got[name], width)
		}
	}
	if s := got["lanyard.strength"]; s.Min != 10000 || s.Max != 30000 || s.Shape != ensemble.Normal || p.Seed != 7 || len(p.Correlations) != 1 {
		t.Errorf("%+v %+v", s, p)
	}
	for text, want := range map[string]string{
		"spread:\n  fall: {uniform: 2 kg}\n":            `case.yaml:15:3: "2 kg" is a mass, but a length or a share`,
		"spread:\n  fall: {}\n":                         "give one of normal, lognormal and uniform",
		"spread:\n  fall: {uniform: 1 mm, normal: 2}\n": "give one of",
		"spread:\n  fall: {uniform: 1 mm, max: 2 kN}\n": "is a force, but a length is wanted here",
		"spread:\n  lanyard.colour: {normal: 1}\n":      `parameter "lanyard.colour" is not in this case`,
		"spread: {}\n": "nothing varies",
	} {
		if _, err := ReadPlan("case.yaml", strings.NewReader(whole+text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}

// Of two elements of one kind without a name each can be spread, by the label that results show; the
// bare kind would leave open which is meant.
func TestSpreadOfElementsWithoutAName(t *testing.T) {
	const two = "mass: 80 kg\nfall: 1 m\nchain:\n  - textile: {length: 1 m, E1: 100 kN, strength: 10 kN}\n  - textile: {length: 2 m, E1: 50 kN, strength: 20 kN}\n  - knot: {FL: 5 kN, slip: 20 mm, efficiency: 0.5}\n"
	p, err := ReadPlan("case.yaml", strings.NewReader(two+"spread:\n  textile 2.E1: {normal: 10 %}\n  knot.FL: {normal: 5 %}\n  textile 1.strength: {normal: 1 kN}\n"))
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []struct {
		name  string
		width float64
	}{{"knot.FL", 250}, {"textile 1.strength", 1000}, {"textile 2.E1", 5000}} {
		if s := p.Spreads[i]; s.Parameter != want.name || math.Abs(s.Width-want.width) > 1e-9*want.width {
			t.Errorf("%+v, want %+v", s, want)
		}
	}
	if _, err := ensemble.NewWorker(p); err != nil {
		t.Error(err)
	}
	_, err = ReadPlan("case.yaml", strings.NewReader(two+"spread:\n  textile.E1: {normal: 10 %}\n"))
	if want := `case.yaml:8:3: parameter "textile.E1": 2 elements are a textile without a name; write "textile 1.E1" or "textile 2.E1", or give them names`; err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
	same := strings.ReplaceAll(two, "{length", "{name: sling, length")
	_, err = ReadPlan("case.yaml", strings.NewReader(same+"spread:\n  sling.E1: {normal: 10 %}\n"))
	if want := "2 elements are named sling; give each a name of its own"; err == nil || !strings.Contains(err.Error(), want) {
		t.Errorf("%v, want %s", err, want)
	}
	_, list, err := ReadChain("case.yaml", strings.NewReader(two))
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]float64{"textile 1": 10e3, "textile 2": 20e3, "knot": 10e3}
	for _, c := range list {
		if c.Limit.Value.SI() != want[c.Name] || c.Name == "knot" && c.Of != "textile 2.strength" {
			t.Errorf("%+v", c)
		}
	}
}

// Strength of the lanyard 22 kN x 0.8; of the knot 0.6 of that.
func TestReadChain(t *testing.T) {
	_, list, err := ReadChain("case.yaml", strings.NewReader(whole+"components:\n  - {name: chock, strength: 12 kN, spread: 10 %}\n  - {limit: \"Connector B, gate closed\"}\n"))
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]float64{"chock": 12000, "connector B, gate closed": 20000, "lanyard": 17600, "eight": 10560, "absorber": 15000}
	for _, c := range list {
		if math.Abs(c.Limit.Value.SI()-want[c.Name]) > 1e-6 {
			t.Errorf("%s: %v, want %g", c.Name, c.Limit.Value, want[c.Name])
		}
		delete(want, c.Name)
	}
	if len(want) != 0 {
		t.Errorf("missing: %v", want)
	}
	for text, part := range map[string]string{
		"components:\n  - {name: chock}\n":                   "either a strength of its own or the name of a limit",
		"components:\n  - {limit: nonsense}\n":               "is not in the table",
		"components:\n  - {limit: pulley, strength: 1 kN}\n": "either a strength",
		"components:\n  - {strength: 1 kN}\n":                "has no name",
		"chain2: 3\n":                                        `key "chain2" is not known here`,
	} {
		if _, _, err := ReadChain("case.yaml", strings.NewReader(whole+text)); err == nil || !strings.Contains(err.Error(), part) {
			t.Errorf("%q: %v, want %q", text, err, part)
		}
	}
}
