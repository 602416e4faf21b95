package foresee

import (
	"context"
	"fmt"
	"io"
	"math"
	"math/rand/v2"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/arrest/ensemble"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/limits"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/traceio/casefile"
)

// assumedSpread is the coefficient of variation of a strength that states none. Common practice, no source.
const assumedSpread = 0.08

// ChainResult is every component of a chain against its rating, for one fall.
type ChainResult struct {
	Peak       quantity.Force   `json:"peak_N"` // with nothing allowed to part
	Fall       quantity.Length  `json:"fall_m"`
	Components []ChainComponent `json:"components"`
	Statements []string         `json:"statements"`
	Drops      int              `json:"drops"` // behind the probabilities
	Warnings   []string         `json:"warnings"`
	Cautions   []string         `json:"cautions"`
}

// ChainComponent is one component. Slack is the largest free fall whose peak stays within the limit.
type ChainComponent struct {
	Name    string           `json:"name"`
	Limit   quantity.Force   `json:"limit_N"`
	Kind    limits.Kind      `json:"kind"`
	Edition string           `json:"edition,omitempty"`
	Source  string           `json:"source"`
	Peak    quantity.Force   `json:"peak_N"`
	Margin  quantity.Ratio   `json:"margin"` // limit over peak, less one
	First   float64          `json:"goes_first_probability"`
	Slack   *quantity.Length `json:"slack_m"` // null: see Note
	Note    string           `json:"note"`
}

// Chain checks one fall against every component's rating.
func Chain(ctx context.Context, a *look.Access, name string, r io.Reader) (*ChainResult, error) {
	plan, components, err := casefile.ReadChain(name, r)
	if err != nil {
		return nil, err
	}
	if len(components) == 0 {
		return nil, fmt.Errorf("%s: no component has a strength; give textile, absorber or components one", name)
	}
	spreads := strengthSpreads(plan, components)
	unbroken(&plan.Case)
	var e arrest.Engine
	var sum arrest.Summary
	if err := e.Drop(&plan.Case, &sum); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	res := &ChainResult{Peak: sum.PeakForce, Fall: plan.Case.Fall, Statements: []string{}, Warnings: []string{}, Cautions: drop.Cautions()}
	first, n, err := goesFirst(ctx, a, plan, components, spreads)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	res.Drops = n
	assumed := false
	for i, c := range components {
		row := ChainComponent{Name: c.Name, Limit: c.Limit.Value, Kind: c.Limit.Kind, Edition: c.Limit.Edition, Source: c.Limit.Source, Peak: sum.PeakForce, Margin: quantity.Ratio(c.Limit.Value.SI()/sum.PeakForce.SI() - 1), First: first[i]}
		if c.Starting {
			row.Source = "starting value, no rating"
		}
		assumed = assumed || c.Spread == 0 && spreads[i] == nil && c.Limit.Kind == limits.Strength
		if row.Slack, row.Note, err = slackTo(&e, plan.Case, c.Limit.Value); err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		if row.Slack != nil {
			res.Statements = append(res.Statements, fmt.Sprintf("%s of slack reaches the %s of %s", row.Slack.Text(3), c.Limit.Value.Text(3), c.Name))
		}
		res.Components = append(res.Components, row)
	}
	if len(plan.Correlations) > 0 {
		res.Warnings = append(res.Warnings, "correlations are not used by the chain check")
	}
	if assumed {
		res.Warnings = append(res.Warnings, fmt.Sprintf("strengths without a spread of their own are taken to vary by %g %% (common practice, no source)", 100*assumedSpread))
	}
	return res, nil
}

// unbroken takes away every strength, so that the peak is what the fall asks for.
func unbroken(c *arrest.Case) {
	for i := range c.Chain {
		if t := c.Chain[i].Textile; t != nil {
			t.Strength = 0
		}
		if b := c.Chain[i].Absorber; b != nil {
			b.Strength = 0
		}
	}
}

