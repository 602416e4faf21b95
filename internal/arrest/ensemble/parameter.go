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

// share is a field that stands for the whole where it is left out.
func share(name string, at func(c *arrest.Case) *quantity.Ratio) Parameter {
	p := field(name, quantity.DimRatio, at)
	p.Get = func(c *arrest.Case) float64 {
		if v := at(c).SI(); v != 0 {
			return v
		}
		return 1
	}
	return p
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
	switch {
	case e.Rig != nil:
		return []Parameter{
			field(name+".stiffness", quantity.DimStiffness, func(c *arrest.Case) *quantity.Stiffness { return &c.Chain[i].Rig.Stiffness }),
			field(name+".damping_ratio", quantity.DimRatio, func(c *arrest.Case) *quantity.Ratio { return &c.Chain[i].Rig.DampingRatio }),
			field(name+".node_mass", quantity.DimMass, func(c *arrest.Case) *quantity.Mass { return &c.Chain[i].Rig.NodeMass }),
		}
	case e.Textile != nil:
		out := []Parameter{
			field(name+".length", quantity.DimLength, func(c *arrest.Case) *quantity.Length { return &c.Chain[i].Textile.Length }),
			field(name+".E1", quantity.DimForce, func(c *arrest.Case) *quantity.Force { return &c.Chain[i].Textile.E1 }),
			field(name+".E2", quantity.DimForce, func(c *arrest.Case) *quantity.Force { return &c.Chain[i].Textile.E2 }),
			field(name+".E3", quantity.DimForce, func(c *arrest.Case) *quantity.Force { return &c.Chain[i].Textile.E3 }),
			field(name+".friction", quantity.DimRatio, func(c *arrest.Case) *quantity.Ratio { return &c.Chain[i].Textile.Friction }),
			field(name+".set", quantity.DimRatio, func(c *arrest.Case) *quantity.Ratio { return &c.Chain[i].Textile.Set }),
			field(name+".strength", quantity.DimForce, func(c *arrest.Case) *quantity.Force { return &c.Chain[i].Textile.Strength }),
			share(name+".degradation", func(c *arrest.Case) *quantity.Ratio { return &c.Chain[i].Textile.Degradation }),
		}
		for k := range e.Textile.Maxwell {
			tag := name + ".maxwell"
			if k > 0 {
				tag = fmt.Sprintf("%s%d", tag, k+1)
			}
			out = append(out,
				field(tag+".E", quantity.DimForce, func(c *arrest.Case) *quantity.Force { return &c.Chain[i].Textile.Maxwell[k].E }),
				field(tag+".tau", quantity.DimDuration, func(c *arrest.Case) *quantity.Duration { return &c.Chain[i].Textile.Maxwell[k].Tau }))
		}
		return out
	case e.Knot != nil:
		return []Parameter{
			field(name+".F0", quantity.DimForce, func(c *arrest.Case) *quantity.Force { return &c.Chain[i].Knot.F0 }),
			field(name+".FL", quantity.DimForce, func(c *arrest.Case) *quantity.Force { return &c.Chain[i].Knot.FL }),
			field(name+".slip", quantity.DimLength, func(c *arrest.Case) *quantity.Length { return &c.Chain[i].Knot.Slip }),
			field(name+".lock", quantity.DimStiffness, func(c *arrest.Case) *quantity.Stiffness { return &c.Chain[i].Knot.Lock }),
			share(name+".efficiency", func(c *arrest.Case) *quantity.Ratio { return &c.Chain[i].Knot.Efficiency }),
		}
	case e.Absorber != nil:
		return []Parameter{
			field(name+".force", quantity.DimForce, func(c *arrest.Case) *quantity.Force { return &c.Chain[i].Absorber.Force }),
			field(name+".travel", quantity.DimLength, func(c *arrest.Case) *quantity.Length { return &c.Chain[i].Absorber.Travel }),
			field(name+".strength", quantity.DimForce, func(c *arrest.Case) *quantity.Force { return &c.Chain[i].Absorber.Strength }),
		}
	case e.Edge != nil:
		return []Parameter{
			field(name+".friction", quantity.DimRatio, func(c *arrest.Case) *quantity.Ratio { return &c.Chain[i].Edge.Friction }),
			field(name+".angle", quantity.DimAngle, func(c *arrest.Case) *quantity.Angle { return &c.Chain[i].Edge.Angle }),
			share(name+".strength", func(c *arrest.Case) *quantity.Ratio { return &c.Chain[i].Edge.Strength }),
		}
	case e.Body != nil:
		return []Parameter{
			field(name+".stiffness", quantity.DimStiffness, func(c *arrest.Case) *quantity.Stiffness { return &c.Chain[i].Body.Stiffness }),
			field(name+".damping_ratio", quantity.DimRatio, func(c *arrest.Case) *quantity.Ratio { return &c.Chain[i].Body.DampingRatio }),
		}
	}
	return nil
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

// copyCase is a case that shares nothing with c.
func copyCase(c *arrest.Case) arrest.Case {
	d := *c
	d.Chain = append([]arrest.Element(nil), c.Chain...)
	for i := range d.Chain {
		e := &d.Chain[i]
		switch {
		case e.Rig != nil:
			v := *e.Rig
			e.Rig = &v
		case e.Textile != nil:
			v := *e.Textile
			v.Maxwell = append([]arrest.Branch(nil), v.Maxwell...)
			e.Textile = &v
		case e.Knot != nil:
			v := *e.Knot
			e.Knot = &v
		case e.Absorber != nil:
			v := *e.Absorber
			e.Absorber = &v
		case e.Edge != nil:
			v := *e.Edge
			e.Edge = &v
		case e.Body != nil:
			v := *e.Body
			e.Body = &v
		}
	}
	return d
}
