package element

import (
	"flag"
	"math"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

var update = flag.Bool("update", false, "write the tables of docs/model.md anew")

// one is an element of each kind with starting values, by kind.
func one(t *testing.T) map[Kind]*Element {
	t.Helper()
	x, ok := StartingSet("polyamide-webbing")
	if !ok {
		t.Fatal("no polyamide")
	}
	x.Length = 1
	r, k, a := StartingRig(), StartingKnot(), StartingAbsorber()
	a.Ripple = 0 // a ripple asks for a pitch
	all := map[Kind]*Element{
		KindRig: {Kind: KindRig, Rig: &r}, KindTextile: {Kind: KindTextile, Textile: &x}, KindKnot: {Kind: KindKnot, Knot: &k},
		KindAbsorber: {Kind: KindAbsorber, Absorber: &a}, KindBody: {Kind: KindBody, Body: &Body{Stiffness: 5e4, DampingRatio: 0.3}},
		KindEdge: {Kind: KindEdge, Edge: &Edge{Friction: 0.2, Angle: math.Pi}},
	}
	if len(all) != len(Kinds()) {
		t.Fatalf("%d kinds, of which %d are tried", len(Kinds()), len(all))
	}
	return all
}

// The page says what the descriptions say.
func TestModelPage(t *testing.T) {
	const name = "../../../docs/model.md"
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	page := string(b)
	laws, keys := Page()
	for _, table := range []string{laws, keys} {
		head := table[:strings.Index(table, "\n")+1]
		at := strings.Index(page, head)
		if at < 0 {
			t.Fatalf("%s has no table with the head %q", name, head)
		}
		end := strings.Index(page[at:], "\n\n") + 1
		if found := page[at : at+end]; found != table && !*update {
			t.Errorf("%s has\n%s\nwant\n%s\ngo test ./internal/arrest/element -run ModelPage -update writes it", name, found, table)
		}
		page = page[:at] + table + page[at+end:]
	}
	if *update {
		if err := os.WriteFile(name, []byte(page), 0o644); err != nil { //nolint:gosec // no secret
			t.Fatal(err)
		}
	}
}

// Every key that a case file may have is described, and every key described may stand in a case file.
func TestKeysAreThoseOfACaseFile(t *testing.T) {
	for kind, e := range one(t) {
		want := map[string]bool{}
		v := reflect.ValueOf(e).Elem()
		for i := range v.NumField() {
			if f := v.Field(i); f.Kind() == reflect.Pointer && !f.IsNil() {
				for j := range f.Elem().NumField() {
					want[f.Elem().Type().Field(j).Tag.Get("yaml")] = true
				}
			}
		}
		got := map[string]bool{}
		for _, k := range e.Of().Keys {
			if k.Name != "name" {
				got[k.Name] = true
			}
		}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%s: %v are described, a case file has %v", kind, got, want)
		}
	}
}

// A value outside its range is refused by its name, and the ends of the range are taken or refused as it says.
func TestRanges(t *testing.T) {
	for kind, e := range one(t) {
		if err := e.Validate(); err != nil {
			t.Errorf("%s: %v", kind, err)
		}
		for _, k := range e.Of().Keys {
			if !k.Number() {
				continue
			}
			hi := k.Range.Hi
			if k.Range.most != nil {
				hi = k.Range.most(e)
			}
			tried := map[float64]bool{-1: false, math.NaN(): false, k.Range.Lo: !k.Range.OpenLo}
			if hi < inf {
				tried[hi*(1+1e-9)], tried[hi] = false, !k.Range.OpenHi
			}
			for v, fine := range tried {
				c := e.Clone()
				k.Set(&c, v)
				err := c.Validate()
				refused := err != nil && strings.HasPrefix(err.Error(), k.Name+": ") && strings.HasSuffix(err.Error(), " is not possible; "+k.Range.Way)
				if refused == fine {
					t.Errorf("%s: %s = %g: %v", kind, k.Name, v, err)
				}
			}
			if k.Start != 0 {
				if v, _, _, err := quantity.ParseAny(k.Zero); err != nil || v != k.Start {
					t.Errorf("%s: %s left out is %g, and %q on the page", kind, k.Name, k.Start, k.Zero)
				}
			}
		}
	}
}

