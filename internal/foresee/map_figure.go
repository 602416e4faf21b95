package foresee

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"strconv"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/figure"
	"github.com/hardcatch/hardcatch/internal/limits"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// mapNote stands under every map.
const mapNote = "A model with starting values of the material, not ratings and no measurement. For a rigid mass on the stated rig; limits are product and standard limits, not injury thresholds."

// Title names what the map is of.
func (m *Map) Title() string { return m.titleIn(message.English()) }

func (m *Map) titleIn(in message.Locale) string {
	title := in.Say("Peak force of %s (starting values, not ratings)", m.words(in))
	if m.Invented && len(m.Drops) > 0 {
		title += "; " + in.Say("drops invented")
	}
	return title
}

// words is what the map holds fixed.
func (m *Map) words(in message.Locale) string {
	w := m.Asked
	out := spaced(in.Word(w.Material))
	if w.Knot != "" {
		out += ", " + spaced(in.Word(w.Knot))
	}
	if w.Absorber {
		out += ", " + in.Say("energy absorber")
	}
	fixed := func(q MapQuantity) bool { return m.Across.Quantity != q && m.Up.Quantity != q }
	if fixed(MapMass) {
		out += ", " + w.Mass.Text(3)
	}
	if fixed(MapLength) {
		out += ", " + in.Say("length") + " " + metres(w.Length)
	}
	if !mapQuantities[m.Across.Quantity].falls && !mapQuantities[m.Up.Quantity].falls {
		out += ", " + in.Say("fall") + " " + metres(w.Fall)
	}
	if fixed(MapRig) {
		out += ", " + in.Say("rig") + " " + w.Rig.Text(2)
	}
	return out
}

// Figure is the map as a drawing with the words of a language. width 0 is the full one.
func (m *Map) Figure(width float64, in message.Locale) figure.Map {
	f := figure.Map{
		Frame: figure.Frame{Title: m.titleIn(in), Note: in.Say(mapNote), Width: width, In: in}, Across: m.Across.drawn(in), Up: m.Up.drawn(in),
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
		name := in.Word(l.Name)
		if l.Edition != "" {
			name += ", " + l.Edition
		}
		if l.Slack != nil {
			name += " (" + in.Say("from %s of slack on %s", metres(*l.Slack), metres(m.Asked.Length)) + ")"
		}
		f.Limits = append(f.Limits, figure.Limit{Name: name, Value: l.Value, Arrest: l.Kind == limits.Arrest})
	}
	for _, d := range m.Drops {
		if d.Shown {
			f.Drops = append(f.Drops, figure.MapDrop{Name: d.Drop, Outcome: d.Outcome, X: d.Across, Y: d.Up, Peak: d.Measured})
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

// Draw draws the map, once for each width and language; the bytes must not be changed.
func (m *Map) Draw(id string, width float64, in message.Locale) ([]byte, figure.MapPlot) {
	m.mu.Lock()
	defer m.mu.Unlock()
	key := fmt.Sprint(in.Lang(), width)
	d, ok := m.drawn[key]
	if !ok {
		d.svg, d.plot = m.Figure(width, in).Draw(id)
		if m.drawn == nil {
			m.drawn = map[string]drawing{}
		}
		m.drawn[key] = d
	}
	return d.svg, d.plot
}

// drawn is the axis as a drawing has it.
func (v MapValues) drawn(in message.Locale) figure.MapAxis {
	k := mapQuantities[v.Quantity]
	title := look.Capital(in.Word(k.name))
	out := figure.MapAxis{Title: title, Log: k.log}
	switch {
	case v.Quantity == MapRig:
		out.Title, out.Scale = title+" (MN/m)", 1e-6
	case v.Quantity == MapLength:
		out.Title = in.Say("Length of the specimen (m)")
	case v.Quantity == MapSlack:
		out.Title = in.Say("Slack: free fall before the specimen is taut (m)")
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
