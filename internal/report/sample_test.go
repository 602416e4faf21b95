package report_test

import (
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/figure"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/report"
)

func force(v float64) *quantity.Force { f := quantity.Force(v); return &f }
func num(v float64) *float64          { return &v }

// sample is an invented campaign of cells with each drops.
func sample(cells, each int) *report.Document {
	d := &report.Document{
		Title:    "Four winters in the shaft house (invented)",
		Question: "May lanyards that hung four winters in the shaft house stay in service, and can ends tied with a figure-eight stand in for sewn eyes?",
		Notes:    "A mine-rescue depot that does not exist asks about lanyards that do not exist.",
		Invented: true, Made: time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC), Program: "hardcatch 0.1.0",
		Rig: report.Rig{
			Name: "invented tower", Mass: 100, MassU: 0.05, FallU: 0.003, Gravity: 9.80665, GravitySource: "standard gravity", Frequency: 318, Damping: 0.03, AntiAlias: 2000,
			LoadCell: "LC-0 (invented)", Capacity: 50000, Certificate: "INV-2026-01", Calibrated: "2026-01-12", Expires: "2027-01-12", Model: "polynomial of degree 2 through 22 readings",
			From: 0, To: 50000, FitResidual: "0.00011 mV/V", LackOfFit: "one degree more does not fit better (p = 0.4)", ReferenceU: 0.0012,
			Warnings: []string{"no certificate is stated for the amplifier"},
		},
		Method: report.Method{
			Version: "reduce/1", Filter: "CFC 60 (SAE factor, 3 dB at about 100 Hz), zero phase", Sampling: "20 kHz, even", Zero: "mean of the quiet stretch before the rise", Speed: "from the stated fall height", Coverage: 0.95,
			Steps: []report.Step{
				{Name: "calibration", Version: "reduce/1", Settings: []report.Fact{{Name: "degree", Value: "2"}, {Name: "readings", Value: "22"}}},
				{Name: "filter", Version: "reduce/1", Settings: []report.Fact{{Name: "class", Value: "60"}, {Name: "factor", Value: "sae"}}},
			},
		},
		Warnings:   []string{"cell 2: the interval rests on 2 specimens"},
		Provenance: report.Provenance{Head: strings.Repeat("0123456789abcdef", 4), HeadSeq: 221, File: "demo.hardcatch"},
		Budgets: []report.Budget{{
			Drop: "D01", Measure: "Peak force", Unit: "N", Value: 9034.2, U: 88.1, DoF: 41.3, K: 2.02, Coverage: 0.95, Expanded: 178,
			Rows: []report.BudgetRow{
				{Label: "calibration curve", Kind: "A", Shape: "t", U: 6.2, Sensitivity: 1, Contribution: 6.2, DoF: 19},
				{Label: "reference force", Kind: "B", Shape: "normal", U: 0.0012, Sensitivity: 9034.2, Contribution: 10.84, DoF: math.Inf(1)},
				{Label: "filter", Kind: "B", Shape: "rectangular", U: 40, Sensitivity: -1, Contribution: 40, DoF: math.Inf(1)},
			},
			Bias: []string{"sampling: at worst 0.3 N low", "filter: about 70 N low"},
		}},
	}
	strips := figure.StripPlot{Frame: figure.Frame{Title: "Peak force of every specimen"}, Coverage: "95 %", Limits: []figure.Limit{{Name: "rating of the specimen", Value: 15000}, {Name: "energy absorber, EN 355:2002", Value: 6000, Arrest: true}}}
	materials := [][2]string{{"polyester", "webbing 25 mm"}, {"aramid", "cord 6 mm"}}
	for c := range cells {
		m := materials[c%2]
		condition, knot, fall := []string{"new", "four winters"}[c/2%2], []string{"sewn eyes", "figure-eight"}[c/4%2], 0.45+0.45*float64(c/8%2)
		cell := report.Cell{
			Levels: []report.Fact{{Name: "material", Value: m[0]}, {Name: "conditioning", Value: condition}, {Name: "ends", Value: knot}, {Name: "fall", Value: fmt.Sprintf("%.3g m", fall)}},
			Mean:   force(8000 + 700*float64(c)), SD: force(300), Lo: force(7600 + 700*float64(c)), Hi: force(8400 + 700*float64(c)), BreakLo: num(0.0063), BreakHi: num(0.8059),
			Statement: "1 of 4 broke: break probability between 0 % and 81 % (95 % confidence). Mean of the 3 that held 8.00 kN.",
		}
		strip := figure.Strip{Name: fmt.Sprintf("%s, %s, %s, %.3g m", m[0], condition, knot, fall), Mean: *cell.Mean, Lo: *cell.Lo, Hi: *cell.Hi}
		overlay := figure.ForceTime{Frame: figure.Frame{Title: fmt.Sprintf("%d. %s", c+1, strip.Name), Width: figure.HalfWidth}, Top: 22000}
		for k := range each {
			i := c*each + k
			o := []drop.Outcome{drop.Held, drop.Held, drop.Broke, drop.Held, drop.Held, drop.Void, drop.Held}[i%7]
			p := 7900 + 700*float64(c) + 300*math.Sin(float64(i))
			dr := report.Drop{
				ID: fmt.Sprintf("D%02d", i+1), Cell: c + 1, Specimen: fmt.Sprintf("S%02d", i+1), Outcome: o, Peak: force(p), Expanded: force(0.02 * p), K: 2.02, Coverage: 0.95, LowerBound: o == drop.Broke,
				Rate: 20000, Filter: "CFC 60", RigRings: 318, Speed: "from the stated fall height", Audit: report.Agrees, Proposed: string(o), Record: fmt.Sprintf("d%02d.csv", i+1), SHA256: strings.Repeat(fmt.Sprintf("%02x", i%256), 32), Decided: k == 0,
				Checks: []report.Check{
					{Name: "tail at rest is m g", Unit: "N", Expected: num(980.665), Found: num(981.2), U: num(2.1), Verdict: report.Agrees, Meaning: "the mass and the gain agree"},
					{Name: "impulse to rest is m v + m g t", Unit: "N s", Expected: num(420.1), Found: num(419.2), U: num(3.3), Verdict: report.Agrees, Meaning: "speed and force agree"},
					{Name: "flight time is twice the rebound speed over g", Unit: "s", Verdict: report.NotPossible, Meaning: "there is no second arrest"},
				},
			}
			t, e := quantity.Duration(0.0271), quantity.Length(0.131)
			dr.TimeToPeak, dr.Elongation = &t, &e
			if o == drop.Broke {
				dr.Place = drop.Stitching
				cell.Broke++
			}
			if o == drop.Void {
				dr.Reason, dr.Audit, dr.Decided = "the 80 kg mass hung on the hook, 100 kg was entered: the tail at rest does not fit", report.Disagrees, true
				dr.Checks[0] = report.Check{Name: dr.Checks[0].Name, Unit: "N", Expected: num(980.665), Found: num(784.9), U: num(2.1), Verdict: report.Disagrees, Meaning: "the mass is 20 % less than entered, or the gain is wrong; weigh the mass"}
				dr.Decisions = []report.Decision{{At: "2026-03-03 10:12 UTC", By: "tower", Outcome: drop.Void, Reason: dr.Reason}}
				cell.Void++
			}
			if o == drop.Held {
				cell.Held++
			}
			d.Drops = append(d.Drops, dr)
			d.Specimens = append(d.Specimens, report.Specimen{ID: dr.Specimen, Material: m[0], Construction: m[1], Length: 0.9, Knot: knot, Batch: "B1", Conditioning: condition, Rating: 22000, Standard: "EN 354:2010"})
			strip.Specimens = append(strip.Specimens, figure.Specimen{Name: dr.ID, Outcome: figure.Outcome(o), Peak: *dr.Peak, Expanded: *dr.Expanded})
			if o != drop.Void {
				overlay.Records = append(overlay.Records, sampleRecord(dr.ID, p, figure.Outcome(o)))
			}
		}
		cell.N = cell.Held + cell.Broke
		cell.AtLeast = cell.Broke > 0
		strip.AtLeast = cell.AtLeast
		cell.Limits = sampleLimits(p0(cell.Hi))
		d.Cells = append(d.Cells, cell)
		strips.Strips = append(strips.Strips, strip)
		d.Answers = append(d.Answers, report.Answer{Subject: strip.Name, Text: cell.Statement})
		d.Figures = append(d.Figures, report.Figure{Group: "Force against time", Drawing: overlay, Caption: fmt.Sprintf("Cell %d, force against time after taut.", c+1), Half: true})
	}
	if cells > 0 {
		d.Figures = append([]report.Figure{{Group: "Peaks", Drawing: strips, Caption: "Every specimen, a row for each cell."}}, d.Figures...)
		d.Limits = sampleLimits(9000 + 700*float64(cells))
		d.CheckDrops = []report.Drop{{ID: "C1", Specimen: "steel link", Outcome: drop.Held, Peak: force(21000), Expanded: force(400), K: 2, Coverage: 0.95, Audit: report.Doubtful, Rate: 20000, Filter: "CFC 60"}}
	}
	return d
}

