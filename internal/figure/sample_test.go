package figure_test

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/figure"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// All samples are invented: half-sines with some ringing, no real specimen.

const sampleRate = 20000

// pulse is an arrest of the given peak and length; a broken one ends at share of it.
func pulse(peakN, lengthS, share, ringN float64) []float64 {
	n := int(sampleRate * (lengthS*1.6 + 0.02))
	out := make([]float64, n)
	for i := range out {
		t := float64(i)/sampleRate - 0.02
		switch {
		case t < 0 || t > lengthS:
			out[i] = 4 * math.Sin(2*math.Pi*50*t)
		case t/lengthS > share:
			out[i] = 0.15 * peakN * math.Exp(-(t-share*lengthS)*900) * math.Cos((t-share*lengthS)*4500)
		default:
			out[i] = peakN*math.Pow(math.Sin(math.Pi*t/lengthS), 1.3) + ringN*math.Sin(2*math.Pi*310*t)*math.Exp(-t*60)
		}
	}
	return out
}

func record(name string, peakN, lengthS float64, o drop.Outcome) figure.Record {
	share, at, end := 2.0, lengthS/2, lengthS
	if o == drop.Broke {
		share, at, end = 0.41, 0.41*lengthS, 0.41*lengthS
	}
	r := figure.Record{
		Name: name, Outcome: o, Rate: sampleRate, Start: -0.02, ForceN: pulse(peakN, lengthS, share, 0.02*peakN),
		Expanded: quantity.Force(0.021 * peakN), PeakTime: quantity.Duration(at), End: quantity.Duration(end),
	}
	r.Peak = quantity.Force(r.ForceN[int(math.Round((at+0.02)*sampleRate))-1])
	return r
}

func loop(name string, peakN, longM float64, o drop.Outcome) figure.Loop {
	l := figure.Loop{Name: name, Outcome: o, Peak: quantity.Force(peakN), Expanded: quantity.Force(0.02 * peakN), PeakAt: quantity.Length(longM)}
	for i := range 400 {
		e := float64(i) / 399
		l.ElongationM, l.ForceN = append(l.ElongationM, longM*e), append(l.ForceN, peakN*(0.45*e+0.55*e*e))
	}
	if o == drop.Broke {
		return l
	}
	for i := range 400 {
		e := 1 - float64(i)/399
		l.ElongationM, l.ForceN = append(l.ElongationM, longM*(0.18+0.82*e)), append(l.ForceN, peakN*math.Pow(e, 2.4))
	}
	return l
}

func sampleLimits() []figure.Limit {
	return []figure.Limit{
		{Name: "rating of the specimen", Value: 15000},
		{Name: "anchor device, EN 795:2012", Value: 12000},
		{Name: "lanyard, textile, EN 354:2010", Value: 22000},
		{Name: "sewn sling, EN 566", Value: 22000},
		{Name: "energy absorber, EN 355:2002", Value: 6000, Arrest: true},
		{Name: "body harness, 29 CFR 1926 subpart M", Value: 8006.8, Arrest: true},
	}
}

const invented = "Invented scenario: simulated records, no real product."

func sampleForceTime() figure.ForceTime {
	return figure.ForceTime{
		Frame:  figure.Frame{Title: "Polyester webbing, four winters, sewn eyes, fall 0.9 m", Note: invented},
		Limits: sampleLimits(),
		Records: []figure.Record{
			record("D07", 13200, 0.062, drop.Held), record("D19", 13900, 0.060, drop.Held),
			record("D23", 13600, 0.061, drop.Broke), record("D41", 12800, 0.0635, drop.Slipped),
		},
	}
}

func sampleLoops() figure.ForceElongation {
	return figure.ForceElongation{
		Frame:  figure.Frame{Title: "Polyester webbing, four winters, sewn eyes, fall 0.9 m", Note: invented},
		Limits: sampleLimits()[:2],
		Loops: []figure.Loop{
			loop("D07", 13200, 0.131, drop.Held), loop("D19", 13900, 0.128, drop.Held), loop("D23", 12900, 0.110, drop.Broke),
		},
	}
}

// sampleStrips is cells rows of each specimens.
func sampleStrips(cells, each int) figure.StripPlot {
	s := figure.StripPlot{
		Frame:  figure.Frame{Title: "Peak force of every specimen", Note: invented},
		Limits: sampleLimits(), Coverage: "95 %",
	}
	materials := []string{"polyester, webbing 25 mm", "aramid, cord 6 mm"}
	for c := range cells {
		row := figure.Strip{
			Name: fmt.Sprintf("%s, %s, %s, %.2f m", materials[c%2], []string{"new", "four winters"}[c/2%2], []string{"sewn eyes", "figure-eight"}[c/4%2], 0.45+0.45*float64(c/8%2)),
			Mean: quantity.Force(math.NaN()), Lo: quantity.Force(math.NaN()), Hi: quantity.Force(math.NaN()),
		}
		sum, n := 0.0, 0
		for k := range each {
			d := figure.Specimen{
				Name: fmt.Sprintf("D%02d", c*each+k+1), Outcome: drop.Held,
				Peak: quantity.Force(7000 + 700*float64(c) + 330*math.Sin(float64(7*c+3*k))),
			}
			d.Expanded = d.Peak * 0.022
			switch (c*5 + k*3) % 11 {
			case 3, 7:
				d.Outcome = drop.Broke
			case 5:
				d.Outcome = drop.Slipped
			case 9:
				d.Outcome = drop.Void
			}
			if d.Outcome == drop.Held {
				sum, n = sum+d.Peak.SI(), n+1
			}
			row.AtLeast = row.AtLeast || d.Outcome == drop.Broke
			row.Specimens = append(row.Specimens, d)
		}
		if n > 0 {
			row.Mean = quantity.Force(sum / float64(n))
			row.Lo, row.Hi = row.Mean-380, row.Mean+380
		}
		s.Strips = append(s.Strips, row)
	}
	return s
}

// sampleMap is the peak on a linear spring in series with a rig (Wexler, Am. Alpine J. 1950), over fall factor and length.
func sampleMap() figure.Map {
	m := figure.Map{
		Frame:  figure.Frame{Title: "Peak force of a linear sling, 100 kg (starting values, not ratings)", Note: invented},
		Across: figure.MapAxis{Title: "Fall factor"}, Up: figure.MapAxis{Title: "Length of the specimen (m)"},
		Limits: sampleLimits(), Parts: 19000, Known: func(x, y float64) bool { return math.Abs(y-0.9) < 0.1 && x > 0.4 && x < 1.6 },
		Asked: &[2]float64{1, 0.9},
	}
	const n = 48
	for i := range n + 1 {
		m.X = append(m.X, 2*float64(i*i)/(n*n))
		m.Y = append(m.Y, 0.3*math.Pow(10, float64(i)/n))
	}
	for _, l := range m.Y {
		for _, f := range m.X {
			const w = 980.665
			k := 1 / (l/120e3 + 1/1e6)
			m.PeakN = append(m.PeakN, w+math.Sqrt(w*w+2*w*k*f*l))
		}
	}
	for f := 2000.0; f <= 20000; f += 2000 {
		m.Levels = append(m.Levels, quantity.Force(f))
	}
	for i, o := range []drop.Outcome{drop.Held, drop.Held, drop.Broke, drop.Slipped, drop.Held} {
		m.Drops = append(m.Drops, figure.MapDrop{Name: fmt.Sprintf("D%02d", i+1), Outcome: o, X: 0.5 + 0.5*float64(i/2), Y: 0.9, Peak: quantity.Force(11000 + 2000*i)})
	}
	return m
}
