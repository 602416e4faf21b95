package foresee

import (
	"fmt"
	"math"
	"strings"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// MapQuantity is a quantity of the fall that a map may lay out.
type MapQuantity string

// The quantities of a map.
const (
	MapFactor MapQuantity = "fall-factor"
	MapFall   MapQuantity = "fall-height"
	MapSlack  MapQuantity = "slack"
	MapLength MapQuantity = "length"
	MapMass   MapQuantity = "mass"
	MapRig    MapQuantity = "rig-stiffness"
)

// mapQuantity is what a map knows of a quantity.
type mapQuantity struct {
	name     string
	unit     string
	from, to float64 // usual range, SI
	lo, hi   float64 // what is accepted
	falls    bool    // it sets the free fall
	log      bool    // its axis is logarithmic
	read     func(string) (float64, error)
	text     func(v float64, digits int) string
	set      func(q *WhatIf, v float64)
}

func readAs[Q ~float64, P interface {
	*Q
	UnmarshalText(text []byte) error
}](text string) (float64, error) {
	var q Q
	err := P(&q).UnmarshalText([]byte(text))
	return float64(q), err
}

var mapQuantities = map[MapQuantity]mapQuantity{
	MapFactor: {
		name: "fall factor", from: 0, to: 2, lo: 0, hi: 20, falls: true, read: readAs[quantity.Ratio], text: func(v float64, d int) string { return quantity.Ratio(v).Text(d) },
		set: func(q *WhatIf, v float64) { q.Fall = quantity.Length(v * q.Length.SI()) },
	},
	MapFall: {
		name: "fall height", unit: "m", from: 0, to: 4, lo: 0, hi: 50, falls: true, read: readAs[quantity.Length], text: func(v float64, d int) string { return quantity.Length(v).Text(d) },
		set: func(q *WhatIf, v float64) { q.Fall = quantity.Length(v) },
	},
	// The attachment moves straight down by the slack before the specimen is taut: so far the mass falls freely.
	MapSlack: {
		name: "length of slack", unit: "m", from: 0, to: 1, lo: 0, hi: 50, falls: true, read: readAs[quantity.Length], text: func(v float64, d int) string { return quantity.Length(v).Text(d) },
		set: func(q *WhatIf, v float64) { q.Fall = quantity.Length(v) },
	},
	MapLength: {
		name: "length", unit: "m", from: 0.3, to: 3, lo: 0.05, hi: 100, read: readAs[quantity.Length], text: func(v float64, d int) string { return quantity.Length(v).Text(d) },
		set: func(q *WhatIf, v float64) { q.Length = quantity.Length(v) },
	},
	MapMass: {
		name: "mass", unit: "kg", from: 40, to: 160, lo: 1, hi: 1000, read: readAs[quantity.Mass], text: func(v float64, d int) string { return quantity.Mass(v).Text(d) },
		set: func(q *WhatIf, v float64) { q.Mass = quantity.Mass(v) },
	},
	MapRig: {
		name: "rig stiffness", unit: "N/m", from: 2e5, to: 2e7, lo: 1e4, hi: 1e9, log: true, read: readAs[quantity.Stiffness], text: func(v float64, d int) string { return quantity.Stiffness(v).Text(d) },
		set: func(q *WhatIf, v float64) { q.Rig = quantity.Stiffness(v) },
	},
}

// MapQuantities lists them in the order in which they are offered.
func MapQuantities() []MapQuantity {
	return []MapQuantity{MapFactor, MapFall, MapSlack, MapLength, MapMass, MapRig}
}

// Name is the quantity in words.
func (m MapQuantity) Name() string { return mapQuantities[m].name }

// Text writes a value with its unit.
func (m MapQuantity) Text(v float64, digits int) string {
	if v == 0 {
		if u := mapQuantities[m].unit; u != "" {
			return "0 " + u
		}
		return "0"
	}
	return mapQuantities[m].text(v, digits)
}

// Read reads a value with its unit.
func (m MapQuantity) Read(text string) (float64, error) {
	k, ok := mapQuantities[m]
	if !ok {
		return 0, m.unknown()
	}
	v, err := k.read(text)
	if err != nil {
		return 0, fmt.Errorf("%s: %w", k.name, err)
	}
	return v, nil
}

func (m MapQuantity) unknown() error {
	var names []string
	for _, q := range MapQuantities() {
		names = append(names, string(q))
	}
	return fmt.Errorf("%q is no quantity of a map; choose two of %s", string(m), strings.Join(names, ", "))
}

// MapAxis is a quantity with its range, in SI. From and To both zero stand for the usual range.
type MapAxis struct {
	Quantity MapQuantity `json:"quantity"`
	Unit     string      `json:"unit"`
	From     float64     `json:"from"`
	To       float64     `json:"to"`
}

func (a MapAxis) withDefaults(usual MapQuantity) (MapAxis, error) {
	if a.Quantity == "" {
		a.Quantity = usual
	}
	k, ok := mapQuantities[a.Quantity]
	if !ok {
		return a, a.Quantity.unknown()
	}
	a.Unit = k.unit
	if a.From == 0 && a.To == 0 {
		a.From, a.To = k.from, k.to
	}
	text := a.Quantity.Text
	switch {
	case !(a.From >= k.lo && a.To <= k.hi):
		return a, fmt.Errorf("%s: %s to %s is outside %s to %s; choose a narrower range", k.name, text(a.From, 3), text(a.To, 3), text(k.lo, 3), text(k.hi, 3))
	case !(a.To-a.From >= 0.01*a.To):
		return a, fmt.Errorf("%s: %s to %s is no range; the second value must be the larger one by a hundredth at least", k.name, text(a.From, 3), text(a.To, 3))
	}
	return a, nil
}

// at is the value at a share of the way along which the drops of a map are spread evenly. The peak of a linear spring goes
// with the root of the fall and, for tall falls, with those of mass and stiffness: along the root of the fall, and along
// the logarithm of the others, little is left to bend.
func (a MapAxis) at(share float64) float64 {
	switch {
	case share <= 0:
		return a.From
	case share >= 1:
		return a.To
	case mapQuantities[a.Quantity].falls:
		r := math.Sqrt(a.From) + share*(math.Sqrt(a.To)-math.Sqrt(a.From))
		return r * r
	}
	return a.From * math.Pow(a.To/a.From, share)
}

// shown is the share of the axis at which a value stands on paper.
func (a MapAxis) shown(v float64) float64 {
	if mapQuantities[a.Quantity].log {
		return math.Log(v/a.From) / math.Log(a.To/a.From)
	}
	return (v - a.From) / (a.To - a.From)
}

// Place is the value at a share of the axis as it stands on paper.
func (a MapAxis) Place(share float64) float64 {
	if mapQuantities[a.Quantity].log {
		return a.From * math.Pow(a.To/a.From, share)
	}
	return a.From + share*(a.To-a.From)
}

func (a MapAxis) holds(v float64) bool { return v >= a.From*(1-1e-9) && v <= a.To*(1+1e-9) }

// evenly is n values along the axis as it stands on paper.
func (a MapAxis) evenly(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = a.Place(float64(i) / float64(n-1))
	}
	return out
}

// At is the fall at a place of the map.
func (q MapQuestion) At(across, up float64) WhatIf {
	w := q.WhatIf
	x, y := mapQuantities[q.Across.Quantity], mapQuantities[q.Up.Quantity]
	// The fall factor needs the length.
	if x.falls {
		y.set(&w, up)
		x.set(&w, across)
	} else {
		x.set(&w, across)
		y.set(&w, up)
	}
	return w
}

// place is where a fall stands on the map.
func (q MapQuestion) place(w WhatIf) (across, up float64) { return q.Across.of(w), q.Up.of(w) }

func (a MapAxis) of(w WhatIf) float64 {
	switch a.Quantity {
	case MapFactor:
		return w.Fall.SI() / w.Length.SI()
	case MapLength:
		return w.Length.SI()
	case MapMass:
		return w.Mass.SI()
	case MapRig:
		return w.Rig.SI()
	}
	return w.Fall.SI()
}
