package frozen

import (
	"encoding/json"
	"flag"
	"os"
	"testing"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

var overwrite = flag.Bool("overwrite-falls", false, "write falls.json anew; do it when the model is meant to give other numbers, and say so in CHANGELOG.md")

// falls are the invented cases: every kind of element, every method, and every end of a fall.
func falls(t *testing.T) []Fall {
	textile := func(set string, length quantity.Length, alter func(*arrest.Textile)) arrest.Element {
		x, ok := arrest.StartingSet(set)
		if !ok {
			t.Fatalf("there is no starting set %q", set)
		}
		x.Length = length
		if alter != nil {
			alter(&x)
		}
		return arrest.Element{Kind: arrest.KindTextile, Textile: &x}
	}
	rig := func(mass quantity.Mass) arrest.Element {
		r := &arrest.Rig{Stiffness: 2e6, NodeMass: mass}
		if mass > 0 {
			r.DampingRatio = 0.03
		}
		return arrest.Element{Kind: arrest.KindRig, Rig: r}
	}
	knot, absorber := arrest.StartingKnot(), arrest.StartingAbsorber()
	knot.Efficiency = 0.6
	knotted := arrest.Element{Kind: arrest.KindKnot, Knot: &knot}
	absorbing := arrest.Element{Kind: arrest.KindAbsorber, Absorber: &absorber}
	body := arrest.Element{Kind: arrest.KindBody, Body: &arrest.Body{Stiffness: 50e3, DampingRatio: 0.3}}
	fall := func(name string, method arrest.Method, mass quantity.Mass, height quantity.Length, alter func(*arrest.Case), chain ...arrest.Element) Fall {
		c := arrest.Case{Mass: mass, Fall: height, Until: 0.8, Chain: chain}
		if alter != nil {
			alter(&c)
		}
		return Fall{Name: name, Method: method, Case: c}
	}
	pa := func(alter func(*arrest.Textile)) arrest.Element { return textile("polyamide-webbing", 0.6, alter) }
	weak := func(x *arrest.Textile) { x.Strength, x.BreakRamp = 9000, 0.0002 }
	return []Fall{
		fall("polyamide sling, massless rig", "", 80, 0.6, nil, rig(0), pa(nil)),
		fall("polyamide sling, node under the cell", "", 80, 0.6, nil, rig(0.5), pa(nil)),
		fall("HMPE sling", "", 100, 0.3, nil, rig(0.5), textile("hmpe-blend-sling", 0.6, nil)),
		fall("steel wire", "", 100, 0.1, nil, rig(0.5), textile("steel-wire", 1, nil)),
		fall("dynamic rope, long, to rest", "", 80, 4, func(c *arrest.Case) { c.Until = 6 }, rig(0), textile("dynamic-rope", 8, nil)),
		fall("a sling parts", "", 80, 0.6, nil, rig(0.5), pa(weak)),
		fall("a knot slips and locks", "", 80, 0.5, nil, rig(0.5), textile("aramid-cord", 0.6, nil), knotted),
		fall("an absorber slides", "", 100, 1.2, func(c *arrest.Case) { c.Until = 1.5 }, rig(0.5), pa(nil), absorbing),
		fall("a body of two masses", "", 100, 0.6, nil, rig(0.5), pa(nil), body),
		fall("three drops on one specimen", "", 80, 0.4, func(c *arrest.Case) { c.Drops, c.Rest = 3, 60 }, rig(0), pa(nil), knotted),
		fall("onto the floor", "", 80, 0.6, func(c *arrest.Case) { c.Floor = 0.05 }, rig(0), pa(nil)),
		fall("by Dormand and Prince", arrest.Dopri, 80, 0.6, nil, rig(0), pa(nil)),
		fall("by Radau", arrest.Radau, 80, 0.6, nil, rig(0.5), pa(nil)),
	}
}

// Every fall gives what it always gave.
func TestFrozenFalls(t *testing.T) {
	made := falls(t)
	if *overwrite {
		for i := range made {
			b, err := made[i].Run(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			made[i].Result = b
		}
		b, err := json.MarshalIndent(made, "", " ")
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile("falls.json", append(b, '\n'), 0o644); err != nil { //nolint:gosec // no secret
			t.Fatal(err)
		}
		return
	}
	all, err := Falls()
	if err != nil {
		t.Fatal(err)
	}
	if len(all) < 12 || len(all) != len(made) {
		t.Fatalf("%d frozen falls, %d are made", len(all), len(made))
	}
	outcomes := map[string]bool{}
	for i, f := range all {
		want, _ := json.Marshal(made[i].Case)
		if got, _ := json.Marshal(f.Case); string(got) != string(want) || f.Name != made[i].Name {
			t.Errorf("%s is not what its maker gives", f.Name)
		}
		report, err := f.Check(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if report.Numbers < 20 {
			t.Errorf("%s: only %d numbers", f.Name, report.Numbers)
		}
		for _, d := range report.Differ {
			t.Errorf("%s: %s", f.Name, d)
		}
		var r struct{ Outcome string }
		if err := json.Unmarshal(f.Result, &r); err != nil {
			t.Fatal(err)
		}
		outcomes[r.Outcome] = true
	}
	if len(outcomes) < 3 {
		t.Errorf("only these outcomes are frozen: %v", outcomes)
	}
}
