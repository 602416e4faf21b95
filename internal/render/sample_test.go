package render_test

import (
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/figure"
	"github.com/hardcatch/hardcatch/internal/foresee"
	"github.com/hardcatch/hardcatch/internal/limits"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/view"
)

func force(v float64) *quantity.Force { f := quantity.Force(v); return &f }
func num(v float64) *float64          { return &v }

// sample is an invented campaign of cells with each drops.
func sample(cells, each int) *view.Report {
	d := &view.Report{
		Results: view.Results{
			Campaign: "Four winters in the shaft house (invented)",
			Question: "May lanyards that hung four winters in the shaft house stay in service, and can ends tied with a figure-eight stand in for sewn eyes?",
			Invented: true, Warnings: []message.Sentence{message.Told("cell 2: the interval rests on 2 specimens")}, Head: strings.Repeat("0123456789abcdef", 4),
		},
		Notes: "A mine-rescue depot that does not exist asks about lanyards that do not exist.",
		Made:  time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC), Program: "hardcatch 0.1.0", HeadSeq: 221, File: "demo.hardcatch",
		Rig: view.ReportedRig{
			Rig: drop.Rig{
				Name: "invented tower", Mass: 100, MassU: 0.05, FallU: 0.003, Frequency: 318, Damping: 0.03, AntiAlias: 2000,
				LoadCell: drop.LoadCell{Serial: "LC-0 (invented)", Capacity: 50000, Calibration: drop.CalibrationData{Certificate: "INV-2026-01", Date: "2026-01-12", Expires: "2027-01-12", Input: "mV/V", ReferenceU: 0.0012}},
			},
			Fit:      sampleFit(),
			Warnings: []string{"no certificate is stated for the amplifier"},
		},
		Method: view.Method{
			Reduction: &reduce.Reduction{
				Version: "reduce/1", Record: "d01.csv", Settings: reduce.Settings{SpeedMethod: "from the stated fall height"}, Coverage: 0.95,
				Steps: []reduce.Step{
					{Name: "calibration", Version: "reduce/1", Args: map[string]any{"degree": 2, "readings": 22}},
					{Name: "filter", Version: "reduce/1", Args: map[string]any{"class": 60, "factor": "sae"}},
				},
			},
			Filters: []string{"CFC 60 (SAE factor, 3 dB at about 100 Hz), zero phase"}, Rates: []string{"20 kHz"},
		},
	}
	strips := figure.StripPlot{Frame: figure.Frame{Title: "Peak force of every specimen"}, Coverage: "95 %", Limits: []figure.Limit{{Name: "rating of the specimen", Value: 15000}, {Name: "energy absorber, EN 355:2002", Value: 6000, Arrest: true}}}
	materials := [][2]string{{"polyester", "webbing 25 mm"}, {"aramid", "cord 6 mm"}}
	for c := range cells {
		m := materials[c%2]
		condition, knot, fall := []string{"new", "four winters"}[c/2%2], []string{"sewn eyes", "figure-eight"}[c/4%2], 0.45+0.45*float64(c/8%2)
		cell := view.CellResult{Cell: compare.Cell{
			Levels: map[string]string{"material": m[0], "conditioning": condition, "ends": knot, "fall": fmt.Sprintf("%.3g m", fall)},
			Mean:   force(8000 + 700*float64(c)), SD: force(300), Lo: force(7600 + 700*float64(c)), Hi: force(8400 + 700*float64(c)), BreakLo: num(0.0063), BreakHi: num(0.8059),
			Statement: message.Told("1 of 4 broke: break probability between 0 % and 81 % (95 % confidence). Mean of the 3 that held 8.00 kN."),
		}}
		strip := figure.Strip{Name: fmt.Sprintf("%s, %s, %s, %.3g m", m[0], condition, knot, fall), Mean: *cell.Mean, Lo: *cell.Lo, Hi: *cell.Hi}
		overlay := figure.ForceTime{Frame: figure.Frame{Title: fmt.Sprintf("%d. %s", c+1, strip.Name), Width: figure.HalfWidth}, Top: 22000}
		for k := range each {
			i := c*each + k
			o := []drop.Outcome{drop.Held, drop.Held, drop.Broke, drop.Held, drop.Held, drop.Void, drop.Held}[i%7]
			p := 7900 + 700*float64(c) + 300*math.Sin(float64(i))
			id := fmt.Sprintf("D%02d", i+1)
			dr := view.ReportedDrop{
				Row:    compare.Row{Drop: id, Specimen: fmt.Sprintf("S%02d", i+1), Outcome: o, Decided: k == 0, Peak: force(p), Expanded: force(0.02 * p), LowerBound: o == drop.Broke, Audit: string(reduce.Agrees)},
				Entry:  drop.Drop{ID: id, Record: fmt.Sprintf("d%02d.csv", i+1), Specimen: drop.Specimen{ID: fmt.Sprintf("S%02d", i+1), Material: m[0], Construction: m[1], Length: 0.9, Knot: knot, Batch: "B1", Conditioning: condition, Rating: 22000, Standard: "EN 354:2010"}},
				Cell:   c + 1,
				SHA256: strings.Repeat(fmt.Sprintf("%02x", i%256), 32),
				Reduction: &reduce.Reduction{
					PeakK: 2.02, Coverage: 0.95, TimeToPeak: 0.0271, MaxElongation: 0.131, Rate: 20000, Outcome: reduce.Proposal(o),
					Settings: reduce.Settings{Filter: reduce.DefaultFilter, RigFrequency: 318, SpeedMethod: "from the stated fall height"},
					Audit: []reduce.Check{
						{Name: "tail at rest is m g", Unit: "N", Expected: num(980.665), Found: num(981.2), U: num(2.1), Verdict: reduce.Agrees, Meaning: "the mass and the gain agree"},
						{Name: "impulse to rest is m v + m g t", Unit: "N s", Expected: num(420.1), Found: num(419.2), U: num(3.3), Verdict: reduce.Agrees, Meaning: "speed and force agree"},
						{Name: "flight time is twice the rebound speed over g", Unit: "s", Verdict: reduce.NotPossible, Meaning: "there is no second arrest"},
					},
				},
			}
			if o == drop.Broke {
				dr.Place = drop.Stitching
				cell.Broke++
			}
			if o == drop.Void {
				dr.Reason, dr.Audit, dr.Decided = "the 80 kg mass hung on the hook, 100 kg was entered: the tail at rest does not fit", string(reduce.Disagrees), true
				dr.Reduction.Audit[0] = reduce.Check{Name: dr.Reduction.Audit[0].Name, Unit: "N", Expected: num(980.665), Found: num(784.9), U: num(2.1), Verdict: reduce.Disagrees, Meaning: "the mass is 20 % less than entered, or the gain is wrong; weigh the mass"}
				dr.Decisions = []view.Decided{{At: "2026-03-03 10:12 UTC", Decision: drop.Decision{By: "tower", Outcome: drop.Void, Reason: dr.Reason}}}
				cell.Void++
			}
			if o == drop.Held {
				cell.Held++
			}
			d.Drops = append(d.Drops, dr)
			d.Specimens = append(d.Specimens, dr.Entry)
			strip.Specimens = append(strip.Specimens, figure.Specimen{Name: id, Outcome: o, Peak: *dr.Peak, Expanded: *dr.Expanded})
			if o != drop.Void {
				overlay.Records = append(overlay.Records, sampleRecord(id, p, o))
			}
		}
		cell.N = cell.Held + cell.Broke
		cell.MeanIsLowerBound = cell.Broke > 0
		strip.AtLeast = cell.MeanIsLowerBound
		cell.Limits = sampleLimits(p0(cell.Hi))
		d.Cells = append(d.Cells, cell)
		strips.Strips = append(strips.Strips, strip)
		d.InShort = append(d.InShort, view.InShort{Subject: strip.Name, Text: cell.Statement})
		d.Figures = append(d.Figures, view.Figure{Group: "Force against time", Drawing: overlay, Caption: fmt.Sprintf("Cell %d, force against time after taut.", c+1), Half: true})
	}
	if cells > 0 {
		d.Budgets = []view.ReportedDrop{d.Drops[0]}
		r := *d.Drops[0].Reduction
		r.Peak, r.PeakU, r.PeakDoF, r.PeakExpanded = 9034.2, 88.1, 41.3, 178
		r.PeakBudget = []reduce.BudgetRow{
			{Label: "calibration curve", Kind: "A", Shape: "t", U: 6.2, Sensitivity: 1, Contribution: 6.2, DoF: 19},
			{Label: "reference force", Kind: "B", Shape: "normal", U: 0.0012, Sensitivity: 9034.2, Contribution: 10.84, DoF: reduce.DoF(math.Inf(1))},
			{Label: "filter", Kind: "B", Shape: "rectangular", U: 40, Sensitivity: -1, Contribution: 40, DoF: reduce.DoF(math.Inf(1))},
		}
		r.Bias = []reduce.BiasTerm{{Source: "sampling", Text: "at worst 0.3 N low"}, {Source: "filter", Text: "about 70 N low"}}
		d.Budgets[0].Reduction = &r
		d.Figures = append([]view.Figure{{Group: "Peaks", Drawing: strips, Caption: "Every specimen, a row for each cell."}}, d.Figures...)
		d.Limits = sampleLimits(9000 + 700*float64(cells))
		d.CheckDrops = []view.ReportedDrop{{Row: compare.Row{Drop: "C1", Specimen: "steel link", Outcome: drop.Held, Peak: force(21000), Expanded: force(400), Audit: string(reduce.Doubtful)}, Reduction: &reduce.Reduction{PeakK: 2, Coverage: 0.95, Rate: 20000, Settings: reduce.Settings{Filter: reduce.DefaultFilter}}}}
	}
	scenes, err := foresee.Scenes()
	if err != nil {
		panic(err) // they are in the program
	}
	d.Scenes = view.ScenesAlone(scenes, d.In)
	return d
}

