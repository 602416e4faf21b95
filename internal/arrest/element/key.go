package element

import (
	"fmt"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Key is one value of an element as a case file has it.
type Key struct {
	Name   string
	Writes string // how the page writes it, where that is more than its name
	Dim    quantity.Dim
	Range  Range
	Zero   string  // what is taken where it is left out or 0; "" = it must be given
	Start  float64 // that value in SI, where it is a number other than 0
	Source string  // where that value is from
	// Spreads: an ensemble may vary it. Share: it is what is left of a whole, which stands where it is left out.
	Spreads, Share bool

	get func(e *Element) float64
	set func(e *Element, v float64)
}

// Range is what a value may be, and the way out where it is not.
type Range struct {
	Lo, Hi         float64
	OpenLo, OpenHi bool // the end itself is not allowed
	Way            string
	most           func(e *Element) float64 // instead of Hi, where another key says it
}

// Number tells that the key is one number, which Get and Set reach.
func (k *Key) Number() bool { return k.get != nil }

// Get is the value in SI; of a share that is left out, 1.
func (k *Key) Get(e *Element) float64 {
	if v := k.get(e); v != 0 || !k.Share {
		return v
	}
	return 1
}

// Set changes the value.
func (k *Key) Set(e *Element, v float64) {
	k.set(e, v)
}

// number makes the key that writes into a field of an element.
func number[E any, Q ~float64](name string, dim quantity.Dim, of func(e *Element) *E, field func(x *E) *Q, r Range, more func(k *Key)) Key {
	k := Key{
		Name: name, Dim: dim, Range: r,
		get: func(e *Element) float64 { return float64(*field(of(e))) },
		set: func(e *Element, v float64) { *field(of(e)) = Q(v) },
	}
	if more != nil {
		more(&k)
	}
	return k
}

// The usual ranges.
func above(way string) Range                               { return Range{0, inf, true, true, way, nil} }
func from(way string) Range                                { return Range{0, inf, false, true, way, nil} }
func upTo(hi float64, way string) Range                    { return Range{0, hi, false, false, way, nil} }
func aboveTo(hi float64, way string) Range                 { return Range{0, hi, true, false, way, nil} }
func below(hi float64, way string) Range                   { return Range{0, hi, false, true, way, nil} }
func within(hi func(e *Element) float64, way string) Range { return Range{0, 0, false, false, way, hi} }

// What is said of a key besides its range.
func spreads(k *Key) { k.Spreads = true }
func share(k *Key)   { k.Spreads, k.Share = true, true }

// zero says what stands where the key is left out.
func zero(says, source string) func(k *Key) { return func(k *Key) { k.Zero, k.Source = says, source } }

// start is zero for a number that is taken instead.
func start(v float64, says, source string) func(k *Key) {
	return func(k *Key) { k.Start, k.Zero, k.Source = v, says, source }
}

// all puts several together.
func all(list ...func(k *Key)) func(k *Key) {
	return func(k *Key) {
		for _, f := range list {
			f(k)
		}
	}
}

const common = "common practice, no source"

// holds tells whether v lies in the range.
func (r Range) holds(v float64) bool {
	low := v < r.Lo || r.OpenLo && v == r.Lo
	high := v > r.Hi || r.OpenHi && v == r.Hi
	return !bad(v) && !low && !high
}

// Value is a number with the range it must lie in.
type Value struct {
	Name  string
	V     float64
	Range Range
}

// Check reports the first value that lies outside its range.
func Check(list ...Value) error {
	for _, l := range list {
		if !l.Range.holds(l.V) {
			return fmt.Errorf("%s: %g is not possible; %s", l.Name, l.V, l.Range.Way)
		}
	}
	return nil
}

// Validate reports the first value of the element that the engine cannot work with.
func (e *Element) Validate() error {
	set := 0
	for _, d := range kinds {
		if d.given(e) {
			set++
		}
	}
	if set != 1 {
		return fmt.Errorf("exactly one of %s must be given, not %d", names(" and "), set)
	}
	d := e.Of()
	if d == nil {
		return fmt.Errorf("its kind %q does not fit what is given", e.Kind)
	}
	for i := range d.Keys {
		k := &d.Keys[i]
		if !k.Number() {
			continue
		}
		r := k.Range
		if r.most != nil {
			r.Hi = r.most(e)
		}
		if err := Check(Value{k.Name, k.get(e), r}); err != nil {
			return err
		}
	}
	if d.check != nil {
		return d.check(e)
	}
	return nil
}

// StandsAt reports an element that stands where its kind may not.
func (e *Element) StandsAt(i, of int) error {
	d := e.Of()
	if d.Place == AtAnchor && i != 0 || d.Place == AtMass && i != of-1 {
		return fmt.Errorf("%s", d.Wrong)
	}
	return nil
}
