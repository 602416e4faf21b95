package view

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/figure"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Drawing is a drawing that may stand on a page. It is drawn for the page when it is first asked for: a report draws it under
// a number of its own.
type Drawing struct {
	Of  figure.Drawing
	svg func() []byte
}

// drawn is a drawing under a name that no other of its page has.
func drawn(of figure.Drawing, name string) *Drawing {
	return &Drawing{of, sync.OnceValue(func() []byte { return figure.Screen(of, name, figure.PanelWidth) })}
}

// SVG is the drawing as it stands on a page.
func (d *Drawing) SVG() []byte { return d.svg() }

// ComparisonFigures are the drawings of a comparison; nil where there is nothing to draw.
type ComparisonFigures struct {
	Strength, Measure, Breaks       *Drawing // contrasts about no difference
	Cells                           []*Drawing
	MeasureEffects, StrengthEffects *Drawing
	Curves                          []*Drawing
	Ratios, Interference            *Drawing
}

// Contrasts are the drawings of the contrasts, strength first.
func (f ComparisonFigures) Contrasts() []*Drawing {
	return slices.DeleteFunc([]*Drawing{f.Strength, f.Measure, f.Breaks}, func(d *Drawing) bool { return d == nil })
}

// Effects are the drawings of the effects of all factors together, strength first.
func (f ComparisonFigures) Effects() []*Drawing {
	return slices.DeleteFunc([]*Drawing{f.StrengthEffects, f.MeasureEffects}, func(d *Drawing) bool { return d == nil })
}

const (
	panelWidth = 320.0 // pt: two beside each other on a desk, one on a phone
	mostPanels = 12
	curveSteps = 41
)

// comparisonFigures draws a comparison with the words of a language.
func (st *Campaign) comparisonFigures(v *ComparisonView, in message.Locale) (f ComparisonFigures, err error) {
	of := func(of string) []compare.Difference {
		var out []compare.Difference
		for _, d := range v.Differences {
			if d.Of == of {
				out = append(out, d)
			}
		}
		return out
	}
	f.Strength = differencesFigure(in, in.Say("Strength"), in.Say("Strength, the first over the second"), in.Say("weaker"), in.Say("stronger"), of(compare.OfStrength)).unlessEmpty("strength")
	name := strings.TrimSuffix(v.Measure.axis(in), " ("+v.Measure.Unit+")")
	f.Measure = differencesFigure(in, name, in.Say("%s, the first over the second", name), in.Say("lower"), in.Say("higher"), of(v.Measure.Name)).unlessEmpty("measure")
	f.Breaks = differencesFigure(in, in.Say("Odds of breaking"), in.Say("Odds of breaking, the first over the second"), in.Say("breaks less"), in.Say("breaks more"), of(compare.OfBreaks)).unlessEmpty("breaks")
	f.MeasureEffects = effectsFigure(in, name, in.Say("lower"), in.Say("higher"), v.MeasuredEffects()).unlessEmpty("effects-measure")
	f.StrengthEffects = effectsFigure(in, in.Say("Strength"), in.Say("weaker"), in.Say("stronger"), v.StrengthEffects).unlessEmpty("effects-strength")
	f.Ratios = ratiosFigure(in, v.StrengthRatios).unlessEmpty("ratios")
	f.Interference = interferenceFigure(in, v.Interference).unlessEmpty("interference")
	f.Cells = st.dotFigures(v, in)
	f.Curves, err = st.curveFigures(v, in)
	return f, err
}

type intervals figure.Intervals

func (f intervals) unlessEmpty(name string) *Drawing {
	if !slices.ContainsFunc(f.Rows, func(r figure.Interval) bool { return r.Missing == "" }) {
		return nil
	}
	return drawn(figure.Intervals(f), name)
}

func framed(in message.Locale, title string) figure.Frame {
	return figure.Frame{Title: title, Width: panelWidth, In: in}
}

