package app

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"hardcatch/internal/compare"
	"hardcatch/internal/drop"
	"hardcatch/internal/figure"
	"hardcatch/internal/message"
	"hardcatch/internal/num/censor"
	"hardcatch/internal/quantity"
)

// ComparisonFigures are the drawings of a comparison; nil where there is nothing to draw.
type ComparisonFigures struct {
	Strength, Measure, Breaks       []byte // contrasts about no difference
	Cells                           [][]byte
	MeasureEffects, StrengthEffects []byte
	Curves                          [][]byte
	Ratios, Interference            []byte
}

const (
	panelWidth = 320.0 // pt: two beside each other on a desk, one on a phone
	mostPanels = 12
	curveSteps = 41
)

func (st *State) comparisonFigures(v *ComparisonView) (f ComparisonFigures, err error) {
	of := func(of string) []compare.Difference {
		var out []compare.Difference
		for _, d := range v.Differences {
			if d.Of == of {
				out = append(out, d)
			}
		}
		return out
	}
	f.Strength = differencesFigure("Strength", "Strength, the first over the second", "weaker", "stronger", of(compare.OfStrength)).svgUnlessEmpty("strength")
	name := strings.TrimSuffix(v.Measure.Axis(), " ("+v.Measure.Unit+")")
	f.Measure = differencesFigure(name, name+", the first over the second", "lower", "higher", of(v.Measure.Name)).svgUnlessEmpty("measure")
	f.Breaks = differencesFigure("Odds of breaking", "Odds of breaking, the first over the second", "breaks less", "breaks more", of(compare.OfBreaks)).svgUnlessEmpty("breaks")
	f.MeasureEffects = effectsFigure(name+", all factors together", "lower", "higher", v.MeasuredEffects()).svgUnlessEmpty("effects-measure")
	f.StrengthEffects = effectsFigure("Strength, all factors together", "weaker", "stronger", v.StrengthEffects).svgUnlessEmpty("effects-strength")
	f.Ratios = ratiosFigure(v.StrengthRatios).svgUnlessEmpty("ratios")
	f.Interference = interferenceFigure(v.Interference).svgUnlessEmpty("interference")
	f.Cells = st.dotFigures(v)
	f.Curves, err = st.curveFigures(v)
	return f, err
}

type intervals figure.Intervals

func (f intervals) svgUnlessEmpty(id string) []byte {
	if !slices.ContainsFunc(f.Rows, func(r figure.Interval) bool { return r.Missing == "" }) {
		return nil
	}
	return figure.Intervals(f).SVG(id)
}

func framed(title string) figure.Frame {
	return figure.Frame{Title: title, Width: panelWidth}
}

// about no difference: ratios on an axis of logarithms.
func aboutOne(title, axis, below, above string) intervals {
	return intervals{Frame: framed(title), Axis: axis, Log: true, Same: 1, Below: below, Above: above}
}

func certaintyOf(v compare.Verdict) figure.Certainty {
	switch v {
	case compare.BeyondChance:
		return figure.Sure
	case compare.Chance:
		return figure.Unsure
	case compare.AsClearAsCan, compare.CouldNotShow: // after adjusting, no outcome of so few could have shown it
		return figure.Hopeless
	}
	return figure.NoTest
}

func differencesFigure(title, axis, below, above string, all []compare.Difference) intervals {
	f := aboutOne(title, axis, below, above)
	group := ""
	for _, d := range all {
		r := interval(d.Ratio, d.Lo, d.Hi)
		r.Name, r.Certainty = d.A+" against "+d.B, certaintyOf(d.Verdict)
		if d.Factor != group {
			group, r.Group = d.Factor, d.Factor
		}
		if d.Missing != "" {
			r.Missing = "no number: " + d.Missing
		}
		f.Rows = append(f.Rows, r)
	}
	return f
}

func effectsFigure(title, below, above string, e *compare.Effects) intervals {
	f := aboutOne(title, title[:strings.IndexByte(title, ',')]+", over the level named last", below, above)
	group := ""
	for _, x := range e.Effects {
		r := interval(&x.Ratio, x.Lo, x.Hi)
		r.Name, r.Certainty = x.Level+" against "+x.Base, figure.Unsure
		if x.PHolm <= compare.Level {
			r.Certainty = figure.Sure
		}
		if x.Factor != group {
			group, r.Group = x.Factor, x.Factor
		}
		f.Rows = append(f.Rows, r)
	}
	return f
}

