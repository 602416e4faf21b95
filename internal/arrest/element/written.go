package element

import "fmt"

// named is an element as it is written: its name stands among its parameters.
type named[T any] struct {
	Name string `yaml:"name"`
	Is   T      `yaml:",inline"`
}

// namedTextile is a textile as it is written.
type namedTextile struct {
	named[Textile] `yaml:",inline"`
}

// UnmarshalYAML fills in the starting set where the textile names one.
func (n *namedTextile) UnmarshalYAML(read func(any) error) error {
	return n.Is.Over(func() error { return read(&n.named) })
}

// UnmarshalYAML reads an element of a chain: one key, its kind, with the parameters below it.
func (e *Element) UnmarshalYAML(read func(any) error) error {
	var w struct {
		Rig      *named[Rig]      `yaml:"rig"`
		Textile  *namedTextile    `yaml:"textile"`
		Knot     *named[Knot]     `yaml:"knot"`
		Absorber *named[Absorber] `yaml:"absorber"`
		Body     *named[Body]     `yaml:"body"`
		Edge     *named[Edge]     `yaml:"edge"`
	}
	if err := read(&w); err != nil {
		return err
	}
	n := take(e, KindRig, w.Rig, &e.Rig) + take(e, KindKnot, w.Knot, &e.Knot) + take(e, KindAbsorber, w.Absorber, &e.Absorber) + take(e, KindBody, w.Body, &e.Body) + take(e, KindEdge, w.Edge, &e.Edge)
	if w.Textile != nil {
		n += take(e, KindTextile, &w.Textile.named, &e.Textile)
	}
	if n != 1 {
		return fmt.Errorf("each element of the chain is one of %s; start each with a dash of its own", names(", "))
	}
	return nil
}

// take makes what is written of a kind the element, and counts it.
func take[T any](e *Element, k Kind, w *named[T], to **T) int {
	if w == nil {
		return 0
	}
	e.Kind, e.Name, *to = k, w.Name, &w.Is
	return 1
}
