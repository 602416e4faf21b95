package element

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
