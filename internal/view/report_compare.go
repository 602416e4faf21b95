package view

import (
	"fmt"
	"math"
	"strings"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/figure"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/report"
)

// reportSeed drives what a comparison draws, so that a report gives the same numbers each time; compare's is the same.
const reportSeed = 1

// reportComparison says what the command compare says.
func reportComparison(c *look.Entered, d *report.Document, r *Results, in message.Locale, figures bool) error {
	if len(r.Cells) == 0 {
		return nil
	}
	entries := c.Entries()
	cells := make([]compare.Cell, len(r.Cells))
	for i := range r.Cells {
		cells[i] = r.Cells[i].Cell
	}
	k, err := compareAll(c, entries, cells, CompareOptions{Confidence: look.Confidence, Seed: reportSeed})
	if err != nil {
		return err
	}
	d.Comparison = &report.Comparison{
		Confidence: k.Confidence, Contrasts: k.Contrasts, PeakEffects: k.PeakEffects, StrengthEffects: k.StrengthEffects, Strengths: k.Strengths, Ratios: k.StrengthRatios,
		Interference: k.Interference, Outliers: k.Outliers, Repeatability: k.Repeatability, Checks: k.Checks, Warnings: compare.Used(entries),
	}
	d.Comparison.Warnings = append(d.Comparison.Warnings, strengthWarnings(k.Strengths)...)
	if figures {
		comparisonFigures(d.Comparison, cells, in)
	}
	return nil
}

// strengthWarnings are the warnings of the fits, one line for each text.
func strengthWarnings(kinds []compare.Kind) []string {
	var order, out []string
	of := map[string][]string{}
	for _, k := range kinds {
		if k.Fit == nil {
			continue
		}
		for _, w := range k.Fit.Warnings {
			if of[w] == nil {
				order = append(order, w)
			}
			of[w] = append(of[w], k.Name)
		}
	}
	for _, w := range order {
		if n := len(of[w]); n > 1 {
			out = append(out, fmt.Sprintf("%d kinds (%s): %s", n, strings.Join(of[w], "; "), w))
			continue
		}
		out = append(out, of[w][0]+": "+w)
	}
	return out
}

// comparisonFigures draws the effects, the strengths and the check drops.
func comparisonFigures(k *report.Comparison, cells []compare.Cell, in message.Locale) {
	for _, e := range []*compare.Effects{k.PeakEffects, k.StrengthEffects} {
		if e == nil || len(e.Effects) == 0 {
			continue
		}
		of, _ := in.Find(e.Of)
		f := figure.Ratios{Frame: figure.Frame{Title: in.Say("All factors together: %s", of), Note: in.Say("1 means no difference."), In: in}, Across: in.Say("times as high")}
		for _, x := range e.Effects {
			f.Rows = append(f.Rows, figure.Ratio{Name: in.Names(x.Level) + " / " + in.Names(x.Base), Value: x.Ratio, Lo: orNaN(x.Lo), Hi: orNaN(x.Hi)})
		}
		k.RatioFigures = append(k.RatioFigures, report.Figure{Drawing: f, Caption: "Ratios with their 95 % intervals, from the regression over all drops that takes bounds into account."})
	}
	for _, s := range k.Strengths {
		if s.Fit != nil {
			k.Curves = append(k.Curves, report.Figure{Drawing: printedStrength(s, cells, in), Half: true,
				Caption: "Steps: product-limit estimate (Kaplan-Meier) of the share that holds, dotted its 95 % interval; dashed: Weibull fit. Below: // broke at that strength, ●→ held: at least that strong."})
		}
	}
	if c := k.Checks; c != nil && c.N >= 2 {
		f := figure.CheckDrops{Frame: figure.Frame{Title: in.Say("Peaks of the check drops"), In: in}, Names: c.Drops, Centre: quantity.Force(c.Centre), Lower: quantity.Force(c.Lower), Upper: quantity.Force(c.Upper)}
		for _, p := range c.Peaks {
			f.Peaks = append(f.Peaks, quantity.Force(p))
		}
		for _, p := range c.EWMA {
			f.Average = append(f.Average, quantity.Force(p))
		}
		k.CheckFigures = []report.Figure{{Drawing: f, Caption: "Check drops between their control limits; dotted: exponentially weighted moving average."}}
	}
}

func orNaN(v *float64) float64 {
	if v == nil {
		return math.NaN()
	}
	return *v
}

func printedStrength(k compare.Kind, cells []compare.Cell, in message.Locale) figure.StrengthCurve {
	f := figure.StrengthCurve{Frame: figure.Frame{Title: in.Names(k.Name), Width: figure.HalfWidth, In: in}}
	for _, s := range k.Fit.KM {
		f.Steps = append(f.Steps, figure.ShareStep{Force: quantity.Force(s.Value), Share: s.Survival, Lo: orNaN(s.Lo), Hi: orNaN(s.Hi)})
	}
	if shape, size := k.Fit.Shape, k.Fit.Scale; shape != nil && size != nil {
		f.Fit = func(v quantity.Force) float64 { return math.Exp(-math.Pow(v.SI()/(*size), *shape)) }
	}
	for _, c := range cells {
		if !hasLevels(c.Levels, k.Levels) {
			continue
		}
		for _, row := range c.Drops {
			switch {
			case row.Peak == nil:
			case row.Outcome == drop.Broke:
				f.Broke = append(f.Broke, *row.Peak)
			case row.Outcome == drop.Held:
				f.Held = append(f.Held, *row.Peak)
			}
		}
	}
	return f
}

// hasLevels tells that a cell has all levels of a kind of specimen.
func hasLevels(cell, kind map[string]string) bool {
	for f, l := range kind {
		if cell[f] != l {
			return false
		}
	}
	return true
}
