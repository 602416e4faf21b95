package casefile

import (
	"fmt"
	"io"
	"maps"
	"math"
	"slices"

	"github.com/hardcatch/hardcatch/internal/arrest/ensemble"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/traceio/yamlread"
)

type spread struct {
	Normal    string `yaml:"normal"`
	LogNormal string `yaml:"lognormal"`
	Uniform   string `yaml:"uniform"`
	Min       string `yaml:"min"`
	Max       string `yaml:"max"`
}

type correlation struct {
	Between []string `yaml:"between"`
	R       float64  `yaml:"r"`
}

// ReadPlan reads a case with its spread: a width is a quantity of the parameter's dimension, or a share of the
// case's value ("8 %").
func ReadPlan(name string, r io.Reader) (*ensemble.Plan, error) {
	f, places, err := read(name, r)
	if err != nil {
		return nil, err
	}
	p, err := f.plan(name, places)
	if err == nil && len(p.Spreads) == 0 {
		return nil, fmt.Errorf("%s: nothing varies; add for example spread: {fall: {uniform: 10 mm}}, with one of %s", name, ensemble.Names(&p.Case))
	}
	return p, err
}

// plan turns the file into a plan, which may vary nothing.
func (f *file) plan(name string, places yamlread.Places) (*ensemble.Plan, error) {
	p := &ensemble.Plan{Case: f.Case, Seed: f.Seed}
	for _, n := range slices.Sorted(maps.Keys(f.Spread)) {
		at := places.At(name, "spread."+n)
		par, err := ensemble.Find(&p.Case, n)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", at, err)
		}
		sp, err := f.Spread[n].of(n, par.Dim, par.Get(&p.Case))
		if err != nil {
			return nil, fmt.Errorf("%s: %w", at, err)
		}
		p.Spreads = append(p.Spreads, sp)
	}
	for i, k := range f.Correlations {
		if len(k.Between) != 2 {
			return nil, fmt.Errorf("%s: between names two parameters", places.At(name, fmt.Sprintf("correlations[%d]", i)))
		}
		p.Correlations = append(p.Correlations, ensemble.Correlation{Between: [2]string{k.Between[0], k.Between[1]}, R: k.R})
	}
	return p, nil
}

func (s spread) of(name string, dim quantity.Dim, nominal float64) (ensemble.Spread, error) {
	out := ensemble.Spread{Parameter: name, Min: math.Inf(-1), Max: math.Inf(1)}
	n := 0
	for shape, text := range map[ensemble.Shape]string{ensemble.Normal: s.Normal, ensemble.LogNormal: s.LogNormal, ensemble.Uniform: s.Uniform} {
		if text == "" {
			continue
		}
		n++
		out.Shape = shape
		w, err := width(text, dim, nominal)
		if err != nil {
			return out, err
		}
		out.Width = w
	}
	if n != 1 {
		return out, fmt.Errorf("give one of normal, lognormal and uniform")
	}
	for text, to := range map[string]*float64{s.Min: &out.Min, s.Max: &out.Max} {
		if text == "" {
			continue
		}
		v, u, bare, err := quantity.ParseAny(text)
		if err != nil {
			return out, err
		}
		if !bare && u.Dim != dim {
			return out, fmt.Errorf("%q is %s, but %s is wanted here", text, u.Dim, dim)
		}
		*to = v
	}
	return out, nil
}

// width reads "5 %", a quantity, or a bare SI number.
func width(text string, dim quantity.Dim, nominal float64) (float64, error) {
	v, u, bare, err := quantity.ParseAny(text)
	switch {
	case err != nil:
		return 0, err
	case bare, u.Dim == dim && u.Name != "%":
		return v, nil
	case u.Dim == quantity.DimRatio:
		return v * math.Abs(nominal), nil
	}
	return 0, fmt.Errorf("%q is %s, but %s or a share such as 5 %% is wanted here", text, u.Dim, dim)
}
