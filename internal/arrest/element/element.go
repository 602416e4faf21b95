// Package element describes each sort of element of a chain once: its law, energies, strength, keys with ranges and defaults,
// what may be spread, and what docs/model.md says of it. The machine, validation, ensembles and the page read from here.
package element

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Kind is the sort of an element.
type Kind string

// The kinds of element.
const (
	KindRig      Kind = "rig"
	KindTextile  Kind = "textile"
	KindKnot     Kind = "knot"
	KindAbsorber Kind = "absorber"
	KindBody     Kind = "body"
	KindEdge     Kind = "edge"
)

// Element is one link of the chain. Exactly the pointer that belongs to Kind is set.
type Element struct {
	Kind     Kind
	Name     string // empty = the kind, numbered where it occurs more than once
	Rig      *Rig
	Textile  *Textile
	Knot     *Knot
	Absorber *Absorber
	Body     *Body
	Edge     *Edge
}

// kinds lists the descriptions, in the order of messages and of the page.
var kinds = []*Description{&rig, &textile, &knot, &absorber, &body, &edge}

// Place is where in a chain an element may stand.
type Place uint8

// The places.
const (
	Anywhere Place = iota
	AtAnchor       // first
	AtMass         // last
)

// Gives is what an element does to the chain.
type Gives uint8

// What elements do.
const (
	Stretches Gives = iota // it is elastic: the force follows from the elongation
	Slips                  // it is rigid until it slips
	Swings                 // it has a mass of its own
	Redirects              // it parts the force of the chain in two
)

// Description is all that is said of one kind of element.
type Description struct {
	Kind  Kind
	Law   string // as docs/model.md has it
	Place Place
	Wrong string // what to do where it stands elsewhere
	Keys  []Key

	given    func(e *Element) bool
	clone    func(e *Element)
	gives    func(e *Element) Gives
	more     func(e *Element) []Key                      // keys that depend on the element, for spreads
	check    func(e *Element) error                      // what no range says
	strength func(chain []Element, i int) quantity.Force // nil = it never parts
}

// Kinds are the descriptions of all kinds.
func Kinds() []*Description { return kinds }

// Of is the description of the element's kind, nil where there is none.
func (e *Element) Of() *Description {
	for _, d := range kinds {
		if d.Kind == e.Kind && d.given(e) {
			return d
		}
	}
	return nil
}

// Gives is what the element does to the chain.
func (e *Element) Gives() Gives { return e.Of().gives(e) }

// Clone shares nothing with e.
func (e *Element) Clone() Element {
	c := *e
	if d := e.Of(); d != nil {
		d.clone(&c)
	}
	return c
}

// Spreads are the keys of the element that an ensemble may vary.
func (e *Element) Spreads() []Key {
	var list []Key
	d := e.Of()
	if d == nil {
		return nil
	}
	for _, k := range d.Keys {
		if k.Spreads {
			list = append(list, k)
		}
	}
	if d.more != nil {
		list = append(list, d.more(e)...)
	}
	return list
}

// StrengthOf is the force in the chain at which element i parts, 0 where it never does.
func StrengthOf(chain []Element, i int) quantity.Force {
	if d := chain[i].Of(); d != nil && d.strength != nil {
		return d.strength(chain, i)
	}
	return 0
}

// TextileOf is the place of the textile that runs over edge i (the one after it), or that knot i is tied in: the one before it, else the one after
// it; -1 where the chain has none.
func TextileOf(chain []Element, i int) int {
	for j := i - 1; j >= 0 && chain[i].Kind != KindEdge; j-- {
		if chain[j].Kind == KindTextile {
			return j
		}
	}
	for j := i + 1; j < len(chain); j++ {
		if chain[j].Kind == KindTextile {
			return j
		}
	}
	return -1
}

// Label names element i of the chain in messages, results and parameters: its name, or its kind,
// numbered where several elements of that kind have no name ("textile 2").
func Label(chain []Element, i int) string {
	e := &chain[i]
	if e.Name != "" {
		return e.Name
	}
	same, rank := 0, 0
	for j := range chain {
		if chain[j].Kind == e.Kind && chain[j].Name == "" {
			same++
			if j <= i {
				rank++
			}
		}
	}
	if same > 1 {
		return fmt.Sprintf("%s %d", e.Kind, rank)
	}
	return string(e.Kind)
}

// names lists the kinds, for messages.
func names(last string) string {
	s := ""
	for i, d := range kinds {
		switch {
		case i == 0:
		case i == len(kinds)-1:
			s += last
		default:
			s += ", "
		}
		s += string(d.Kind)
	}
	return s
}

func orDefault[T ~float64](v, d T) T {
	if v == 0 {
		return d
	}
	return v
}

func bad(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) }

var inf = math.Inf(1)
