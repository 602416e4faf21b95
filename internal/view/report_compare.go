package view

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
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
	d.Comparison.Warnings = append(compare.Used(c.Entries()), strengthWarnings(d.Comparison.Strengths)...)
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
func strengthWarnings(kinds []compare.Kind) []message.Sentence {
	var order, out []message.Sentence
	of := map[string][]message.Sentence{} // the kinds by the English text
	for _, k := range kinds {
		if k.Fit == nil {
			continue
		}
		for _, w := range k.Fit.Warnings {
			text := w.String()
			if of[text] == nil {
				order = append(order, w)
			}
			of[text] = append(of[text], message.Say("%s", message.Names(k.Name)))
		}
	}
	for _, w := range order {
		kinds := message.Join("; ", of[w.String()]...)
		if n := len(of[w.String()]); n > 1 {
			out = append(out, message.Say("%d kinds (%s): %s", n, kinds, w))
			continue
		}
		out = append(out, message.Join(": ", kinds, w))
	}
	return out
}

func orNaN(v *float64) float64 {
	if v == nil {
		return math.NaN()
	}
	return *v
}
