package foresee

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/arrest/ensemble"
	"github.com/hardcatch/hardcatch/internal/jobs"
	"github.com/hardcatch/hardcatch/internal/limits"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/traceio/casefile"
)

// assumedSpread is the coefficient of variation of a strength that states none. Common practice, no source.
const assumedSpread = 0.08

const (
	firstDraws = 20000     // behind "goes first", where a drop is quick
	firstWork  = 8_000_000 // steps that they may take together: some seconds
	slackDrops = 20        // that the search for a slack takes
	mostWork   = 8_000_000 // steps that the least number of drops may take
)

// firsts is how often each component is the weakest and weaker than the force in the chain.
type firsts struct {
	share    []float64
	n, open  int
	envelope *ensemble.Envelope
	warnings []string
}

// goesFirst draws falls and strengths together, by the spreads and correlations of the case: each strength is that of the element
// as it was drawn (what age has left of a textile, and its knot of that, in it), and all carry the force in the chain. A strength that states no
// spread varies normally by assumedSpread, a textile and the knots tied in it together.
func goesFirst(ctx context.Context, a *look.Access, plan *ensemble.Plan, components []casefile.Component) (*firsts, error) {
	w, err := ensemble.NewWorker(plan)
	if err != nil {
		return nil, err
	}
	out := &firsts{n: firstDraws, share: make([]float64, len(components)), warnings: truncated(plan)}
	var nominal arrest.Summary
	if err := w.Nominal(ctx, &nominal); err != nil {
		return nil, err
	}
	needed := slackDrops * len(components)
	if len(plan.Spreads) > 0 {
		needed += ensemble.PartSize
	}
	if nominal.Work()*needed > mostWork {
		return nil, fmt.Errorf("one drop takes the work of %d steps, and %d drops are needed: that would take minutes; a node so light on a rig so stiff changes the force by next to nothing: give node_mass: 0, a heavier node or a softer rig", nominal.Work(), needed)
	}
	if len(plan.Spreads) > 0 && nominal.Work()*firstDraws > firstWork {
		out.n = max(1, firstWork/nominal.Work()/ensemble.PartSize) * ensemble.PartSize
		out.warnings = append(out.warnings, fmt.Sprintf("each drop takes %d steps, because its fastest part is so fast: \"goes first\" is from %d draws only", nominal.Steps, out.n))
	}
	drawn := map[string]bool{}
	for _, s := range plan.Spreads {
		drawn[s.Parameter] = true
	}
	assumed := false
	for _, c := range components {
		assumed = assumed || c.Limit.Kind == limits.Strength && c.Spread == 0 && !drawn[c.Of]
	}
	if assumed {
		out.warnings = append(out.warnings, fmt.Sprintf("strengths without a spread of their own are taken to vary by %g %% (common practice, no source)", 100*assumedSpread))
	}
	parts := (out.n + ensemble.PartSize - 1) / ensemble.PartSize
	count, open := make([][]int, parts), make([]int, parts)
	done := 0
	err = jobs.Local(ctx, parts, func() func(context.Context, int) error {
		w, err := ensemble.NewWorker(plan)
		drops := make([]ensemble.Outcome, ensemble.PartSize)
		return func(ctx context.Context, part int) error {
			if err != nil {
				return err
			}
			drops := drops[:min(ensemble.PartSize, out.n-part*ensemble.PartSize)]
			if len(plan.Spreads) == 0 {
				for i := range drops {
					drops[i] = ensemble.Outcome{Chain: nominal.PeakChain.SI()}
				}
			} else if err := w.WithContext(ctx).Part(part, drops); err != nil {
				return err
			}
			rng := rand.New(rand.NewPCG(plan.Seed^0xc4a1, uint64(part)))
			count[part] = make([]int, len(components))
			for i, o := range drops {
				if weakest, least := weakestOf(components, w.Drawn(i), drawn, rng); weakest >= 0 && least < o.Chain {
					count[part][weakest]++
				}
				if !o.Certainty().Passed() {
					open[part]++
				}
			}
			return nil
		}
	}, func(int) bool {
		done++
		a.Progress("drops", min(done*ensemble.PartSize, out.n), out.n)
		return true
	})
	if err != nil {
		return nil, err
	}
	for part := range parts {
		out.open += open[part]
		for i, k := range count[part] {
			out.share[i] += float64(k) / float64(out.n)
		}
	}
	if out.envelope, err = ensemble.CheckEnvelope(ctx, plan); err != nil {
		return nil, err
	}
	if out.envelope != nil {
		out.warnings = append(out.warnings, out.envelope.Say().String())
	}
	return out, nil
}

// weakestOf draws the strength of every component for a drawn case, and finds the weakest.
func weakestOf(components []casefile.Component, c *arrest.Case, drawn map[string]bool, rng *rand.Rand) (weakest int, least float64) {
	weakest, least = -1, math.Inf(1)
	factor := map[string]float64{} // of each textile without a spread of its strength
	for i, k := range components {
		if k.Limit.Kind != limits.Strength {
			continue
		}
		s := k.Limit.Value.SI()
		if k.Place >= 0 {
			s = c.StrengthOf(k.Place).SI() / c.ShareOf(k.Place) // by the force on the mass's side of an edge
		}
		if !drawn[k.Of] {
			f, ok := factor[k.Of]
			if !ok || k.Of == "" {
				cv := k.Spread.SI()
				if cv == 0 {
					cv = assumedSpread
				}
				f = 1 + cv*rng.NormFloat64()
			}
			if factor[k.Of] = f; k.Of == "" {
				delete(factor, k.Of)
			}
			s *= f
		}
		if s < least {
			weakest, least = i, s
		}
	}
	return weakest, least
}

// truncated says which spreads are cut off where a share would come out above the whole.
func truncated(plan *ensemble.Plan) []string {
	var out []string
	for _, s := range plan.Spreads {
		if p := plan.Cut(s); p > 5e-5 {
			what := strings.TrimSuffix(s.Parameter[strings.LastIndex(s.Parameter, ".")+1:], ".")
			out = append(out, fmt.Sprintf("%s: %.2g %% of the draws came out above 1 or at nothing and were drawn again, since no %s does; give min and max to say otherwise", s.Parameter, 100*p, what))
		}
	}
	return out
}