// What is changed in a clone stays in the clone, branches too; shares that are left out are wholes.
func TestClonesAndSpreads(t *testing.T) {
	for kind, e := range one(t) {
		keys := e.Spreads()
		if len(keys) == 0 {
			t.Errorf("%s: nothing may be spread", kind)
		}
		for _, k := range keys {
			if !k.Number() {
				continue
			}
			before, c := k.Get(e), e.Clone()
			k.Set(&c, 0.123)
			if k.Get(&c) != 0.123 || k.Get(e) != before {
				t.Errorf("%s: %s is %g in the clone and %g outside, want 0.123 and %g", kind, k.Name, k.Get(&c), k.Get(e), before)
			}
			if k.Share {
				if k.Set(&c, 0); k.Get(&c) != 1 {
					t.Errorf("%s: %s left out is %g, want the whole", kind, k.Name, k.Get(&c))
				}
			}
		}
	}
	names := []string{}
	for _, k := range one(t)[KindTextile].Spreads() {
		names = append(names, k.Name)
	}
	if !slices.Contains(names, "maxwell.E") || !slices.Contains(names, "maxwell.tau") {
		t.Errorf("the branch may not be spread: %v", names)
	}
}

// Energies are the integrals of forces, slopes their derivatives: by Simpson's rule, exact for cubics, and by differences of
// a millionth for the others.
func TestEnergiesAreIntegrals(t *testing.T) {
	simpson := func(f func(float64) float64, to float64, n int) float64 {
		sum, h := 0.0, to/float64(n)
		for i := range n {
			a := float64(i) * h
			sum += h / 6 * (f(a) + 4*f(a+h/2) + f(a+h))
		}
		return sum
	}
	elastic := Elastic{80e3, 20e3, 300e3}
	ripple := TearCurve{4500, 0.1, 2 * math.Pi / 0.015}
	type law struct {
		name         string
		force, work  func(float64) float64
		to           float64
		steps        int
		rel          float64
		c0, c1, c2   float64
		isPolynomial bool
	}
	list := []law{
		{"textile", elastic.Force, elastic.Energy, 0.3, 1, 1e-14, 0, 0, 0, false},
		{"absorber with ripple", ripple.Force, ripple.Work, 0.1, 2000, 1e-12, 0, 0, 0, false},
	}
	even := TearCurve{4500, 0, 0}
	c0, c1, c2, ok := even.Polynomial()
	list = append(list, law{"absorber", even.Force, even.Work, 0.1, 1, 1e-14, c0, c1, c2, ok})
	if _, _, _, ok := ripple.Polynomial(); ok {
		t.Error("a ripple is no polynomial")
	}
	for _, power := range []float64{1, 2, 3, 1.5} {
		k := KnotCurve{F0: 500, DF: 8000, Travel: 0.045, Power: power}
		if power == 1.5 {
			k.Shift = 1e-9
		}
		c0, c1, c2, ok := k.Polynomial()
		if ok != (power <= 2 && power != 1.5) || k.Whole() == (power == 1.5) {
			t.Errorf("power %g: polynomial %v, whole %v", power, ok, k.Whole())
		}
		list = append(list, law{"knot", k.Force, k.Work, 0.04, 4000, 1e-9, c0, c1, c2, ok})
	}
	for _, l := range list {
		if got, want := l.work(l.to), simpson(l.force, l.to, l.steps); math.Abs(got/want-1) > l.rel {
			t.Errorf("%s: work %.15g, integral %.15g", l.name, got, want)
		}
		if p := l.c0 + l.to*(l.c1+l.to*l.c2); l.isPolynomial && math.Abs(p/l.force(l.to)-1) > 1e-14 {
			t.Errorf("%s: polynomial %.15g, force %.15g", l.name, p, l.force(l.to))
		}
	}
	const d = 1e-6
	if got, want := elastic.Slope(0.2), (elastic.Force(0.2+d)-elastic.Force(0.2-d))/(2*d); math.Abs(got/want-1) > 1e-9 {
		t.Errorf("slope %g, difference %g", got, want)
	}
	// By hand: 0.5 of 8.5 kN is reached at the start, all of it at the end, and 45 mm take 45e-3 (500 + 8000/3) J.
	k := StartingKnot()
	c := k.Curve()
	if c.Force(0) != 500 || c.Force(0.045) != 8500 || math.Abs(c.Work(0.045)-142.5) > 1e-9 || k.Behind() != 3e6 {
		t.Errorf("%g N to %g N, %g J", c.Force(0), c.Force(0.045), c.Work(0.045))
	}
}
