package render_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/figure"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/plan"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/view"
)

// compared is an invented campaign of two materials and two falls, with what compare says of it.
func compared(t testing.TB) *view.ComparisonView {
	t.Helper()
	var entries []compare.Entry
	rng := rand.New(rand.NewPCG(7, 7))
	for i := range 24 {
		material, fall := []string{"polyester", "aramid"}[i%2], quantity.Length(0.45)*quantity.Length(1+i/2%2)
		peak := quantity.Force(9000 * (1 + 0.4*float64(i%2) + 0.4*float64(i/2%2)) * (1 + 0.03*rng.NormFloat64()))
		e := compare.Entry{
			Drop:    drop.Drop{ID: fmt.Sprintf("D%02d", i+1), Specimen: drop.Specimen{ID: fmt.Sprintf("S%02d", i+1), Material: material, Length: 0.9}, Fall: fall, Role: drop.Trial, Taken: []string{"2026-03-03", "2026-03-04"}[i/12]},
			Outcome: drop.Held, Decided: true, Peak: peak, Expanded: peak / 100, Trusted: true, Audit: string(reduce.Agrees),
		}
		if i%2 == 1 && i/2%2 == 1 && i%3 != 0 {
			e.Outcome = drop.Broke
		}
		entries = append(entries, e)
	}
	for i := range 4 {
		entries = append(entries, compare.Entry{
			Drop:    drop.Drop{ID: fmt.Sprintf("C%d", i+1), Order: i, Specimen: drop.Specimen{ID: "steel link", Material: "steel", Length: 0.9}, Fall: 0.1, Role: drop.Check, Taken: "2026-03-03"},
			Outcome: drop.Held, Decided: true, Peak: quantity.Force(21000 + 10*float64(i*i%3)), Expanded: 200, Trusted: true,
		})
	}
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	cells, err := compare.Cells(entries, 0.95)
	must(err)
	k := &view.ComparisonView{Comparison: view.Comparison{Confidence: 0.95, Checks: compare.ChartChecks(entries), Outliers: compare.Outliers(cells), Repeatability: compare.AnalyseRepeatability(entries, cells)}}
	k.Contrasts, err = compare.Contrasts(cells, compare.Against{}, 1)
	must(err)
	k.PeakEffects, err = compare.PeakEffects(entries, compare.Against{}, 0.95)
	must(err)
	k.StrengthEffects, err = compare.StrengthEffects(entries, censor.Weibull, compare.Against{}, 0.95)
	must(err)
	k.Strengths, err = compare.SpecimenKinds(entries, compare.StrengthOptions{Confidence: 0.95})
	must(err)
	k.StrengthRatios = compare.StrengthRatios(k.Strengths, compare.Against{}, 0.95)
	k.Interference, err = compare.Interferences(cells, k.Strengths, 0.95, 1)
	must(err)
	k.Warnings = []message.Sentence{message.Told("2 kinds (polyester; aramid): With fewer than five values seen the intervals of the curve are rough.")}
	effects := figure.Intervals{Frame: figure.Frame{Title: "Strength, all factors together", Width: figure.HalfWidth}, Axis: "Strength", Log: true, Same: 1, Rows: []figure.Interval{{Name: "aramid against polyester", Value: 1.4, Lo: 1.3, Hi: 1.5, Seen: math.NaN()}}}
	k.Figures = view.ComparisonFigures{StrengthEffects: &view.Drawing{Of: effects}}
	return k
}

func planned() *view.PlanReport {
	return &view.PlanReport{
		Plan: plan.Plan{Seed: 20261125, Replicates: 4, Days: 2, Batches: []string{"A", "B"}}, PlanProgress: look.PlanProgress{Planned: 10, Taken: 9, Open: []string{"D08"}, Extra: []string{"X1"}}, Checks: 2,
		CanShow:  message.Told("With 4 against 4, all holding, and peaks that scatter by 5 %, the smallest ratio found with 80 % power is 1.12 (t test of log peaks, two-sided, 5 %). No exact two-sided test of ranks or break counts can give p below 0.029, and that only when all of one group lie beyond all of the other. If none of 4 breaks, a break probability of up to 61 % is still possible (95 % confidence)."),
		Warnings: message.TellAll([]string{"cell 2: connectors: 18.0 kN would be passed if the specimen held: the cell stays within only because the specimen is expected to part first; where that is not sure, fall shorter or use stronger parts"}),
		Cells: []view.PlannedCell{
			{Number: 1, Name: "polyester, 450 mm fall", Planned: 4, Taken: 4, Void: 1, Forecast: &plan.Forecast{Peak: plan.Band{P05: 8000, P50: 9000, P95: 10000}, BreakProb: 0.02, Runs: true}},
			{Number: 2, Name: "aramid, 450 mm fall", Planned: 4, Taken: 3, Forecast: &plan.Forecast{Peak: plan.Band{P05: 12000, P50: 13000, P95: 14000}, BreakProb: 0.4, Sentences: message.TellAll([]string{"connectors: 20.0 kN is predicted (95th percentile), the limit is 18.0 kN; a fall of up to 400 mm would stay within it, or a mass of up to 80 kg with the planned fall"})}},
			{Number: 3, Name: "aramid, 900 mm fall", Planned: 4},
		},
	}
}

// whole is a document with every part filled.
func whole(t testing.TB) *view.Report {
	d := sample(2, 4)
	d.Comparison, d.Plan = compared(t), planned()
	d.Planned = []string{"D08"}
	d.Checklists = []drop.Checklist{{Drop: "D01", By: "tower", Items: []drop.CheckItem{{Key: "camera", State: drop.CheckSkipped, Reason: "battery empty", Found: "there is no live source to see it on"}}}, {Drop: "D02"}, {Drop: "D03"}}
	for i := range d.Drops {
		d.Drops[i].Reduction.Evidence = []string{"the mass hangs at the end: 981.3 N, where m g is 980.7 N"}
		d.Drops[i].Reduction.Bias = []reduce.BiasTerm{{Source: "sampling", Text: "at 20.0 kHz a half-sine as sharp as this peak (31 ms) is under-read by at most 0.1 % and by 0.05 % on average before interpolation"}}
		d.Drops[i].Warnings = []string{"no calibration is given: the budget of the peak leaves the force scale out; give the certificate's readings, or the relative uncertainty"}
	}
	d.Drops[0].Warnings = append(d.Drops[0].Warnings, "the record does not tell whether the specimen held: look at it and decide")
	return d
}
