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
	Place    int            // of that element, -1 = none
	Of       string         // parameter that its strength follows, "" = its own
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
	out := Component{Name: c.Name, Spread: c.Spread, Place: -1}
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
	for i := range p.Case.Chain {
		v := p.Case.StrengthOf(i)
		if v == 0 {
			continue
		}
		j, name := i, p.Case.Label(i)
		if p.Case.Chain[i].Knot != nil || p.Case.Chain[i].Edge != nil {
			j = p.Case.TextileOf(i)
		}
		t := p.Case.Chain[j].Textile
		out = append(out, Component{
			Name: name, Place: i, Of: p.Case.Label(j) + ".strength", InChain: true, Starting: t != nil && t.StartingSet != "",
			Limit: limits.Limit{Name: name, Value: v, Kind: limits.Strength, Current: true, Source: "strength of the element in the case"},
		})
	}
	return out
}