func p0(f *quantity.Force) float64 { return f.SI() }

func sampleLimits(peakN float64) []report.Limit {
	var out []report.Limit
	for i, v := range []float64{6, 8, 10, 12, 15, 18, 22, 25} {
		l := report.Limit{Name: fmt.Sprintf("limit of %g kN", v), Value: quantity.Force(1000 * v), Kind: "strength", Edition: "EN 566", Source: "published product tables (printed)", Drop: "D01", Peak: quantity.Force(peakN), Expanded: 200, Verdict: report.StaysBelow}
		if i%3 == 0 {
			l.Kind, l.Terms = "arrest force", "100 kg, 4 m"
		}
		switch {
		case peakN-200 > 1000*v:
			l.Verdict = report.Exceeds
		case peakN+200 > 1000*v:
			l.Verdict = report.WithinReach
		}
		out = append(out, l)
	}
	return out
}

func sampleRecord(name string, peakN float64, o figure.Outcome) figure.Record {
	const rate, long = 4000, 0.055
	r := figure.Record{Name: name, Outcome: o, Rate: rate, Start: -0.005, Peak: quantity.Force(peakN), Expanded: quantity.Force(0.02 * peakN), PeakTime: long / 2, End: long}
	if o == figure.Broke {
		r.PeakTime, r.End = 0.024, 0.024
		r.Peak *= quantity.Force(math.Sin(math.Pi * 0.024 / long))
	}
	for i := range 300 {
		t := float64(i)/rate - 0.005
		f := 0.0
		if t > 0 && t < long && (o != figure.Broke || t <= 0.0241) {
			f = peakN * math.Sin(math.Pi*t/long)
		}
		r.ForceN = append(r.ForceN, f)
	}
	return r
}
