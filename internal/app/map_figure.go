package app

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"strconv"

	"hardcatch/internal/drop"
	"hardcatch/internal/figure"
	"hardcatch/internal/limits"
	"hardcatch/internal/quantity"
)

// mapNote stands under every map.
const mapNote = "A model with starting values of the material, not ratings and no measurement. For a rigid mass on the stated rig; limits are product and standard limits, not injury thresholds."

// Title names what the map is of.
func (m *Map) Title() string {
	title := "Peak force of " + m.words() + " (starting values, not ratings)"
	if m.Invented && len(m.Drops) > 0 {
		title += "; drops invented"
	}
	return title
}

// words is what the map holds fixed.
func (m *Map) words() string {
	w := m.Asked
	out := spaced(w.Material)
	if w.Knot != "" {
		out += ", " + spaced(w.Knot)
	}
	if w.Absorber {
		out += ", energy absorber"
	}
	fixed := func(q MapQuantity) bool { return m.Across.Quantity != q && m.Up.Quantity != q }
	if fixed(MapMass) {
		out += ", " + w.Mass.Text(3)
	}
	if fixed(MapLength) {
		out += ", length " + metres(w.Length)
	}
	if !mapQuantities[m.Across.Quantity].falls && !mapQuantities[m.Up.Quantity].falls {
		out += ", fall " + metres(w.Fall)
	}
	if fixed(MapRig) {
		out += ", rig " + w.Rig.Text(2)
	}
	return out
}

// Figure is the map as a drawing. width 0 is the full one.
func (m *Map) Figure(width float64) figure.Map {
	f := figure.Map{
		Frame: figure.Frame{Title: m.Title(), Note: mapNote, Width: width}, Across: m.Across.drawn(), Up: m.Up.drawn(),
		X: m.s.fine.X, Y: m.s.fine.Y, PeakN: m.s.fine.V,
	}
	if m.Campaign != "" {
		f.Known = m.known
	}
	for _, l := range m.Levels {
		f.Levels = append(f.Levels, l.Force)
	}
	if m.Parting != nil {
		f.Parts = m.Parting.Force
	}
	for _, l := range m.Limits {
		name := l.Name
		if l.Edition != "" {
			name += ", " + l.Edition
		}
		if l.Slack != nil {
			name += " (from " + metres(*l.Slack) + " of slack on " + metres(m.Asked.Length) + ")"
		}
		f.Limits = append(f.Limits, figure.Limit{Name: name, Value: l.Value, Arrest: l.Kind == limits.Arrest})
	}
	for _, d := range m.Drops {
		if d.Shown {
			f.Drops = append(f.Drops, figure.MapDrop{Name: d.Drop, Outcome: figure.Outcome(d.Outcome), X: d.Across, Y: d.Up, Peak: d.Measured})
		}
	}
	x, y := m.q.place(m.Asked)
	f.Asked = &[2]float64{x, y}
	return f
}

// drawing is a map drawn.
type drawing struct {
	svg  []byte
	plot figure.MapPlot
}

// Draw draws the map, once for each width; the bytes must not be changed.
func (m *Map) Draw(id string, width float64) ([]byte, figure.MapPlot) {
	m.mu.Lock()
	defer m.mu.Unlock()
	d, ok := m.drawn[width]
	if !ok {
		d.svg, d.plot = m.Figure(width).Draw(id)
		if m.drawn == nil {
			m.drawn = map[float64]drawing{}
		}
		m.drawn[width] = d
	}
	return d.svg, d.plot
}

// drawn is the axis as a drawing has it.
func (v MapValues) drawn() figure.MapAxis {
	k := mapQuantities[v.Quantity]
	title := string(k.name[0]-'a'+'A') + k.name[1:]
	out := figure.MapAxis{Title: title, Log: k.log}
	switch {
	case v.Quantity == MapRig:
		out.Title, out.Scale = title+" (MN/m)", 1e-6
	case v.Quantity == MapLength:
		out.Title = "Length of the specimen (m)"
	case v.Quantity == MapSlack:
		out.Title = "Slack: free fall before the specimen is taut (m)"
	case k.unit != "":
		out.Title = title + " (" + k.unit + ")"
	}
	return out
}

// Read is the peak at a place, read off the map.
func (m *Map) Read(across, up float64) quantity.Force {
	i, s := cellOf(m.s.fine.X, across)
	j, t := cellOf(m.s.fine.Y, up)
	g := m.s.fine
	return quantity.Force((g.At(i, j)*(1-s)+g.At(i+1, j)*s)*(1-t) + (g.At(i, j+1)*(1-s)+g.At(i+1, j+1)*s)*t)
}

// cellOf is the cell of an axis that a value lies in, and how far along.
func cellOf(v []float64, at float64) (int, float64) {
	i := 0
	for i < len(v)-2 && v[i+1] <= at {
		i++
	}
	return i, max(0, min(1, (at-v[i])/(v[i+1]-v[i])))
}

// At is the fall at a place of the map.
func (m *Map) At(across, up float64) WhatIf { return m.q.At(across, up) }

// CSV lists the grid of the map, a fall a line, SI units.
func (m *Map) CSV() ([]byte, error) {
	var b bytes.Buffer
	b.WriteString("# model, not a measurement; starting values of " + m.Starting + ", not ratings\n")
	for _, c := range drop.Cautions() {
		b.WriteString("# " + c + "\n")
	}
	w := csv.NewWriter(&b)
	rows := [][]string{{"fall factor", "fall [m]", "length [m]", "mass [kg]", "rig stiffness [N/m]", "peak [N]", "predicted to part", "among the dropped falls"}}
	yes := map[bool]string{true: "yes", false: "no"}
	number := func(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }
	for j, y := range m.Up.Values {
		for i, x := range m.Across.Values {
			f := m.q.At(x, y)
			rows = append(rows, []string{
				number(f.Fall.SI() / f.Length.SI()), number(f.Fall.SI()), number(f.Length.SI()), number(f.Mass.SI()), number(f.Rig.SI()), number(m.Peak[j][i]),
				yes[m.Parting != nil && m.Peak[j][i] >= m.Parting.Force.SI()], yes[m.known(x, y)],
			})
		}
	}
	if err := w.WriteAll(rows); err != nil {
		return nil, fmt.Errorf("map: %w", err)
	}
	return b.Bytes(), nil
}
