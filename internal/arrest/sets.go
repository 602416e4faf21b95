package arrest

import "github.com/hardcatch/hardcatch/internal/quantity"

// startingSets are starting values for identification and planning, not ratings. Loop values for a
// sewn sling; one strand for ropes. Common practice, no source.
var startingSets = []struct {
	name string
	set  Textile
}{
	{"polyamide-webbing", Textile{E1: 80e3, E3: 300e3, Maxwell: []Branch{{20e3, 0.05}}, Friction: 0.08, FrictionStiffness: 400e3, Set: 0.08, Strength: 26e3}},
	{"hmpe-blend-sling", Textile{E1: 100e3, E2: 3000e3, Maxwell: []Branch{{15e3, 0.05}}, Friction: 0.06, FrictionStiffness: 1000e3, Set: 0.02, Strength: 22e3}},
	{"polyester-webbing", Textile{E1: 120e3, E2: 400e3, Maxwell: []Branch{{15e3, 0.05}}, Friction: 0.06, FrictionStiffness: 400e3, Set: 0.05, Strength: 22e3}},
	{"aramid-cord", Textile{E1: 250e3, E2: 3000e3, Maxwell: []Branch{{10e3, 0.05}}, Friction: 0.04, FrictionStiffness: 1000e3, Set: 0.02, Strength: 22e3}},
	{"dynamic-rope", Textile{E1: 10e3, E2: 22e3, Maxwell: []Branch{{7e3, 0.12}}, Friction: 0.18, FrictionStiffness: 100e3, Set: 0.10, Strength: 22e3}},
	{"semi-static-rope", Textile{E1: 28e3, E2: 70e3, Maxwell: []Branch{{8e3, 0.08}}, Friction: 0.10, FrictionStiffness: 200e3, Set: 0.05, Strength: 25e3}},
	{"steel-wire", Textile{E1: 2300e3, Friction: 0.02, Strength: 35e3}},
}

// StartingSet returns a textile with the starting values of that name and no length, and whether
// there is such a set. The Maxwell branches are the caller's own copy.
func StartingSet(name string) (Textile, bool) {
	for _, s := range startingSets {
		if s.name == name {
			t := s.set
			t.Maxwell = append([]Branch(nil), t.Maxwell...)
			t.StartingSet = name
			return t, true
		}
	}
	return Textile{}, false
}

// StartingSetNames lists the names in the order of the table.
func StartingSetNames() []string {
	names := make([]string, len(startingSets))
	for i, s := range startingSets {
		names[i] = s.name
	}
	return names
}

// StartingKnot, StartingAbsorber and StartingRig are starting values of the other elements. Common
// practice, no source.
func StartingKnot() Knot {
	return Knot{F0: 500, FL: 8500, Slip: 0.045, Power: 2, Lock: 3e6}
}

// StartingAbsorber is a tearing or slipping absorber of the fall-arrest lanyard kind.
func StartingAbsorber() Absorber {
	return Absorber{Force: 4500, Ripple: 0.1, Pitch: 0.015, Travel: 1, Backing: 3e6, Strength: 15e3}
}

// StartingRig is a stiff tower with a load cell.
func StartingRig() Rig {
	return Rig{Stiffness: 2e6, DampingRatio: 0.03, NodeMass: 0.5}
}

// KnotEfficiency is a starting value of the strength that a knot leaves, with the spread (standard
// deviation) to give it. Published slow pulls, n = 2 each.
type KnotEfficiency struct {
	Material   string // generic name and size
	Knot       string
	Efficiency quantity.Ratio
	Spread     quantity.Ratio
}

// KnotEfficiencies lists the starting values.
func KnotEfficiencies() []KnotEfficiency {
	return []KnotEfficiency{
		{"HMPE 8 mm", "overhand", 0.57, 0.08}, {"HMPE 8 mm", "figure-eight", 0.60, 0.08}, {"HMPE 8 mm", "girth hitch", 0.69, 0.08},
		{"HMPE 11 mm", "overhand", 0.46, 0.08}, {"HMPE 11 mm", "figure-eight", 0.48, 0.08}, {"HMPE 11 mm", "girth hitch", 0.52, 0.08},
		{"polyamide 16 mm", "overhand", 0.64, 0.08}, {"polyamide 16 mm", "figure-eight", 0.59, 0.08}, {"polyamide 16 mm", "girth hitch", 0.79, 0.08},
	}
}
