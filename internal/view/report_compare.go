package view

import (
	"fmt"
	"math"
	"strings"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/look"
)

// reportSeed drives what a comparison draws, so that a report gives the same numbers each time; compare's is the same.
const reportSeed = 1

// compare says what the command compare says, with the drawings of the page.
func (d *Report) compare(c *look.Entered, r *Results, draw bool) (err error) {
	if len(r.Cells) == 0 {
		return nil
	}
	now, err := c.Now()
	if err != nil {
		return err
	}
	k := &Campaign{now, r}
	if d.Comparison, err = k.compare(ComparisonOptions{CompareOptions: CompareOptions{Confidence: look.Confidence, Seed: reportSeed}, Goodness: true, In: d.In}); err != nil {
		return err
	}
	d.Comparison.Warnings = append(compare.UsedSpecimenWarnings(c.Entries()), strengthWarnings(d.Comparison.Strengths)...)
	if !draw {
		return nil
	}
	if d.Comparison.Figures, err = k.comparisonFigures(d.Comparison, d.In); err != nil {
		return err
	}
	checks, err := checks(now, d.In)
	if err != nil {
		return err
	}
	d.CheckChart = checks.Wide
	return nil
}

// strengthWarnings are the warnings of the fits, one line for each text.
func strengthWarnings(kinds []compare.SpecimenKind) []string {
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

func orNaN(v *float64) float64 {
	if v == nil {
		return math.NaN()
	}
	return *v
}
