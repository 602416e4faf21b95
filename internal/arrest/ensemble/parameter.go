// Package ensemble spreads the parameters of a fall and sums up what comes of it.
package ensemble

import (
	"fmt"
	"sort"
	"strings"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Parameter is one value of a case that can be varied: "fall", "lanyard.strength", "rig.stiffness",
// "textile 2.E1".
type Parameter struct {
	Name string
	Dim  quantity.Dim
	Get  func(c *arrest.Case) float64
	Set  func(c *arrest.Case, v float64)
}

// field makes a parameter from a way to its place in a case.
func field[T ~float64](name string, dim quantity.Dim, at func(c *arrest.Case) *T) Parameter {
	return Parameter{name, dim, func(c *arrest.Case) float64 { return float64(*at(c)) }, func(c *arrest.Case, v float64) { *at(c) = T(v) }}
}

// Parameters lists what of a case can be varied, by name. Elements go by their label: of two textiles
// without a name the second is "textile 2". Elements that share a name are left out; see Find.
func Parameters(c *arrest.Case) map[string]Parameter {
	out := map[string]Parameter{}
	add := func(p Parameter) { out[p.Name] = p }
	add(field("mass", quantity.DimMass, func(c *arrest.Case) *quantity.Mass { return &c.Mass }))
	add(field("fall", quantity.DimLength, func(c *arrest.Case) *quantity.Length { return &c.Fall }))
	uses := map[string]int{}
	for i := range c.Chain {
		uses[c.Label(i)]++
	}
	for i := range c.Chain {
		name := c.Label(i)
		if uses[name] > 1 {
			continue // not to be told apart
		}
		for _, p := range elementParameters(&c.Chain[i], i, name) {
			if _, taken := out[p.Name]; !taken {
				add(p)
			}
		}
	}
	return out
}

// Find is the parameter of that name, or an error that says how to name it.
func Find(c *arrest.Case, name string) (Parameter, error) {
	if p, ok := Parameters(c)[name]; ok {
		return p, nil
	}
	element, value, _ := strings.Cut(name, ".")
	var alike []string
	same := 0
	for i := range c.Chain {
		switch e := &c.Chain[i]; {
		case e.Name == "" && string(e.Kind) == element:
			alike = append(alike, fmt.Sprintf("%q", c.Label(i)+"."+value))
		case e.Name == element:
			same++
		}
	}
	switch {
	case same > 1:
		return Parameter{}, fmt.Errorf("parameter %q: %d elements are named %s; give each a name of its own", name, same, element)
	case len(alike) > 1:
		return Parameter{}, fmt.Errorf("parameter %q: %d elements are a %s without a name; write %s, or give them names", name, len(alike), element, strings.Join(alike, " or "))
	}
	return Parameter{}, fmt.Errorf("parameter %q is not in this case; there are %s", name, Names(c))
}

func elementParameters(e *arrest.Element, i int, name string) []Parameter {
	var out []Parameter
	for _, k := range e.Spreads() {
		if k.Number() {
			out = append(out, Parameter{name + "." + k.Name, k.Dim, func(c *arrest.Case) float64 { return k.Get(&c.Chain[i]) }, func(c *arrest.Case, v float64) { k.Set(&c.Chain[i], v) }})
		}
	}
	return out
}

// Names lists the parameters of a case in alphabetical order, for messages.
func Names(c *arrest.Case) string {
	var names []string
	for n := range Parameters(c) {
		names = append(names, n)
	}
	sort.Strings(names)
	return strings.Join(names, ", ")
}