func ratiosFigure(all []compare.StrengthRatio) intervals {
	f := aboutOne("Strength of one kind over another", "Strength, the first over the second (for a knot its efficiency)", "weaker", "stronger")
	group := ""
	for _, x := range all {
		r := interval(x.Ratio, x.Lo, x.Hi)
		r.Name = x.Rest
		if r.Name == "" {
			r.Name = "all specimens"
		}
		if g := x.Factor + ": " + x.B + " over " + x.A; g != group {
			group, r.Group = g, g
		}
		if x.Ratio == nil {
			r.Missing = "no number: too little broke"
		}
		f.Rows = append(f.Rows, r)
	}
	return f
}

func interferenceFigure(all []compare.CellInterference) intervals {
	f := intervals{Frame: framed("Share of drops that break"), Axis: "Share that breaks", Same: math.NaN(), Lo: -0.02, Hi: 1.02, Percent: true, SeenMeans: "share that broke"}
	for _, x := range all {
		r := figure.Interval{Name: x.Cell, Value: math.NaN(), Lo: math.NaN(), Hi: math.NaN(), Seen: math.NaN(), Amount: fmt.Sprintf("%d of %d", x.Broke, x.N)}
		if x.N > 0 {
			r.Seen = float64(x.Broke) / float64(x.N)
		}
		if i := x.Interference; i != nil {
			r.Value, r.Lo, r.Hi = i.Probability, i.Lo, i.Hi
		}
		f.Rows = append(f.Rows, r)
	}
	return f
}

func interval(ratio, lo, hi *float64) figure.Interval {
	or := func(v *float64) float64 {
		if v == nil {
			return math.NaN()
		}
		return *v
	}
	return figure.Interval{Value: or(ratio), Lo: or(lo), Hi: or(hi), Seen: math.NaN(), Amount: ratioText(ratio, lo, hi)}
}

// ratioText is a ratio with its interval, of which a side may be open.
func ratioText(ratio, lo, hi *float64) string {
	three := func(v *float64) string { return quantity.Significant(*v, 3) }
	around := ""
	switch {
	case lo != nil && hi != nil:
		around = three(lo) + " to " + three(hi)
	case lo != nil:
		around = "at least " + three(lo)
	case hi != nil:
		around = "at most " + three(hi)
	}
	switch {
	case ratio == nil:
		return around
	case around == "":
		return three(ratio)
	}
	return three(ratio) + " (" + around + ")"
}

// dotFigures shows every drop, one drawing for each combination of the factors that are neither along the axis nor asked about.
func (st *State) dotFigures(v *ComparisonView) [][]byte {
	type panel struct {
		name  string
		cells []ComparedCell
	}
	var panels []panel
	top := 0.0
	var cells []compare.Cell
	for _, c := range v.Cells {
		cells = append(cells, c.Cell)
		for _, d := range c.Measured.Values {
			top = math.Max(top, d.Value*v.Measure.drawn)
		}
		name := restName(c.Levels, v.Along, v.By)
		i := slices.IndexFunc(panels, func(p panel) bool { return p.name == name })
		if i < 0 {
			i = len(panels)
			panels = append(panels, panel{name: name})
		}
		panels[i].cells = append(panels[i].cells, c)
	}
	var limit []figure.Limit
	if v.Measure.Name == compare.OfPeak {
		limit = linesFor(st.Results, 3, message.English())
	}
	var out [][]byte
	for n, p := range panels {
		if n == mostPanels {
			v.Unshown += len(panels) - n
			break
		}
		f := figure.CellDots{Frame: framed(p.name), Axis: v.Measure.Axis(), Along: v.Along, By: v.By, Lines: limit, Top: 1.04 * top}
		if f.Title == "" {
			f.Title = "Every drop"
		}
		f.Places, f.Series = compare.LevelsOf(cells, v.Along), []string{""}
		if v.Along == "" {
			f.Places = []string{""}
		}
		if v.By != "" {
			f.Series = compare.LevelsOf(cells, v.By)
		}
		for _, c := range p.cells {
			k := figure.DotCell{Place: max(0, slices.Index(f.Places, c.Levels[v.Along])), Series: max(0, slices.Index(f.Series, c.Levels[v.By])), Mean: math.NaN(), Lo: math.NaN(), Hi: math.NaN(), AtLeast: c.Measured.AtLeast}
			for i, x := range []*float64{c.Measured.Mean, c.Measured.Lo, c.Measured.Hi} {
				if x != nil {
					*[]*float64{&k.Mean, &k.Lo, &k.Hi}[i] = *x * v.Measure.drawn
				}
			}
			for _, d := range c.Measured.Values {
				o := figure.Outcome(d.Outcome)
				if !d.AtLeast {
					o = figure.Held
				}
				k.Dots = append(k.Dots, figure.Dot{Name: d.Drop, Outcome: o, Value: d.Value * v.Measure.drawn})
			}
			f.Cells = append(f.Cells, k)
		}
		out = append(out, f.SVG(fmt.Sprintf("cells-%d", n+1)))
	}
	return out
}

