package view

import (
	"fmt"
	"strings"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/look"
)

// reportSeed drives what a comparison draws, so that a report gives the same numbers each time; compare's is the same.
const reportSeed = 1

// compare says what the command compare says, with the drawings of the page.
func (d *Report) compare(k *Campaign, draw bool) (err error) {
	if len(k.Cells) == 0 {
		return nil
	}
	if d.Comparison, err = k.compare(ComparisonOptions{CompareOptions: CompareOptions{Confidence: look.Confidence, Seed: reportSeed}, Goodness: true, In: d.In}); err != nil {
		return err
	}
	d.Comparison.Warnings = append(compare.UsedSpecimenWarnings(k.Entered.Entries()), strengthWarnings(d.Comparison.Strengths)...)
	if !draw {
		return nil
	}
	if d.Comparison.Figures, err = k.comparisonFigures(d.Comparison, d.In); err != nil {
		return err
	}
	checks, err := checks(k.Moment, d.In)
	if err != nil {
		return err
	}
	d.CheckChart = checks.Wide
	return nil
}

// strengthWarnings are the warnings of the fits, one line for each text.
func strengthWarnings(kinds []compare.SpecimenKind) []string {
	var out []string
	var warned look.ByText
	for _, k := range kinds {
		if k.Fit == nil {
			continue
		}
		for _, w := range k.Fit.Warnings {
			warned.Add(w, k.Name)
		}
	}
	for w, names := range warned.All() {
		if n := len(names); n > 1 {
			out = append(out, fmt.Sprintf("%d kinds (%s): %s", n, strings.Join(names, "; "), w))
			continue
		}
		out = append(out, names[0]+": "+w)
	}
	return out
}
