package planfile

import (
	"fmt"
	"sort"
	"strings"

	"github.com/hardcatch/hardcatch/internal/plan"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// canonical is the name that a factor has in a drop list.
func canonical(key string) string {
	return strings.ToLower(strings.Join(strings.FieldsFunc(key, func(r rune) bool { return r == '_' || r == ' ' || r == '-' }), " "))
}

func (b *builder) all() []plan.Factor {
	return append(append([]plan.Factor(nil), b.out.Factors...), b.out.Fixed...)
}

// factors reads factors in the order in which they stand in the file, and the fixed conditions.
func (b *builder) factors() error {
	keys := make([]string, 0, len(b.f.Factors))
	for k := range b.f.Factors {
		keys = append(keys, k)
	}
	b.inOrder("factors.", keys)
	for _, k := range keys {
		levels := b.f.Factors[k]
		path := "factors." + k
		if len(levels) == 0 {
			return fault(path, "factor %s has no level; write for example %s: [first, second]", k, k)
		}
		if twice := repeated(levels); twice != "" {
			return fault(path, "level %q of %s stands twice", twice, k)
		}
		for i, l := range levels {
			if err := level(canonical(k), l); err != nil {
				return fault(fmt.Sprintf("%s[%d]", path, i), "%w", err)
			}
		}
		b.out.Factors = append(b.out.Factors, plan.Factor{Name: canonical(k), Levels: levels})
	}
	keys = keys[:0]
	for k := range b.f.Fixed {
		keys = append(keys, k)
	}
	b.inOrder("fixed.", keys)
	for _, k := range keys {
		if err := level(canonical(k), b.f.Fixed[k]); err != nil {
			return fault("fixed."+k, "%w", err)
		}
		b.out.Fixed = append(b.out.Fixed, plan.Factor{Name: canonical(k), Levels: []string{b.f.Fixed[k]}})
	}
	if len(b.out.Factors) == 0 {
		return fault("factors", "no factor is given; write what is varied, for example factors: {knot: [sewn, overhand]}")
	}
	return b.complete()
}

// inOrder sorts keys by their place in the file.
func (b *builder) inOrder(prefix string, keys []string) {
	sort.Slice(keys, func(i, j int) bool {
		p, q := b.places[prefix+keys[i]], b.places[prefix+keys[j]]
		if p.Line != q.Line {
			return p.Line < q.Line
		}
		return p.Column < q.Column
	})
}

// complete sees that each condition a fall needs is there once.
func (b *builder) complete() error {
	where := map[string]bool{}
	for _, f := range b.all() {
		if where[f.Name] {
			return fault("fixed", "%s is given twice, among the factors or the fixed conditions; keep one", f.Name)
		}
		where[f.Name] = true
	}
	for _, need := range []struct{ name, example string }{{plan.Material, "polyamide"}, {plan.Length, "0.9 m"}} {
		if !where[need.name] {
			return fault("factors", "%s is neither a factor nor fixed; write fixed: {%s: %s}", need.name, need.name, need.example)
		}
	}
	if where[plan.Fall] == where[plan.FallFactor] {
		return fault("factors", "give either fall or fall_factor, as a factor or fixed, not both and not neither")
	}
	if !where[plan.Knot] {
		b.out.Fixed = append(b.out.Fixed, plan.Factor{Name: plan.Knot, Levels: []string{"sewn"}})
		b.warn("no knot is given: specimens are taken to be sewn")
	}
	return nil
}

// level checks a level of a factor that carries a quantity.
func level(factor, text string) error {
	if strings.TrimSpace(text) == "" {
		return fmt.Errorf("a level of %s is empty", factor)
	}
	var v, most float64
	var err error
	switch factor {
	case plan.Length:
		var q quantity.Length
		err = q.UnmarshalText([]byte(text))
		v, most = q.SI(), 500
		if err == nil && v == 0 {
			return fmt.Errorf("a length of %s is not possible", text)
		}
	case plan.Fall:
		var q quantity.Length
		err = q.UnmarshalText([]byte(text))
		v, most = q.SI(), 200
	case plan.Mass:
		var q quantity.Mass
		err = q.UnmarshalText([]byte(text))
		v, most = q.SI(), 5000
		if err == nil && v == 0 {
			return fmt.Errorf("a mass of %s is not possible", text)
		}
	case plan.FallFactor:
		var q quantity.Ratio
		err = q.UnmarshalText([]byte(text))
		v, most = q.SI(), 50
	default:
		return nil
	}
	switch {
	case err != nil:
		return err
	case v < 0 || v > most:
		return fmt.Errorf("a %s of %s is not believed; a bare number is SI", factor, text)
	}
	return nil
}

// combinations reads skip and only; every level they name must exist.
func (b *builder) combinations() error {
	known := map[string][]string{}
	for _, f := range b.all() {
		known[f.Name] = f.Levels
	}
	read := func(key string, list []map[string]string) ([]plan.Combination, error) {
		var out []plan.Combination
		for i, m := range list {
			c := plan.Combination{}
			if len(m) == 0 {
				return nil, fault(fmt.Sprintf("%s[%d]", key, i), "an empty combination fits every cell; name at least one factor")
			}
			for k, l := range m {
				path := fmt.Sprintf("%s[%d].%s", key, i, k)
				levels, ok := known[canonical(k)]
				if !ok {
					return nil, fault(path, "%s is no factor of this plan", k)
				}
				if !has(levels, l) {
					return nil, fault(path, "%s has no level %q; it has %s", k, l, strings.Join(levels, ", "))
				}
				c[canonical(k)] = l
			}
			out = append(out, c)
		}
		return out, nil
	}
	var err error
	if b.out.Skip, err = read("skip", b.f.Skip); err != nil {
		return err
	}
	b.out.Only, err = read("only", b.f.Only)
	return err
}

func has(list []string, s string) bool {
	for _, l := range list {
		if l == s {
			return true
		}
	}
	return false
}

// simulated are the factors that the model knows by itself.
var simulated = map[string]bool{plan.Material: true, plan.Length: true, plan.Knot: true, plan.Fall: true, plan.FallFactor: true, plan.Mass: true}

// effects reads what levels do, and says which factors the simulation cannot tell apart.
func (b *builder) effects() error {
	told := map[string]bool{}
	var names []string
	known := map[string][]string{}
	for _, f := range b.all() {
		known[f.Name] = f.Levels
		names = append(names, f.Name)
	}
	var keys []string
	for k := range b.f.Effects {
		keys = append(keys, k)
	}
	b.inOrder("effects.", keys)
	for _, k := range keys {
		f := canonical(k)
		levels, ok := known[f]
		if !ok {
			return fault("effects."+k, "%s is no factor of this plan; there are %s", k, strings.Join(names, ", "))
		}
		told[f] = true
		for l := range b.f.Effects[k] {
			if !has(levels, l) {
				return fault("effects."+k+"."+l, "%s has no level %q; it has %s", k, l, strings.Join(levels, ", "))
			}
		}
		for _, l := range levels {
			e, ok := b.f.Effects[k][l]
			if !ok {
				continue
			}
			x := plan.Effect{Factor: f, Level: l, Strength: or(e.Strength, 1), Stiffness: or(e.Stiffness, 1)}
			if x.Strength <= 0 || x.Strength > 10 || x.Stiffness <= 0 || x.Stiffness > 10 {
				return fault("effects."+k+"."+l, "strength and stiffness are shares of what they would be, above 0 and up to 1000 %%")
			}
			b.out.Effects = append(b.out.Effects, x)
		}
	}
	for _, f := range b.out.Factors {
		if !simulated[f.Name] && !told[f.Name] && len(f.Levels) > 1 {
			b.warn("factor %s: the simulation does not know what it does; the forecasts of its levels are the same (effects: says what it does)", f.Name)
		}
	}
	return nil
}