// restName is the levels but for some factors, in one line.
func restName(levels map[string]string, but ...string) string {
	var keys, parts []string
	for f := range levels {
		if !slices.Contains(but, f) {
			keys = append(keys, f)
		}
	}
	drop.SortFactors(keys)
	for _, f := range keys {
		parts = append(parts, levels[f])
	}
	return strings.Join(parts, ", ")
}

// curveFigures shows the strengths, kinds that differ only in the factor asked about in one drawing.
func (st *State) curveFigures(v *ComparisonView) ([][]byte, error) {
	type panel struct {
		name  string
		kinds []compare.Kind
	}
	var panels []panel
	lo, hi := math.Inf(1), 0.0
	for _, k := range v.Strengths {
		for _, x := range k.Values() {
			lo, hi = math.Min(lo, x.Force), math.Max(hi, x.Force)
		}
		name := restName(k.Levels, v.By)
		i := slices.IndexFunc(panels, func(p panel) bool { return p.name == name })
		if i < 0 {
			i = len(panels)
			panels = append(panels, panel{name: name})
		}
		panels[i].kinds = append(panels[i].kinds, k)
	}
	var limit []figure.Limit
	for _, l := range linesFor(st.Results, 3, message.English()) {
		if !l.Arrest {
			limit = append(limit, l)
		}
	}
	panels = slices.DeleteFunc(panels, func(p panel) bool { // where nothing broke there is no curve
		return !slices.ContainsFunc(p.kinds, func(k compare.Kind) bool { return k.Broke > 0 })
	})
	var out [][]byte
	for n, p := range panels {
		if n == mostPanels {
			v.Unshown += len(panels) - n
			break
		}
		f := figure.StrengthCurves{Frame: framed(p.name), Lines: limit, Coverage: percent(v.Confidence), Lo: quantity.Force(0.9 * lo), Hi: quantity.Force(1.1 * hi)}
		if f.Title == "" {
			f.Title = "Strength"
		}
		for _, k := range p.kinds {
			x, err := strengthCurve(k, v)
			if err != nil {
				return nil, err
			}
			f.Kinds = append(f.Kinds, x)
		}
		out = append(out, f.SVG(fmt.Sprintf("curves-%d", n+1)))
	}
	return out, nil
}

func strengthCurve(k compare.Kind, v *ComparisonView) (figure.Strength, error) {
	s := figure.Strength{Name: k.Name}
	if l, ok := k.Levels[v.By]; ok {
		s.Name = l
	}
	var known []censor.Value
	for _, x := range k.Values() {
		if x.Broke {
			s.Broke, known = append(s.Broke, quantity.Force(x.Force)), append(known, censor.Exact(x.Force))
		} else {
			s.Held, known = append(s.Held, quantity.Force(x.Force)), append(known, censor.AtLeast(x.Force))
		}
	}
	if len(s.Broke) == 0 {
		s.Amount = "no fit"
		return s, nil // the estimate stays at 100 %
	}
	km, err := censor.KaplanMeier(known, v.Confidence)
	if err != nil {
		return s, fmt.Errorf("%s: %w", k.Name, err)
	}
	for _, p := range km.Points {
		s.Steps = append(s.Steps, figure.Step{Force: quantity.Force(p.Value), Share: p.Survival})
	}
	if k.Fit == nil {
		s.Amount = "no fit"
		return s, nil
	}
	for _, q := range k.Fit.Quantiles {
		if q.P == 0.5 {
			s.Amount = "half are weaker than " + quantity.Force(q.Value).Text(3)
		}
	}
	for _, c := range k.Curve(curveSteps, v.Confidence) {
		s.Fit = append(s.Fit, figure.CurvePoint{Force: quantity.Force(c.Force), Share: c.Share, Lo: c.Lo, Hi: c.Hi})
	}
	return s, nil
}
