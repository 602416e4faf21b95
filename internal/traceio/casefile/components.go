package casefile

import (
	"fmt"
	"io"
	"strings"

	"github.com/hardcatch/hardcatch/internal/arrest/ensemble"
	"github.com/hardcatch/hardcatch/internal/limits"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

type component struct {
	Name     string         `yaml:"name"`
	Limit    string         `yaml:"limit"`
	Strength quantity.Force `yaml:"strength"`
	Spread   quantity.Ratio `yaml:"spread"`
}

// Component is something in the load path with a strength.
type Component struct {
	Name     string
	Limit    limits.Limit
	Spread   quantity.Ratio // coefficient of variation of its strength, 0 = not said
	InChain  bool           // one of the chain's own elements
	Starting bool           // its strength is a starting value, no rating
	// Of names the parameter whose spread its strength follows, and Share its part of that parameter's value;
	// "" = its own.
	Of    string
	Share float64
}

// ReadChain reads a case with its components: `strength` gives a figure of one's own, `limit` names one of
// the published table by its name.
func ReadChain(name string, r io.Reader) (*ensemble.Plan, []Component, error) {
	f, places, err := read(name, r)
	if err != nil {
		return nil, nil, err
	}
	p, err := f.plan(name, places)
	if err != nil {
		return nil, nil, err
	}
	var out []Component
	for i, c := range f.Components {
		made, err := c.make()
		if err != nil {
			return nil, nil, fmt.Errorf("%s: %w", places.At(name, fmt.Sprintf("components[%d]", i)), err)
		}
		out = append(out, made)
	}
	return p, append(out, own(p)...), nil
}

func (c component) make() (Component, error) {
	out := Component{Name: c.Name, Spread: c.Spread}
	switch {
	case c.Limit != "" && c.Strength > 0, c.Limit == "" && c.Strength <= 0:
		return out, fmt.Errorf("a component has either a strength of its own or the name of a limit")
	case c.Strength > 0:
		if c.Name == "" {
			return out, fmt.Errorf("the component has no name")
		}
		out.Limit = limits.Limit{Name: c.Name, Value: c.Strength, Kind: limits.Strength, Current: true, Source: "stated in the case"}
		return out, nil
	}
	for _, l := range limits.Table() {
		if strings.EqualFold(l.Name, c.Limit) {
			if out.Name == "" {
				out.Name = l.Name
			}
			out.Limit = l
			return out, nil
		}
	}
	return out, fmt.Errorf("limit %q is not in the table; see hardcatch limits --all", c.Limit)
}

// own lists the strengths of the chain's elements: textiles, knots tied in them, absorbers.
func own(p *ensemble.Plan) []Component {
	var out []Component
	add := func(name string, v quantity.Force, starting bool, of string, base quantity.Force) {
		if v > 0 {
			out = append(out, Component{Name: name, Of: of + ".strength", Share: v.SI() / base.SI(), InChain: true, Starting: starting, Limit: limits.Limit{Name: name, Value: v, Kind: limits.Strength, Current: true, Source: "strength of the element in the case"}})
		}
	}
	chain := p.Case.Chain
	for i := range chain {
		e := &chain[i]
		name := p.Case.Label(i)
		switch {
		case e.Textile != nil:
			add(name, e.Textile.Strength*orOne(e.Textile.Degradation), e.Textile.StartingSet != "", name, e.Textile.Strength)
		case e.Absorber != nil:
			add(name, e.Absorber.Strength, false, name, e.Absorber.Strength)
		case e.Knot != nil:
			if j := p.Case.TextileOf(i); j >= 0 {
				t := chain[j].Textile
				add(name, t.Strength*orOne(t.Degradation)*orOne(e.Knot.Efficiency), t.StartingSet != "", p.Case.Label(j), t.Strength)
			}
		}
	}
	return out
}

func orOne(r quantity.Ratio) quantity.Force {
	if r == 0 {
		return 1
	}
	return quantity.Force(r)
}