// about no difference: ratios on an axis of logarithms.
func aboutOne(in message.Locale, title, axis, below, above string) intervals {
	return intervals{Frame: framed(in, title), Axis: axis, Log: true, Same: 1, Below: below, Above: above}
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

func differencesFigure(in message.Locale, title, axis, below, above string, all []compare.Difference) intervals {
	f := aboutOne(in, title, axis, below, above)
	group := ""
	for _, d := range all {
		r := interval(in, d.Ratio, d.Lo, d.Hi)
		r.Name, r.Certainty = in.Names(d.A)+" "+in.Say("against")+" "+in.Names(d.B), certaintyOf(d.Verdict)
		if d.Factor != group {
			group, r.Group = d.Factor, in.Names(d.Factor)
		}
		if len(d.Missing) > 0 {
			r.Missing = in.Say("no number: %s", in.Tell(d.Missing))
		}
		f.Rows = append(f.Rows, r)
	}
	return f
}

func effectsFigure(in message.Locale, name, below, above string, e *compare.Effects) intervals {
	f := aboutOne(in, in.Say("%s, all factors together", name), in.Say("%s, over the level named last", name), below, above)
	group := ""
	for _, x := range e.Effects {
		r := interval(in, &x.Ratio, x.Lo, x.Hi)
		r.Name, r.Certainty = in.Names(x.Level)+" "+in.Say("against")+" "+in.Names(x.Base), figure.Unsure
		if x.PHolm <= compare.SignificanceLevel {
			r.Certainty = figure.Sure
		}
		if x.Factor != group {
			group, r.Group = x.Factor, in.Names(x.Factor)
		}
		f.Rows = append(f.Rows, r)
	}
	return f
}

func ratiosFigure(in message.Locale, all []compare.StrengthRatio) intervals {
	f := aboutOne(in, in.Say("Strength of one kind over another"), in.Say("Strength, the first over the second (for a knot its efficiency)"), in.Say("weaker"), in.Say("stronger"))
	group := ""
	for _, x := range all {
		r := interval(in, x.Ratio, x.Lo, x.Hi)
		r.Name = in.Names(x.Rest)
		if r.Name == "" {
			r.Name = in.Say("all specimens")
		}
		if g := in.Names(x.Factor) + ": " + in.Names(x.B) + " " + in.Say("over") + " " + in.Names(x.A); g != group {
			group, r.Group = g, g
		}
		if x.Ratio == nil {
			r.Missing = in.Say("no number: too little broke")
		}
		f.Rows = append(f.Rows, r)
	}
	return f
}

func interferenceFigure(in message.Locale, all []compare.CellInterference) intervals {
	f := intervals{Frame: framed(in, in.Say("Share of drops that break")), Axis: in.Say("Share that breaks"), Same: math.NaN(), Lo: -0.02, Hi: 1.02, Percent: true, SeenMeans: in.Say("share that broke")}
	for _, x := range all {
		r := figure.Interval{Name: in.Names(x.Cell), Value: math.NaN(), Lo: math.NaN(), Hi: math.NaN(), Seen: math.NaN(), Amount: in.Say("%d of %d", x.Broke, x.N)}
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

func interval(in message.Locale, ratio, lo, hi *float64) figure.Interval {
	return figure.Interval{Value: orNaN(ratio), Lo: orNaN(lo), Hi: orNaN(hi), Seen: math.NaN(), Amount: ratioText(in, ratio, lo, hi)}
}

// ratioText is a ratio with its interval, of which a side may be open.
func ratioText(in message.Locale, ratio, lo, hi *float64) string {
	three := func(v *float64) string { return quantity.Significant(*v, 3) }
	around := ""
	switch {
	case lo != nil && hi != nil:
		around = in.Say("%s to %s", three(lo), three(hi))
	case lo != nil:
		around = in.Say("at least") + " " + three(lo)
	case hi != nil:
		around = in.Say("at most") + " " + three(hi)
	}
	switch {
	case ratio == nil:
		return around
	case around == "":
		return three(ratio)
	}
	return three(ratio) + " (" + around + ")"
}

// panel is what one drawing of several shows.
type panel[T any] struct {
	name string
	of   []T
}

type panels[T any] []panel[T]

// add puts x into the panel of that name.
func (p *panels[T]) add(name string, x T) {
	i := slices.IndexFunc(*p, func(q panel[T]) bool { return q.name == name })
	if i < 0 {
		i = len(*p)
		*p = append(*p, panel[T]{name: name})
	}
	(*p)[i].of = append((*p)[i].of, x)
}

// most are the panels that are drawn; the others are counted.
func (p panels[T]) most(v *ComparisonView) panels[T] {
	drawn := p[:min(len(p), mostPanels)]
	v.Unshown += len(p) - len(drawn)
	return drawn
}

// dotFigures shows every drop, one drawing for each combination of the factors that are neither along the axis nor asked about.
func (st *Campaign) dotFigures(v *ComparisonView, in message.Locale) []*Drawing {
	var panels panels[ComparedCell]
	top := 0.0
	var cells []compare.Cell
	for _, c := range v.Cells {
		cells = append(cells, c.Cell)
		for _, d := range c.Measured.Values {
			top = math.Max(top, d.Value*v.Measure.drawn)
		}
		panels.add(c.Name(v.Along, v.By), c)
	}
	var limit []figure.Limit
	if v.Measure.Name == compare.OfPeak {
		limit = linesFor(st.Results, 3, in)
	}
	var out []*Drawing
	for n, p := range panels.most(v) {
		f := figure.CellDots{Frame: framed(in, in.Names(p.name)), Axis: v.Measure.axis(in), Along: in.Names(v.Along), By: in.Names(v.By), Lines: limit, Top: 1.04 * top}
		if f.Title == "" {
			f.Title = in.Say("Every drop")
		}
		f.Places, f.Series = compare.LevelsOf(cells, v.Along), []string{""}
		if v.Along == "" {
			f.Places = []string{""}
		}
		if v.By != "" {
			f.Series = compare.LevelsOf(cells, v.By)
		}
		places, sides := f.Places, f.Series
		f.Places, f.Series = allIn(in, places), allIn(in, sides)
		for _, c := range p.of {
			k := figure.DotCell{Place: max(0, slices.Index(places, c.Levels[v.Along])), Series: max(0, slices.Index(sides, c.Levels[v.By])), Mean: math.NaN(), Lo: math.NaN(), Hi: math.NaN(), AtLeast: c.Measured.AtLeast}
			for i, x := range []*float64{c.Measured.Mean, c.Measured.Lo, c.Measured.Hi} {
				if x != nil {
					*[]*float64{&k.Mean, &k.Lo, &k.Hi}[i] = *x * v.Measure.drawn
				}
			}
			for _, d := range c.Measured.Values {
				o := d.Outcome
				if !d.AtLeast {
					o = drop.Held
				}
				k.Dots = append(k.Dots, figure.Dot{Name: d.Drop, Outcome: o, Value: d.Value * v.Measure.drawn})
			}
			f.Cells = append(f.Cells, k)
		}
		out = append(out, drawn(f, fmt.Sprintf("cells-%d", n+1)))
	}
	return out
}

// curveFigures shows the strengths, kinds that differ only in the factor asked about in one drawing.
func (st *Campaign) curveFigures(v *ComparisonView, in message.Locale) ([]*Drawing, error) {
	var panels panels[compare.SpecimenKind]
	lo, hi := math.Inf(1), 0.0
	for _, k := range v.Strengths {
		for _, x := range k.Values() {
			lo, hi = math.Min(lo, x.Force), math.Max(hi, x.Force)
		}
		panels.add(compare.Cell{Levels: k.Levels}.Name(v.By), k)
	}
	var limit []figure.Limit
	for _, l := range linesFor(st.Results, 3, in) {
		if !l.Arrest {
			limit = append(limit, l)
		}
	}
	panels = slices.DeleteFunc(panels, func(p panel[compare.SpecimenKind]) bool { // where nothing broke there is no curve
		return !slices.ContainsFunc(p.of, func(k compare.SpecimenKind) bool { return k.Broke > 0 })
	})
	var out []*Drawing
	for n, p := range panels.most(v) {
		f := figure.StrengthCurves{Frame: framed(in, in.Names(p.name)), Lines: limit, Coverage: quantity.Percent(v.Confidence), Lo: quantity.Force(0.9 * lo), Hi: quantity.Force(1.1 * hi)}
		if f.Title == "" {
			f.Title = in.Say("Strength")
		}
		for _, k := range p.of {
			x, err := strengthCurve(k, v, in)
			if err != nil {
				return nil, err
			}
			f.Kinds = append(f.Kinds, x)
		}
		out = append(out, drawn(f, fmt.Sprintf("curves-%d", n+1)))
	}
	return out, nil
}

func strengthCurve(k compare.SpecimenKind, v *ComparisonView, in message.Locale) (figure.Strength, error) {
	s := figure.Strength{Name: in.Names(k.Name)}
	if l, ok := k.Levels[v.By]; ok {
		s.Name = in.Names(l)
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
		s.Amount = in.Say("no fit")
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
		s.Amount = in.Say("no fit")
		return s, nil
	}
	for _, q := range k.Fit.Quantiles {
		if q.P == 0.5 {
			s.Amount = in.Say("half are weaker than %s", quantity.Force(q.Value).Text(3))
		}
	}
	for _, c := range k.Curve(curveSteps, v.Confidence) {
		s.Fit = append(s.Fit, figure.CurvePoint{Force: quantity.Force(c.Force), Share: c.Share, Lo: c.Lo, Hi: c.Hi})
	}
	return s, nil
}

// allIn says levels in a language.
func allIn(in message.Locale, levels []string) []string {
	out := make([]string, len(levels))
	for i, l := range levels {
		out[i] = in.Names(l)
	}
	return out
}

func orNaN(v *float64) float64 {
	if v == nil {
		return math.NaN()
	}
	return *v
}
