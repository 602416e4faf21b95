package figure_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/figure"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// All samples are invented.

func sampleIntervals() figure.Intervals {
	return figure.Intervals{
		Frame: figure.Frame{Title: "Strength", Width: 320}, Axis: "Strength, the first over the second", Log: true, Same: 1, Below: "weaker", Above: "stronger",
		Rows: []figure.Interval{
			{Group: "conditioning", Name: "worn against new", Amount: "0.783 (0.748 to 0.819)", Value: 0.783, Lo: 0.748, Hi: 0.819, Seen: nan, Certainty: figure.Sure},
			{Group: "knot", Name: "figure-eight with a long name of a knot against sewn eyes of another make", Amount: "0.91 (0.6 to 1.4)", Value: 0.91, Lo: 0.6, Hi: 1.4, Seen: nan, Certainty: figure.Unsure},
			{Name: "overhand against sewn eyes", Amount: "at least 1.85", Value: nan, Lo: 1.85, Hi: nan, Seen: nan, Certainty: figure.Hopeless},
			{Group: "fall", Name: "0.9 m against 1.8 m", Value: nan, Lo: nan, Hi: nan, Seen: nan, Missing: "no number: nothing broke at either level, so that there is nothing to compare"},
		},
	}
}

func sampleShares() figure.Intervals {
	return figure.Intervals{Frame: figure.Frame{Title: "Share of drops that break", Width: 320}, Axis: "Share that breaks", Same: nan, Lo: -0.02, Hi: 1.02, Percent: true, SeenMeans: "share that broke", Rows: []figure.Interval{
		{Name: "aramid", Amount: "1 of 4", Value: 0.16, Lo: 0.02, Hi: 0.42, Seen: 0.25}, {Name: "polyester", Amount: "4 of 4", Value: nan, Lo: nan, Hi: nan, Seen: 1},
	}}
}

func sampleDots(series int) figure.CellDots {
	f := figure.CellDots{Frame: figure.Frame{Title: "polyester, sewn eyes", Width: 320}, Axis: "Peak force (kN)", Along: "fall", By: "conditioning", Places: []string{"450 mm", "900 mm", "1.35 m"},
		Lines: []figure.Limit{{Name: "energy absorber, EN 355:2002", Value: 6000, Arrest: true}, {Name: "rating of the specimen", Value: 22000}}}
	for s := range series {
		f.Series = append(f.Series, []string{"worn", "new", "wet", "painted"}[s])
		for p := range f.Places {
			c := figure.DotCell{Place: p, Series: s, Mean: nan, Lo: nan, Hi: nan}
			for i := range 5 {
				o := drop.Held
				if p == 2 && i > 1 {
					o, c.AtLeast = drop.Broke, true
				}
				c.Dots = append(c.Dots, figure.Dot{Name: "d" + string(rune('1'+i)), Outcome: o, Value: 8 + 5*float64(p) + 0.3*float64(i%3)})
			}
			c.Mean, c.Lo, c.Hi = 8.2+5*float64(p), 7.6+5*float64(p), 8.8+5*float64(p)
			f.Cells = append(f.Cells, c)
		}
	}
	return f
}

func sampleCurves() figure.StrengthCurves {
	kind := func(name string, scale, shape float64) figure.Strength {
		k := figure.Strength{Name: name, Amount: "half are weaker than 17.7 kN", Broke: []quantity.Force{quantity.Force(scale * 900), quantity.Force(scale * 1000)}, Held: []quantity.Force{quantity.Force(scale * 950)},
			Steps: []figure.Step{{Force: quantity.Force(scale * 900), Share: 2.0 / 3}, {Force: quantity.Force(scale * 1000), Share: 0}}}
		for i := range 21 {
			x := scale * (0.7 + 0.025*float64(i))
			s := math.Exp(-math.Pow(x/scale, shape))
			k.Fit = append(k.Fit, figure.CurvePoint{Force: quantity.Force(1000 * x), Share: s, Lo: math.Max(0, s-0.2), Hi: math.Min(1, s+0.2)})
		}
		k.Fit[20].Lo = nan
		return k
	}
	return figure.StrengthCurves{Frame: figure.Frame{Title: "polyester, sewn eyes", Width: 320}, Coverage: "95 %", Kinds: []figure.Strength{kind("worn", 17, 9), kind("new", 21, 15), {Name: "wet", Held: []quantity.Force{15000, 15100}, Amount: "no fit"}},
		Lines: []figure.Limit{{Name: "rating of the specimen", Value: 22000}}}
}

func sampleControl(n int, until string) figure.ControlChart {
	f := figure.ControlChart{Frame: figure.Frame{Title: "Check drops over the days"}, Centre: 15800, Lower: 15600, Upper: 16000, RangeUpper: 250, From: "2026-03-04", Until: until}
	z := 15800.0
	for i := range n {
		p := 15800 + 150*math.Sin(float64(i)*2) + 12*float64(i)
		f.Points = append(f.Points, figure.CheckPoint{Name: "c" + string(rune('a'+i)), Day: []string{"2026-03-02", "2026-03-03", "2026-03-05", "2026-03-06", "2026-03-07", "2026-03-10"}[min(5, i/3)], Peak: quantity.Force(p)})
		z = 0.8*z + 0.2*p
		half := 200 / 3.0 * math.Sqrt(1-math.Pow(0.8, 2*float64(i+1)))
		f.Average, f.AverageLo, f.AverageHi = append(f.Average, z), append(f.AverageLo, 15800-half), append(f.AverageHi, 15800+half)
		if i > 0 {
			f.Ranges = append(f.Ranges, math.Abs(p-f.Points[i-1].Peak.SI()))
		}
	}
	if n > 5 {
		f.Broken = []figure.BrokenRule{{First: 0, Last: n - 1, Text: "beyond 3 sigma"}, {First: n - 3, Last: n - 2, Text: "moving range beyond its upper limit", Chart: 1}, {First: 2, Last: n - 1, Text: "weighted average beyond its limits", Chart: 2}}
	}
	return f
}

