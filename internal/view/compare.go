package view

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/jobs"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/store"
)

// CompareOptions say how a campaign is compared.
type CompareOptions struct {
	Confidence float64
	Seed       uint64
	Bootstrap  int  // draws; 0 leaves it out
	Goodness   bool // check each fit by drawing from it
	// Reference names the level of a factor that the others are set against, before what the plan names; AllPairs sets each against every other.
	Reference map[string]string
	AllPairs  bool
}

// against is what levels are set against: as the options name it, else as the plan does.
func (o CompareOptions) against(c *look.Entered, factors []FactorLevels) (compare.Against, error) {
	a := planned(c)
	a.AllPairs = o.AllPairs
	for f, l := range o.Reference {
		i := slices.IndexFunc(factors, func(x FactorLevels) bool { return x.Name == f })
		if i < 0 {
			return a, fmt.Errorf("there is no factor %q that varies in this campaign; there are %s", f, look.Listed(names(factors), 12))
		}
		if !slices.ContainsFunc(factors[i].Levels, func(x string) bool { return compare.SameLevel(x, l) }) {
			return a, fmt.Errorf("there is no level %q of %s; there are %s", l, f, look.Listed(factors[i].Levels, 12))
		}
		a.Reference[f] = l
	}
	return a, nil
}

// planned are the references that the campaign's plan names.
func planned(c *look.Entered) compare.Against {
	a := compare.Against{Reference: map[string]string{}}
	if c.Plan != nil {
		for _, f := range c.Plan.Plan.Factors {
			if f.Reference != "" {
				a.Reference[f.Name] = f.Reference
			}
		}
	}
	return a
}

// Comparison is what a campaign's cells say about each other. The JSON names are stable: names are added, never changed.
type Comparison struct {
	Campaign   string  `json:"campaign"`
	Question   string  `json:"question"`
	Invented   bool    `json:"invented"`
	Confidence float64 `json:"confidence"`
	// Contrasts set levels of one factor against its reference (or each other) within pairs of cells that differ in nothing else.
	Contrasts   []compare.TestedContrast `json:"contrasts"`
	Exploratory message.Sentence         `json:"exploratory"` // said of all of this: it was not asked beforehand
	// NotTested names the levels that no pair of cells sets against anything.
	NotTested []message.Sentence `json:"not_tested"`
	// PeakEffects and StrengthEffects take all factors together.
	PeakEffects     *compare.Effects        `json:"peak_effects"`
	StrengthEffects *compare.Effects        `json:"strength_effects"`
	Strengths       []compare.SpecimenKind  `json:"strengths"`
	StrengthRatios  []compare.StrengthRatio `json:"strength_ratios"`
	// Dependence is how far each strength rests on force and strength being independent.
	Dependence    []compare.Dependence       `json:"dependence"`
	Interference  []compare.CellInterference `json:"interference"`
	Outliers      []compare.Outlier          `json:"outliers"` // flagged, never dropped
	Repeatability []compare.Repeatability    `json:"repeatability"`
	Checks        *compare.CheckChart        `json:"check_drops"`
	Bootstrap     []compare.Resampled        `json:"bootstrap"`
	Warnings      []message.Sentence         `json:"warnings"`
	Cautions      []string                   `json:"cautions"`
	Head          string                     `json:"head"`
}

// Compare makes every comparison that a campaign's drops allow.
func Compare(ctx context.Context, a *look.Access, path string, o CompareOptions) (out *Comparison, err error) {
	err = a.View(ctx, path, func(c *look.Entered, _ store.Reader) error {
		entries := c.Entries()
		cells, err := compare.Cells(entries, o.Confidence)
		if err != nil {
			return err
		}
		if out, err = compareAll(c, entries, cells, o); err != nil || o.Bootstrap <= 0 {
			return err
		}
		return bootstrap(ctx, a, c, cells, out, o)
	})
	return out, err
}

