package planfile

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/plan"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/traceio/questionfile"
	"github.com/hardcatch/hardcatch/internal/traceio/yamlread"
)

func (b *builder) all() []plan.Factor {
	return append(append([]plan.Factor(nil), b.out.Factors...), b.out.Fixed...)
}

// factors reads factors in the order in which they stand in the file, and the fixed conditions.
func (b *builder) factors() error {
	for _, k := range inOrder(b.places, "factors.", b.f.Factors) {
		levels := b.f.Factors[k]
		path := "factors." + k
		if len(levels) == 0 {
			return fault(path, "factor %s has no level; write for example %s: [first, second]", k, k)
		}
		if twice := repeated(levels); twice != "" {
			return fault(path, "level %q of %s stands twice", twice, k)
		}
		for i, l := range levels {
			if err := level(drop.PlainName(k), l); err != nil {
				return fault(fmt.Sprintf("%s[%d]", path, i), "%w", err)
			}
		}
		b.out.Factors = append(b.out.Factors, plan.Factor{Name: drop.PlainName(k), Levels: levels})
	}
	for _, k := range inOrder(b.places, "reference.", b.f.Reference) {
		i := slices.IndexFunc(b.out.Factors, func(f plan.Factor) bool { return f.Name == drop.PlainName(k) })
		if i < 0 {
			return fault("reference."+k, "there is no factor %s; a reference is a level of what is varied", k)
		}
		f := &b.out.Factors[i]
		if f.Reference = b.f.Reference[k]; !slices.Contains(f.Levels, f.Reference) {
			return fault("reference."+k, "there is no level %q of %s; there are %s", f.Reference, k, strings.Join(f.Levels, ", "))
		}
	}
	for _, k := range inOrder(b.places, "fixed.", b.f.Fixed) {
		if err := level(drop.PlainName(k), b.f.Fixed[k]); err != nil {
			return fault("fixed."+k, "%w", err)
		}
		b.out.Fixed = append(b.out.Fixed, plan.Factor{Name: drop.PlainName(k), Levels: []string{b.f.Fixed[k]}})
	}
	if len(b.out.Factors) == 0 {
		return fault("factors", "no factor is given; write what is varied, for example factors: {knot: [sewn, overhand]}")
	}
	return b.complete()
}

// inOrder are keys in the order in which they stand in the file.
func inOrder[V any](places yamlread.Places, prefix string, m map[string]V) []string {
	return slices.SortedFunc(maps.Keys(m), func(a, b string) int {
		p, q := places[prefix+a], places[prefix+b]
		return cmp.Or(cmp.Compare(p.Line, q.Line), cmp.Compare(p.Column, q.Column))
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
	for k, list := range [][]plan.Combination{b.out.Skip, b.out.Only} {
		key := []string{"skip", "only"}[k]
		for i, m := range list {
			c := plan.Combination{}
			if len(m) == 0 {
				return fault(fmt.Sprintf("%s[%d]", key, i), "an empty combination fits every cell; name at least one factor")
			}
			for k, l := range m {
				path := fmt.Sprintf("%s[%d].%s", key, i, k)
				levels, ok := known[drop.PlainName(k)]
				if !ok {
					return fault(path, "%s is no factor of this plan; there are %s", k, b.names())
				}
				if !slices.Contains(levels, l) {
					return fault(path, "%s has no level %q; it has %s", k, l, strings.Join(levels, ", "))
				}
				c[drop.PlainName(k)] = l
			}
			list[i] = c
		}
	}
	return nil
}

// names are those of all factors, as an error lists them.
func (b *builder) names() string {
	var names []string
	for _, f := range b.all() {
		names = append(names, f.Name)
	}
	return strings.Join(names, ", ")
}

// simulated are the factors that the model knows by itself.
var simulated = map[string]bool{plan.Material: true, plan.Length: true, plan.Knot: true, plan.Fall: true, plan.FallFactor: true, plan.Mass: true}

// effects reads what levels do, and says which factors the simulation cannot tell apart.
func (b *builder) effects() error {
	told := map[string]bool{}
	known := map[string][]string{}
	for _, f := range b.all() {
		known[f.Name] = f.Levels
	}
	for _, k := range inOrder(b.places, "effects.", b.f.Effects) {
		f := drop.PlainName(k)
		levels, ok := known[f]
		if !ok {
			return fault("effects."+k, "%s is no factor of this plan; there are %s", k, b.names())
		}
		told[f] = true
		for l := range b.f.Effects[k] {
			if !slices.Contains(levels, l) {
				return fault("effects."+k+"."+l, "%s has no level %q; it has %s", k, l, strings.Join(levels, ", "))
			}
		}
		for _, l := range levels {
			x, ok := b.f.Effects[k][l]
			if !ok {
				continue
			}
			x.Factor, x.Level = f, l
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

// questions reads what is asked with a rule; every level it names must be planned.
func (b *builder) questions() error {
	all, at, err := questionfile.All(b.f.Questions)
	if err != nil {
		return fault(at, "%w", err)
	}
	known := map[string][]string{}
	for _, f := range b.all() {
		known[f.Name] = f.Levels
	}
	for i, q := range all {
		for field, levels := range map[string]map[string]string{"where": q.Where, "against": q.Against} {
			for f, l := range levels {
				path := fmt.Sprintf("questions[%d].%s", i, field)
				have, ok := known[f]
				if !ok && derived[f] {
					continue
				}
				if !ok {
					return fault(path, "%s is no factor of this plan; there are %s", f, b.names())
				}
				if !slices.ContainsFunc(have, func(k string) bool { return drop.SameLevel(k, l) }) {
					return fault(path, "%s has no level %q; it has %s", f, l, strings.Join(have, ", "))
				}
			}
		}
	}
	b.out.Questions = all
	if len(all) == 0 {
		b.warn("no question with a rule is asked: what would count as yes is then said after the drops (questions: says it before)")
	}
	return nil
}

// derived are levels that a drop has although no plan needs to name them.
var derived = map[string]bool{plan.Fall: true, plan.FallFactor: true, plan.Conditioned: true, "construction": true, plan.Mass: true}
