package foresee

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/limits"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/plan"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// One fall on one chain, asked through every way there is, has one force for each use: what it asks of components, what
// the load cell shows through the filter, and what it shows unfiltered. The node is heavy, so that the three are far apart.
func TestOneForceEverywhere(t *testing.T) {
	const node = 4.0
	set, _ := arrest.StartingSet("polyester-webbing")
	text := fmt.Sprintf(`mass: 100 kg
fall: 0.9 m
chain:
  - rig:     {stiffness: 2 MN/m, damping_ratio: 0.03, node_mass: %g kg}
  - textile: {name: specimen, length: 0.9 m, material: polyester-webbing}
spread:
  specimen.strength: {normal: 1 %%}
components:
  - {name: shackle, strength: 12 kN}
  - {limit: "dynamic rope, single"}
`, node)
	a := &look.Access{Now: time.Now}
	ctx := context.Background()
	one, err := Simulate(ctx, a, "c.yaml", strings.NewReader(strings.Replace(text, "material: polyester-webbing", "material: polyester-webbing, strength: 0", 1)), SimulateOptions{})
	if err != nil {
		t.Fatal(err)
	}
	want := one.Loads()
	if want.Cell < want.Chain*102/100 || want.Cell < want.Filtered*1005/1000 || want.Certainty != arrest.PeakPassed {
		t.Fatalf("the three are not apart: %+v", want)
	}
	same := func(what string, got, want quantity.Force, rel float64) {
		t.Helper()
		if d := math.Abs(got.SI()/want.SI() - 1); !(d <= rel) {
			t.Errorf("%s: %v, want %v", what, got, want)
		}
	}

	chain, err := Chain(ctx, a, "c.yaml", strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range chain.Components {
		use := arrest.Strength
		if c.Kind == limits.Arrest {
			use = arrest.ArrestForce
		}
		same("chain, "+c.Name, c.Peak, want.For(use), 1e-9)
		if c.Against != use {
			t.Errorf("%s is held against the %s", c.Name, c.Against)
		}
		same("margin of "+c.Name, c.Limit/(1+quantity.Force(c.Margin)), want.For(use), 1e-9)
	}

	if _, err := Ensemble(ctx, a, "c.yaml", strings.NewReader(strings.Replace(text, "specimen.strength: {normal: 1 %}", "specimen.strength: {normal: 1 %, min: 100 kN, max: 1000 kN}", 1)), EnsembleOptions{N: 200}); err == nil {
		t.Fatal("a strength of 22 kN is not cut off at 100 kN")
	}
	// With a strength far above, nothing breaks and every drop is the same fall.
	strong := strings.Replace(text, "material: polyester-webbing", "material: polyester-webbing, strength: 900 kN", 1)
	e, err := Ensemble(ctx, a, "c.yaml", strings.NewReader(strong), EnsembleOptions{N: 200})
	if err != nil {
		t.Fatal(err)
	}
	for i := range e.Percentiles {
		same("ensemble, cell", quantity.Force(e.Percentiles[i].Value), want.Cell, 1e-6)
		same("ensemble, chain", quantity.Force(e.Chain[i].Value), want.Chain, 1e-6)
		same("ensemble, filtered", quantity.Force(e.Filtered[i].Value), want.Filtered, 1e-6)
	}

	// What if and the map have the usual node of 0.5 kg: the same chain by them.
	w := WhatIf{Mass: 100, Fall: 0.9, Length: 0.9, Material: "polyester-webbing"}
	usual := strings.Replace(text, "node_mass: 4 kg", "node_mass: 0.5 kg", 1)
	asked, err := AskModel(ctx, w)
	if err != nil {
		t.Fatal(err)
	}
	if chain, err = Chain(ctx, a, "c.yaml", strings.NewReader(usual)); err != nil {
		t.Fatal(err)
	}
	same("What if, chain", asked.Loads.Chain, chain.Loads.Chain, 1e-6)
	same("What if, filtered", asked.Loads.Filtered, chain.Loads.Filtered, 1e-6)
	same("What if, cell", asked.Loads.Cell, chain.Loads.Cell, 1e-6)
	for _, l := range asked.Limits {
		same("What if, "+l.Name, l.Force, asked.Loads.For(useOf(l.Kind)), 0)
	}
	m := mapOf(t, MapQuestion{WhatIf: w, Limits: []string{"dynamic rope, single"}, Own: &OwnLimit{"shackle", 12000}})
	slacks := map[string]quantity.Length{}
	for _, c := range chain.Components {
		if c.Slack != nil {
			slacks[c.Name] = *c.Slack
		}
	}
	for _, l := range m.Limits {
		if l.Slack == nil || *l.Slack != slacks[l.Name] {
			t.Errorf("map, %s: %v of slack, the chain has %v", l.Name, l.Slack, slacks[l.Name])
		}
	}

	// A plan holds anchor and connectors against the force in the chain, and the load cell against its own reading.
	p := plan.Plan{Simulations: 4, Builds: map[string]plan.Build{"polyester": {Textile: set}}, Factors: []plan.Factor{{Name: plan.Material}}}
	p.Rig.Stiffness, p.Rig.NodeMass, p.Rig.Damping = 2e6, node, 0.03
	p.Rig.LoadCell.Capacity = 100e3
	p.Tower.MostCellPart, p.Tower.Anchor, p.Tower.Connectors = 0.8, 100e3, 100e3
	f, err := p.Forecast(ctx, plan.Cell{Levels: map[string]string{plan.Material: "polyester"}, Material: "polyester", Length: 0.9, Fall: 0.9, Mass: 100})
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for _, c := range f.Checks {
		switch name := c.Limit.String(); {
		case name == "connectors" || name == "anchor":
			same("plan, "+name, quantity.Force(c.IfHeld), want.Chain, 1e-6)
			seen++
		case strings.Contains(name, "% of the load cell's capacity"):
			same("plan, "+name, quantity.Force(c.IfHeld), want.Cell, 1e-6)
			seen++
		}
	}
	if seen != 3 {
		t.Errorf("%d limits of the plan", seen)
	}
}

// The unsafe case: 200 kg on a soft rig whose node swings slower than the force comes, so that the load cell shows less
// than the chain carries. The ensemble and one simulation say that it breaks; the chain must not call it safe.
func TestChainDoesNotCallABreakSafe(t *testing.T) {
	const text = `mass: 200 kg
fall: 0.5 m
chain:
  - rig:     {stiffness: 300 kN/m, damping_ratio: 0.03, node_mass: 300 kg}
  - textile: {name: sling, length: 0.6 m, E1: 300 kN, strength: STRENGTH}
spread:
  sling.strength: {normal: 0.5 %}
`
	ctx, a := context.Background(), &look.Access{Now: time.Now}
	ask := func(strength string) string { return strings.Replace(text, "STRENGTH", strength, 1) }
	one, err := Simulate(ctx, a, "c.yaml", strings.NewReader(ask("0")), SimulateOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if one.PeakForce > one.PeakChain*95/100 {
		t.Fatalf("the load cell shows %v of %v", one.PeakForce, one.PeakChain)
	}
	between := ask(fmt.Sprintf("%.3f kN", (one.PeakForce+one.PeakChain).SI()/2/1000))
	broke, err := Simulate(ctx, a, "c.yaml", strings.NewReader(between), SimulateOptions{})
	if err != nil || broke.Broke == nil {
		t.Fatalf("it held: %v", err)
	}
	c, err := Chain(ctx, a, "c.yaml", strings.NewReader(between))
	if err != nil {
		t.Fatal(err)
	}
	e, err := Ensemble(ctx, a, "c.yaml", strings.NewReader(between), EnsembleOptions{N: 1000})
	if err != nil {
		t.Fatal(err)
	}
	if c.Components[0].First < 0.999 || c.Components[0].Margin >= 0 || e.BreakProb < 0.999 {
		t.Errorf("goes first %g, margin %v, breaks %g", c.Components[0].First, c.Components[0].Margin, e.BreakProb)
	}
}

// The chain knows what the ensemble knows: the spreads of knot efficiency and degradation, and correlations. The same draws
// give the same count: of the elements that part first in the ensemble, and go first in the chain.
func TestChainCountsAsTheEnsembleDoes(t *testing.T) {
	const text = `mass: 100 kg
fall: 0.9 m
chain:
  - rig:     {stiffness: 2 MN/m, damping_ratio: 0.03, node_mass: 0.5 kg}
  - textile: {name: sling, length: 0.9 m, material: polyester-webbing, degradation: 0.9}
  - knot:    {F0: 0.5 kN, FL: 8.5 kN, slip: 45 mm, efficiency: 0.85}
spread:
  sling.E1:          {lognormal: 10 %}
  sling.strength:    {normal: 3 %}
  sling.degradation: {normal: 0.05}
  knot.efficiency:   {normal: 0.08}
correlations:
  - {between: [sling.E1, sling.strength], r: 0.6}
seed: 3
`
	ctx, a := context.Background(), &look.Access{Now: time.Now}
	c, err := Chain(ctx, a, "c.yaml", strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	e, err := Ensemble(ctx, a, "c.yaml", strings.NewReader(text), EnsembleOptions{N: c.Drops})
	if err != nil {
		t.Fatal(err)
	}
	first := map[string]float64{}
	for _, b := range e.First {
		first[b.Element] = b.Probability
	}
	for _, k := range c.Components {
		if math.Abs(k.First-first[k.Name]) > 1.5/float64(c.Drops) {
			t.Errorf("%s: %g in the chain, %g in the ensemble", k.Name, k.First, first[k.Name])
		}
	}
	if p := first["knot"]; p < 0.02 || p > 0.9 {
		t.Errorf("the case tells nothing: the knot goes first in %g", p)
	}
	// Degradation near 1 with a spread of 5 % is cut off at 1: Phi(2) of the draws are below, 2.3 % were drawn again.
	found := false
	for _, w := range e.Warnings {
		found = found || strings.Contains(w, "sling.degradation: 2.3 % of the draws")
	}
	if !found {
		t.Errorf("%v", e.Warnings)
	}
}

// A long rope is asked until it has turned: 200 kg on 50 m of a strength between what 1.5 s shows and what comes is not safe.
func TestChainWaitsForThePeak(t *testing.T) {
	const text = "mass: 200 kg\nfall: 0 m\nuntil: 0.5 s\nchain:\n  - textile: {name: rope, length: 50 m, E1: 10 kN, strength: 3 kN}\nspread:\n  rope.E1: {normal: 1 %}\n"
	ctx, a := context.Background(), &look.Access{Now: time.Now}
	c, err := Chain(ctx, a, "c.yaml", strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	// A suddenly applied load asks a linear rope for twice its weight, 3.923 kN: against 3 kN with 8 %, Phi(-(1 - 3/3.923)...) is 1 but for 1e-4.
	if math.Abs(c.Peak.SI()-2*200*9.80665) > 1 || c.Components[0].First < 0.995 || c.Open != 0 || c.Loads.Certainty != arrest.PeakPassed {
		t.Errorf("%v, goes first %g, %d open", c.Peak, c.Components[0].First, c.Open)
	}
	// The ensemble stops where it is told to, and says what that means.
	e, err := Ensemble(ctx, a, "c.yaml", strings.NewReader(text), EnsembleOptions{N: 100})
	if err != nil {
		t.Fatal(err)
	}
	if e.Certain["run too short"] != 100 || !e.LowerBound || !strings.Contains(strings.Join(e.Warnings, "\n"), "100 drops ended while the force could still rise") {
		t.Errorf("%v %v", e.Certain, e.Warnings)
	}
}

// What an ensemble would leave out is refused.
func TestIgnoredInputsAreRefused(t *testing.T) {
	const chain = "chain:\n  - textile: {name: sling, length: 1 m, E1: 100 kN, strength: 20 kN}\nspread:\n  fall: {uniform: 10 mm}\n"
	ctx, a := context.Background(), &look.Access{Now: time.Now}
	for head, want := range map[string]string{
		"mass: 80 kg\nfall: 1 m\ndrops: 3\n":     "falls once; leave drops out",
		"mass: 80 kg\nfall: 1 m\nspeed: 4 m/s\n": "leave one out",
		"mass: 80 kg\nfall: 0 m\nspeed: 4 m/s\n": "leave speed out",
	} {
		if _, err := Ensemble(ctx, a, "c.yaml", strings.NewReader(head+chain), EnsembleOptions{N: 100}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("ensemble %q: %v", head, err)
		}
		if _, err := Chain(ctx, a, "c.yaml", strings.NewReader(head+chain)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("chain %q: %v", head, err)
		}
	}
}

// A run of an hour comes to rest and ends; a chain whose node is a thousand times too fast says why it is not done in its time; and
// both can be stopped.
func TestEndsOrSaysWhyNot(t *testing.T) {
	a := &look.Access{Now: time.Now}
	const hour = "mass: 100 kg\nfall: 0.9 m\nuntil: 3600 s\nchain:\n  - rig: {stiffness: 2 MN/m, damping_ratio: 0.03, node_mass: 0.5 kg}\n  - textile: {name: lanyard, length: 0.9 m, material: polyester-webbing, strength: 0}\n"
	r, err := Simulate(context.Background(), a, "c.yaml", strings.NewReader(hour), SimulateOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if last := r.Events[len(r.Events)-1]; last.T != 3600 || r.Certainty != arrest.PeakPassed {
		t.Errorf("%+v %s", last, r.Certainty)
	}
	const fast = "mass: 100 kg\nfall: 0.9 m\nchain:\n  - rig: {stiffness: 1 GN/m, node_mass: 0.5 g}\n  - textile: {name: lanyard, length: 0.9 m, material: polyester-webbing}\nspread:\n  lanyard.E1: {normal: 5 %}\n"
	if _, err := Chain(context.Background(), a, "c.yaml", strings.NewReader(fast)); err == nil || !strings.Contains(err.Error(), "give node_mass: 0, a heavier node or a softer rig") && !strings.Contains(err.Error(), "too many steps") {
		t.Errorf("%v", err)
	}
	ctx, cancel := context.WithTimeout(context.Background(), 300*time.Millisecond)
	defer cancel()
	began := time.Now()
	if _, err := Chain(ctx, a, "c.yaml", strings.NewReader(strings.Replace(fast, "0.5 g", "0.5 kg", 1))); err != nil && !strings.Contains(err.Error(), "stopped by you") {
		t.Errorf("%v", err)
	}
	if _, err := Ensemble(ctx, a, "c.yaml", strings.NewReader(fast), EnsembleOptions{N: 10000}); err == nil {
		t.Error("an ensemble was not stopped")
	}
	if d := time.Since(began); d > 30*time.Second {
		t.Errorf("it went on for %v", d)
	}
}