func compareAll(c *look.Entered, entries []compare.Entry, cells []compare.Cell, o CompareOptions) (*Comparison, error) {
	strength := compare.StrengthOptions{Family: censor.Weibull, Confidence: o.Confidence}
	if o.Goodness {
		strength.Source = rand.New(rand.NewPCG(o.Seed, 0x57))
	}
	return compareBy(c, entries, cells, o, strength)
}

// compareBy is compare with the strengths fitted as asked.
func compareBy(c *look.Entered, entries []compare.Entry, cells []compare.Cell, o CompareOptions, strength compare.StrengthOptions) (_ *Comparison, err error) {
	out := &Comparison{Campaign: c.Info.Name, Question: c.Info.Question, Invented: c.Info.Invented, Confidence: o.Confidence, Exploratory: exploratory(c), Bootstrap: []compare.Resampled{}, Warnings: []message.Sentence{}, Cautions: drop.Cautions(), Head: c.Head.Hash.String()}
	for _, cell := range cells {
		out.Warnings = append(out.Warnings, cell.Warnings...)
	}
	out.Warnings = append(out.Warnings, compare.UsedSpecimenWarnings(entries)...)
	against, err := o.against(c, levelsOf(cells))
	if err != nil {
		return nil, err
	}
	out.NotTested = against.Unpaired(cells)
	// None of these needs another; each draws from a stream of its own.
	work := []func() error{
		func() (err error) { out.Strengths, err = compare.SpecimenKinds(entries, strength); return err },
		func() (err error) { out.Contrasts, err = compare.Contrasts(cells, against, o.Seed); return err },
		func() (err error) {
			out.PeakEffects, err = compare.PeakEffects(entries, against, o.Confidence)
			return err
		},
		func() (err error) {
			out.StrengthEffects, err = compare.StrengthEffects(entries, strength.Family, against, o.Confidence)
			return err
		},
	}
	err = jobs.Local(context.Background(), len(work), func() func(context.Context, int) error {
		return func(_ context.Context, i int) error { return work[i]() }
	}, nil)
	if err != nil {
		return nil, err
	}
	out.Dependence = compare.Dependences(entries, out.Strengths)
	out.StrengthRatios = compare.StrengthRatios(out.Strengths, against, o.Confidence)
	if out.Interference, err = compare.Interferences(cells, out.Strengths, o.Confidence, o.Seed); err != nil {
		return nil, err
	}
	out.Outliers = compare.Outliers(cells)
	out.Repeatability = compare.AnalyseRepeatability(entries, cells)
	out.Checks = compare.ChartChecks(entries)
	return out, nil
}

// bootstrapPart is how many draws are handed out at a time.
const bootstrapPart = 100

func bootstrap(ctx context.Context, a *look.Access, c *look.Entered, cells []compare.Cell, out *Comparison, o CompareOptions) error {
	against, err := o.against(c, levelsOf(cells))
	if err != nil {
		return err
	}
	b := compare.NewBootstrap(cells, out.Strengths, against)
	draws := make([][]float64, o.Bootstrap)
	store := make([]float64, o.Bootstrap*b.Figures())
	for i := range draws {
		draws[i] = store[i*b.Figures() : (i+1)*b.Figures()]
	}
	parts := (o.Bootstrap + bootstrapPart - 1) / bootstrapPart
	done := 0
	err = jobs.Local(ctx, parts, func() func(context.Context, int) error {
		return func(_ context.Context, part int) error {
			b.Part(o.Seed, uint64(part), draws[part*bootstrapPart:min(o.Bootstrap, (part+1)*bootstrapPart)])
			return nil
		}
	}, func(int) bool {
		done++
		a.Progress("bootstrap", done, parts)
		return true
	})
	if err != nil {
		return err
	}
	var warnings []message.Sentence
	out.Bootstrap, warnings = b.SumUp(draws, o.Confidence)
	out.Warnings = append(out.Warnings, warnings...)
	return nil
}
