package view

import (
	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
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
	d.Comparison.Warnings = append(compare.UsedSpecimenWarnings(k.Entered.Entries()), StrengthWarnings(d.Comparison.Strengths)...)
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

// StrengthWarnings are the warnings of the fits, one line for each text.
func StrengthWarnings(kinds []compare.SpecimenKind) []message.Sentence {
	var out []message.Sentence
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
		said := make([]message.Sentence, len(names))
		for i, n := range names {
			said[i] = message.Say("%s", message.Names(n))
		}
		kinds := message.Join("; ", said...)
		if n := len(names); n > 1 {
			out = append(out, message.Say("%d {kind|kinds} (%s): %s", n, kinds, w))
			continue
		}
		out = append(out, message.Join(": ", kinds, w))
	}
	return out
}