func narrowed(f figure.ControlChart) figure.ControlChart {
	f.Width = 270
	return f
}

// What an interval, a bound, a missing one and a verdict are must be said in words, too.
func TestIntervalsSayWhatTheyShow(t *testing.T) {
	p := parse(t, sampleIntervals().SVG("x"))
	for _, want := range []string{"more than chance would explain", "chance alone may explain it", "too few to have shown it", "at least 1.85", "← weaker", "stronger →", "worn against new: 0.783 (0.748 to 0.819), more than chance would explain"} {
		if !p.says(want) {
			t.Errorf("the drawing does not say %q", want)
		}
	}
	if s := parse(t, sampleShares().SVG("x")); !s.says("share that broke") || !s.says("100 %") {
		t.Error("the shares are not named")
	}
}

// The line of no difference stands at 1, and an interval from 0.5 to 2 about it to equal lengths on either side.
func TestLogarithmicAxisIsEven(t *testing.T) {
	f := figure.Intervals{Frame: figure.Frame{Title: "x", Width: 320}, Log: true, Same: 1, Rows: []figure.Interval{{Name: "r", Value: 1, Lo: 0.5, Hi: 2, Seen: nan}}}
	svg := string(f.SVG("x"))
	i := strings.Index(svg, "<title>r</title>")
	if i < 0 {
		t.Fatal("the row is not named")
	}
	var a, b, y float64
	path := svg[i+strings.Index(svg[i:], `d="`):]
	if _, err := fmt.Sscanf(path, `d="M%g %gL%g`, &a, &y, &b); err != nil {
		t.Fatal(err)
	}
	if math.Abs((a+b)/2-160) > 0.02 || b-a < 200 {
		t.Errorf("from %g to %g, the middle of the drawing is 160", a, b)
	}
}

func TestDotsAndCurvesSayWhatTheyShow(t *testing.T) {
	p := parse(t, sampleDots(2).SVG("x"))
	for _, want := range []string{"broke: at least this", "held", "worn", "900 mm", "1.35 m, new: 2 held, 3 broke, 0 slipped, from 18 to 18.6", "d3, broke, at least 18.6"} {
		if !p.says(want) {
			t.Errorf("the dots do not say %q", want)
		}
	}
	p = parse(t, sampleCurves().SVG("x"))
	for _, want := range []string{"fit, in its 95 % band", "worn: 2 broke, 1 held, half are weaker than 17.7 kN", "held: at least this strong", "wet: 0 broke, 2 held, no fit"} {
		if !p.says(want) {
			t.Errorf("the curves do not say %q", want)
		}
	}
}

func TestControlChartSaysWhatIsBroken(t *testing.T) {
	p := parse(t, sampleControl(16, "2026-03-11").SVG("x"))
	for _, want := range []string{"certificate ends 2026-03-11", "upper limit", "lower limit", "cp: beyond 3 sigma", "co: moving range beyond its upper limit", "calibrated 2026-03-04", "2026-03-02"} {
		if !p.says(want) {
			t.Errorf("the chart does not say %q", want)
		}
	}
	far := sampleControl(4, "2027-03-11")
	if p := parse(t, far.SVG("x")); !p.says("certificate ends 2027-03-11") {
		t.Error("an end far away is not named")
	}
	far.Points[1].Day = ""
	if p := parse(t, far.SVG("x")); !p.says("in the order made") {
		t.Error("drops without a day are set on days")
	}
	for _, f := range []figure.ControlChart{{}, sampleControl(1, ""), sampleControl(2, "2020-01-01"), {Points: []figure.CheckPoint{{Name: "a", Peak: quantity.Force(nan)}}, Upper: quantity.Force(math.Inf(1))}} {
		if p := parse(t, f.SVG("x")); len(p.texts) == 0 {
			t.Error("nothing is drawn")
		}
	}
}

func TestComparedEdges(t *testing.T) {
	inf := math.Inf(1)
	for _, d := range []figure.Drawing{
		figure.Intervals{}, figure.Intervals{Log: true, Same: 1, Rows: []figure.Interval{{Value: inf, Lo: 0, Hi: inf, Seen: nan}}}, figure.Intervals{Same: nan, Rows: []figure.Interval{{Value: 3, Lo: 3, Hi: 3, Seen: 3}}},
		figure.CellDots{}, figure.CellDots{Places: []string{"a"}, Cells: []figure.DotCell{{Dots: []figure.Dot{{Value: inf}, {Value: nan}, {Value: -1, Outcome: drop.Held}}, Mean: inf}}},
		figure.StrengthCurves{}, figure.StrengthCurves{Kinds: []figure.Strength{{Broke: []quantity.Force{quantity.Force(inf)}}}},
	} {
		if p := parse(t, d.SVG("x")); len(p.attrs) == 0 {
			t.Errorf("%T is no drawing", d)
		}
	}
}