// sampleFit is a straight line through three readings in mV/V.
func sampleFit() *reduce.Calibration {
	fit, _, err := reduce.FitCalibration(drop.CalibrationData{Input: "mV/V", ReferenceU: 0.0012, Readings: []drop.Reading{{Applied: 0, Shown: 0.0001}, {Applied: 25000, Shown: 1}, {Applied: 50000, Shown: 2.0001}}})
	if err != nil {
		panic(err)
	}
	return fit
}

func p0(f *quantity.Force) float64 { return f.SI() }

func sampleLimits(peakN float64) []view.LimitVerdict {
	var out []view.LimitVerdict
	for i, v := range []float64{6, 8, 10, 12, 15, 18, 22, 25} {
		l := view.LimitVerdict{Limit: limits.Limit{Name: fmt.Sprintf("limit of %g kN", v), Value: quantity.Force(1000 * v), Kind: "strength", Edition: "EN 566", Source: "published product tables (printed)"}, Drop: "D01", Peak: quantity.Force(peakN), Expanded: 200, Judgement: limits.Judgement{Verdict: limits.Below}}
		if i%3 == 0 {
			l.Kind, l.Terms = "arrest force", "100 kg, 4 m"
		}
		switch {
		case peakN-200 > 1000*v:
			l.Verdict = limits.Exceeds
		case peakN+200 > 1000*v:
			l.Verdict = limits.WithinReach
		case i == 5:
			more := 4
			l.Verdict, l.MoreDrops, l.Cell = limits.CannotTell, &more, 2
		}
		out = append(out, l)
	}
	return out
}

func sampleRecord(name string, peakN float64, o drop.Outcome) figure.Record {
	const rate, long = 4000, 0.055
	r := figure.Record{Name: name, Outcome: o, Rate: rate, Start: -0.005, Peak: quantity.Force(peakN), Expanded: quantity.Force(0.02 * peakN), PeakTime: long / 2, End: long}
	if o == drop.Broke {
		r.PeakTime, r.End = 0.024, 0.024
		r.Peak *= quantity.Force(math.Sin(math.Pi * 0.024 / long))
	}
	for i := range 300 {
		t := float64(i)/rate - 0.005
		f := 0.0
		if t > 0 && t < long && (o != drop.Broke || t <= 0.0241) {
			f = peakN * math.Sin(math.Pi*t/long)
		}
		r.ForceN = append(r.ForceN, f)
	}
	return r
}
