package view

import (
	"context"
	"crypto/sha256"
	"fmt"
	"math/rand/v2"
	"slices"
	"sort"
	"strings"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// ComparisonOptions say how a campaign is compared to be looked at. The zero value is what the command compare does, less the
// check of each fit.
type ComparisonOptions struct {
	CompareOptions
	Measure   string            // key, "" = peak
	Along     string            // factor along the axis, "" = chosen
	By        string            // factor that is asked about, "" = chosen, "none" = none
	Only      map[string]string // factor: level; other drops are left out
	Dist      string            // family of the strengths, "" = weibull
	Quantiles []float64         // of the strengths, empty = the usual ones
	Goodness  bool              // check each fit by drawing from it
	In        message.Locale    // language of the drawings
}

// mostDraws is how many draws a page makes; the command makes more.
const mostDraws = 20000

// ComparisonView is a comparison with what is needed to look at it. The JSON names are stable: names are added, never changed.
type ComparisonView struct {
	Comparison
	Measure  Measured          `json:"measure"`
	Along    string            `json:"along"`
	By       string            `json:"by"`
	Only     map[string]string `json:"only"`
	Dist     string            `json:"dist"`
	Seed     uint64            `json:"seed"`
	Measures []Measured        `json:"measures"` // that can be chosen
	Factors  []FactorLevels    `json:"factors"`  // that vary in the campaign
	// Differences are the contrasts in three respects: strength, measure, odds of breaking; those of By first.
	Differences []compare.Difference `json:"differences"`
	// MeasureEffects takes all factors together; of the peak force it is peak_effects.
	MeasureEffects *compare.Effects `json:"measure_effects"`
	Cells          []ComparedCell   `json:"cells"`
	// Rated sets what broke against the rating of the specimens, by the factor asked about; empty where no rating is given.
	Rated []Rated `json:"against_rating"`
	// LeftOut counts the trial drops that Only leaves out.
	LeftOut int `json:"left_out"`
	// Unshown counts the groups of cells and of kinds that are in the tables and not drawn.
	Unshown int `json:"groups_not_drawn"`

	Figures ComparisonFigures `json:"-"`
}

// FactorLevels are the levels of a factor, in their order.
type FactorLevels struct {
	Name   string   `json:"name"`
	Levels []string `json:"levels"`
}

// Rated counts the specimens of one level that broke below their rating.
type Rated struct {
	Level  string `json:"level"`
	Rating string `json:"rating"` // "22 kN", or "each" where they differ
	N      int    `json:"n"`      // valid drops of specimens with a rating
	Broke  int    `json:"broke"`
	Below  int    `json:"broke_below"`
}

// ComparedCell is a cell with the measure that is compared.
type ComparedCell struct {
	compare.Cell
	Number   int                  `json:"number"` // of its page, 0 = none
	Measured compare.MeasuredCell `json:"measured"`
}

// Contrast is what a contrast shows in each respect.
type Contrast struct {
	compare.TestedContrast
	Strength, Measure, Breaks compare.Difference
}

// Contrasted joins the contrasts with their differences, those of the factor asked about first.
func (v *ComparisonView) Contrasted() []Contrast {
	tested := map[[3]string]compare.TestedContrast{}
	for _, t := range v.Contrasts {
		tested[[3]string{t.Factor, t.A, t.B}] = t
	}
	var out []Contrast
	for i := 0; i+2 < len(v.Differences); i += 3 {
		d := v.Differences[i]
		out = append(out, Contrast{tested[[3]string{d.Factor, d.A, d.B}], d, v.Differences[i+1], v.Differences[i+2]})
	}
	return out
}

// MeasuredEffects are the effects on the measure shown.
func (v *ComparisonView) MeasuredEffects() *compare.Effects {
	if v.MeasureEffects != nil {
		return v.MeasureEffects
	}
	return v.PeakEffects
}

// ComparisonOf compares the campaign as it is now, once for each way of asking until what it stands on changes.
func ComparisonOf(ctx context.Context, s *look.Campaign, o ComparisonOptions) (*ComparisonView, error) {
	if o.Bootstrap > mostDraws {
		return nil, fmt.Errorf("%d draws are too many for a page; ask for %d at most, or use: hardcatch compare FILE --bootstrap %d", o.Bootstrap, mostDraws, o.Bootstrap)
	}
	if o.Confidence == 0 {
		o.Confidence = look.Confidence
	}
	if o.Seed == 0 {
		o.Seed = 1
	}
	st, err := Of(ctx, s)
	if err != nil {
		return nil, err
	}
	mark, err := look.RememberedAs(s, "drops compared", st.Head, func() ([sha256.Size]byte, error) { return st.comparisonMark(), nil })
	if err != nil {
		return nil, err
	}
	// A decision that leaves the outcomes as they are changes nothing that was tested.
	v, err := look.RememberedAlone(s, "comparison "+o.text(), mark, func() (*ComparisonView, error) { return compareAnew(ctx, s, st, o) })
	if err != nil {
		return nil, err
	}
	type drawings struct {
		f       ComparisonFigures
		unshown int
	}
	d, err := look.RememberedAs(s, "comparison drawn "+o.In.Lang()+" "+o.text(), mark, func() (d drawings, err error) {
		c := *v
		d.f, err = st.comparisonFigures(&c, o.In)
		d.unshown = c.Unshown
		return d, err
	})
	if err != nil {
		return nil, err
	}
	out := *v
	out.Figures, out.Unshown = d.f, d.unshown
	out.Campaign, out.Question, out.Invented, out.Head = st.Info.Name, st.Info.Question, st.Info.Invented, st.Head.Hash.String()
	out.Cells = slices.Clone(v.Cells)
	for i := range out.Cells {
		out.Cells[i].Drops = slices.Clone(out.Cells[i].Drops)
		for k, d := range out.Cells[i].Drops {
			out.Cells[i].Drops[k] = st.Drops[st.Find(d.Drop)].Row
		}
	}
	return &out, nil
}

func compareAnew(ctx context.Context, s *look.Campaign, st *Campaign, o ComparisonOptions) (*ComparisonView, error) {
	v, err := st.compare(o)
	if err != nil {
		return nil, err
	}
	if o.Bootstrap > 0 {
		cells := make([]compare.Cell, len(v.Cells))
		for i, c := range v.Cells {
			cells[i] = c.Cell
		}
		if err := bootstrap(ctx, s.Access, st.Entered, cells, &v.Comparison, o.CompareOptions); err != nil {
			return nil, err
		}
	}
	return v, nil
}

// comparisonMark names all that a comparison stands on, but for who decided and why.
func (st *Campaign) comparisonMark() [sha256.Size]byte {
	h := sha256.New()
	for _, e := range st.Entered.Entries() {
		e.Reason, e.Decided = "", false
		_, _ = fmt.Fprintf(h, "%#v %d\n", e, st.Entered.RedSeq[e.Drop.ID]) // a hash takes everything
	}
	_, _ = fmt.Fprintf(h, "%v", linesFor(st.Results, 4, message.English()))
	return [sha256.Size]byte(h.Sum(nil))
}

// text is the same for the same way of asking.
func (o ComparisonOptions) text() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%q %q %v %v %q %q %g %d %d %v %v", o.Measure, o.Along, o.Reference, o.AllPairs, o.By, o.Dist, o.Confidence, o.Seed, o.Bootstrap, o.Quantiles, o.Goodness)
	var keys []string
	for k := range o.Only {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	for _, k := range keys {
		fmt.Fprintf(&b, " %q=%q", k, o.Only[k])
	}
	return b.String()
}

func (st *Campaign) compare(o ComparisonOptions) (*ComparisonView, error) {
	m, err := measureBy(o.Measure)
	if err != nil {
		return nil, err
	}
	family := censor.Weibull
	if o.Dist != "" {
		if family, err = censor.ParseFamily(o.Dist); err != nil {
			return nil, err
		}
	}
	v := &ComparisonView{Measure: m, Dist: family.String(), Seed: o.Seed, Measures: measures, Rated: []Rated{}, Only: o.Only, Cells: []ComparedCell{}}
	if v.Only == nil {
		v.Only = map[string]string{}
	}
	entries := st.Entered.Entries()
	if v.Factors, err = factorLevels(entries); err != nil {
		return nil, err
	}
	entries, v.LeftOut, err = only(entries, o.Only, v.Factors)
	if err != nil {
		return nil, err
	}
	cells, err := compare.Cells(entries, o.Confidence)
	if err != nil {
		return nil, err
	}
	if err := v.choose(o, cells); err != nil {
		return nil, err
	}
	strength := compare.StrengthOptions{Family: family, Confidence: o.Confidence, Quantiles: o.Quantiles}
	if o.Goodness {
		strength.Source = rand.New(rand.NewPCG(o.Seed, 0x57))
	}
	out, err := compareBy(st.Entered, entries, cells, o.CompareOptions, strength)
	if err != nil {
		return nil, err
	}
	v.Comparison = *out
	reads := reads(st.Entered, m)
	if v.Differences, err = compare.Differences(cells, out.Contrasts, m.Name, reads, family, o.Confidence, o.Seed); err != nil {
		return nil, err
	}
	sort.SliceStable(v.Differences, func(i, j int) bool { return v.Differences[i].Factor == v.By && v.Differences[j].Factor != v.By })
	if m.Name != compare.OfPeak {
		against, err := o.against(st.Entered, levelsOf(cells))
		if err != nil {
			return nil, err
		}
		if v.MeasureEffects, err = compare.MeasureEffects(entries, m.Name, reads, against, o.Confidence); err != nil {
			return nil, err
		}
	}
	v.Rated = rated(entries, v.By, compare.LevelsOf(cells, v.By))
	for _, c := range cells {
		k := ComparedCell{Cell: c, Measured: compare.MeasureCell(c, reads, o.Confidence)}
		if len(c.Drops) > 0 && len(v.Only) == 0 {
			k.Number = st.Drops[st.Find(c.Drops[0].Drop)].Cell
		}
		v.Cells = append(v.Cells, k)
	}
	return v, nil
}

// rated counts, by the levels of a factor, what broke below its rating.
func rated(entries []compare.Entry, by string, levels []string) []Rated {
	out := []Rated{}
	for _, l := range levels {
		r := Rated{Level: l}
		for _, e := range compare.MarkAgain(entries) {
			rating := e.Drop.Specimen.Rating
			valid := e.Outcome == drop.Held || e.Outcome == drop.Broke || e.Outcome == drop.Slipped
			if e.Drop.Role == drop.Check || e.Planned || e.Again || !valid || !(rating > 0) || by != "" && e.Drop.Levels()[by] != l {
				continue
			}
			r.N++
			switch text := strings.Replace(rating.Text(3), ".0 ", " ", 1); {
			case r.Rating == "":
				r.Rating = text
			case r.Rating != text:
				r.Rating = "each"
			}
			if e.Outcome == drop.Broke {
				r.Broke++
				if e.Peak < rating {
					r.Below++
				}
			}
		}
		if r.N > 0 {
			out = append(out, r)
		}
	}
	return out
}

// factorLevels are the factors that vary among the trial drops.
func factorLevels(entries []compare.Entry) ([]FactorLevels, error) {
	cells, err := compare.Cells(entries, look.Confidence)
	if err != nil {
		return nil, err
	}
	return levelsOf(cells), nil
}

func levelsOf(cells []compare.Cell) []FactorLevels {
	out := []FactorLevels{}
	for _, f := range compare.Factors(cells) {
		out = append(out, FactorLevels{f, compare.LevelsOf(cells, f)})
	}
	return out
}

// only keeps the trial drops at the levels asked for, and all check drops.
func only(entries []compare.Entry, want map[string]string, factors []FactorLevels) (kept []compare.Entry, out int, err error) {
	for f, l := range want {
		i := slices.IndexFunc(factors, func(x FactorLevels) bool { return x.Name == f })
		if i < 0 {
			return nil, 0, fmt.Errorf("there is no factor %q that varies in this campaign; there are %s", f, look.Listed(names(factors), 12))
		}
		if !slices.Contains(factors[i].Levels, l) {
			return nil, 0, fmt.Errorf("no drop has the %s %q; there are %s", f, l, look.Listed(factors[i].Levels, 12))
		}
	}
	for _, e := range entries {
		levels := e.Drop.Levels()
		fits := true
		for f, l := range want {
			fits = fits && levels[f] == l
		}
		switch {
		case fits || e.Drop.Role == drop.Check:
			kept = append(kept, e)
		case !e.Planned:
			out++
		}
	}
	return kept, out, nil
}

func names(factors []FactorLevels) []string {
	out := make([]string, len(factors))
	for i, f := range factors {
		out[i] = f.Name
	}
	return out
}

// choose settles the factor along the axis and the factor asked about. Without a wish the axis takes what is a quantity (fall, length) before
// what is a word, and the question what a campaign is usually about: conditioning, a factor of its own, knot, material.
func (v *ComparisonView) choose(o ComparisonOptions, cells []compare.Cell) error {
	vary := levelsOf(cells)
	all := names(vary)
	for _, f := range []string{o.Along, o.By} {
		if f != "" && f != "none" && !slices.Contains(names(v.Factors), f) {
			return fmt.Errorf("there is no factor %q that varies in this campaign; there are %s", f, look.Listed(names(v.Factors), 12))
		}
	}
	v.Along, v.By = o.Along, o.By
	if v.Along == v.By && v.By != "" {
		v.By = ""
	}
	switch v.By {
	case "none":
		v.By = ""
	case "":
		v.By = bestFactor(all, v.Along, func(f string) int {
			switch f {
			case "conditioning":
				return 5
			case "knot":
				return 3
			case "material":
				return 2
			case "fall", "fall factor", "length", "mass", "construction":
				return 1
			}
			return 4
		})
		if v.Along == "" && len(all) == 1 {
			v.Along, v.By = all[0], ""
		}
	}
	if v.Along == "" {
		v.Along = bestFactor(all, v.By, func(f string) int {
			i := slices.Index(all, f)
			n := min(len(vary[i].Levels), 50)
			if _, _, _, err := quantity.ParseAny(vary[i].Levels[0]); err == nil {
				n += 100
			}
			return n
		})
	}
	return nil
}

// bestFactor is the factor of the highest rank, the first of equals; but is not taken.
func bestFactor(all []string, but string, rank func(string) int) string {
	best, top := "", -1
	for _, f := range all {
		if f == but {
			continue
		}
		if r := rank(f); r > top {
			best, top = f, r
		}
	}
	return best
}