// slackTo finds by bisection the free fall whose peak is the limit, up to twice the length of the textiles (and
// at least 4 m), to 0.1 mm.
func slackTo(e *arrest.Engine, c arrest.Case, limit quantity.Force) (*quantity.Length, string, error) {
	length := 0.0
	for _, el := range c.Chain {
		if el.Textile != nil {
			length += el.Textile.Length.SI()
		}
	}
	peak := func(h float64) (float64, error) {
		var s arrest.Summary
		c.Fall, c.Speed = quantity.Length(h), 0
		err := e.Drop(&c, &s)
		return s.PeakForce.SI(), err
	}
	lo, hi := 0.0, math.Max(4, 2*length)
	at, err := peak(lo)
	if err != nil {
		return nil, "", err
	}
	if at >= limit.SI() {
		return nil, "passed by the sudden load alone, without any slack", nil
	}
	if at, err = peak(hi); err != nil {
		return nil, "", err
	}
	if at < limit.SI() {
		return nil, fmt.Sprintf("not reached up to %s of free fall", quantity.Length(hi).Text(2)), nil
	}
	for hi-lo > 1e-4 {
		mid := (lo + hi) / 2
		if at, err = peak(mid); err != nil {
			return nil, "", err
		}
		if at < limit.SI() {
			lo = mid
		} else {
			hi = mid
		}
	}
	// Rounded down to what is printed: a centimetre, or a millimetre below 0.1 m.
	step := 0.01
	if lo < 0.1 {
		step = 0.001
	}
	s := quantity.Length(math.Floor(lo/step) * step)
	return &s, "", nil
}

// goesFirst is the probability that each component is the weakest and weaker than the peak: all carry the same
// force, the peak varies as the plan says, each strength normally.
func goesFirst(ctx context.Context, a *look.Access, plan *ensemble.Plan, components []casefile.Component, spreads []*ensemble.Spread) ([]float64, int, error) {
	const n = 20000
	peaks := make([]ensemble.Outcome, n)
	if len(plan.Spreads) > 0 {
		p := *plan
		p.Spreads = nil
		for _, s := range plan.Spreads {
			// Strengths are drawn below, so that nothing parts before the peak is known.
			if !isStrength(s.Parameter) {
				p.Spreads = append(p.Spreads, s)
			}
		}
		p.Correlations = nil
		var err error
		if peaks, _, err = drops(ctx, a, &p, EnsembleOptions{N: n}); err != nil {
			return nil, 0, err
		}
	} else {
		var e arrest.Engine
		var s arrest.Summary
		if err := e.Drop(&plan.Case, &s); err != nil {
			return nil, 0, fmt.Errorf("fall: %w", err)
		}
		for i := range peaks {
			peaks[i].Peak = s.PeakForce.SI()
		}
	}
	rng := rand.New(rand.NewPCG(plan.Seed, 0xc4a1))
	count := make([]float64, len(components))
	u := map[string]float64{}
	for _, p := range peaks {
		weakest, least := -1, math.Inf(1)
		// One draw for each parameter: a knot is as strong as its textile allows.
		clear(u)
		for i, c := range components {
			if c.Limit.Kind != limits.Strength {
				continue
			}
			s, err := strength(c, spreads[i], u, rng)
			if err != nil {
				return nil, 0, err
			}
			if s < least {
				weakest, least = i, s
			}
		}
		if weakest >= 0 && least < p.Peak {
			count[weakest]++
		}
	}
	for i := range count {
		count[i] /= n
	}
	return count, n, nil
}

// strengthSpreads finds the spread that the case gives to each component's strength, nil where it gives none.
func strengthSpreads(plan *ensemble.Plan, components []casefile.Component) []*ensemble.Spread {
	out := make([]*ensemble.Spread, len(components))
	for i, c := range components {
		for k := range plan.Spreads {
			if c.Of != "" && plan.Spreads[k].Parameter == c.Of {
				out[i] = &plan.Spreads[k]
			}
		}
	}
	return out
}

// strength draws the strength of a component; components that follow the same parameter share the draw in u.
func strength(c casefile.Component, sp *ensemble.Spread, u map[string]float64, rng *rand.Rand) (float64, error) {
	if sp != nil {
		p, ok := u[c.Of]
		if !ok {
			p = (float64(rng.Uint64()>>11) + 0.5) / (1 << 53)
			u[c.Of] = p
		}
		v, err := sp.Draw(c.Limit.Value.SI()/c.Share, p)
		return v * c.Share, err
	}
	cv := c.Spread.SI()
	if cv == 0 {
		cv = assumedSpread
	}
	return c.Limit.Value.SI() * (1 + cv*rng.NormFloat64()), nil
}

func isStrength(parameter string) bool {
	const tail = ".strength"
	return len(parameter) > len(tail) && parameter[len(parameter)-len(tail):] == tail
}
