package web

import (
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/figure"
	"github.com/hardcatch/hardcatch/internal/foresee"
	"github.com/hardcatch/hardcatch/internal/limits"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

type mapView struct {
	Typed      typedMap
	Map        *foresee.Map
	Refused    message.Sentence
	Materials  []string
	Knots      []foresee.WhatIfKnot
	Quantities []foresee.MapQuantity
	Limits     []limitChoice
	Wide, Slim []byte        // the map for broad and for narrow screens
	OverWide   template.HTML // a link for each place of the map
	OverSlim   template.HTML
	Query      string // of this map, to give it away as a file
	Across     []string
	Rows       []mapRow
	Length     string
	Height     string
	Worst, P95 string // of the reading, as a share
	Says       []mapSaying
}

// mapSaying is a sentence on limits of one value.
type mapSaying struct {
	Slack *quantity.Length
	Value quantity.Force
	Names []string
}

// typedMap is the form as it stands.
type typedMap struct {
	typedFall
	X, X0, X1, Y, Y0, Y1, Own, OwnName string
}

type limitChoice struct {
	limits.Limit
	Chosen bool
}

type mapRow struct {
	Up    string
	Cells []mapCell
}

type mapCell struct {
	foresee.MapCell
	Link string
}

// showMap draws the peak over two quantities of the fall from the address, so that it can be kept and sent.
func (s *Server) showMap(w http.ResponseWriter, r *http.Request) error {
	l := localeOf(r)
	v := mapView{Materials: arrest.StartingSetNames(), Knots: foresee.WhatIfKnots(), Quantities: foresee.MapQuantities()}
	q, err := readMap(l, r.URL.Query())
	if err == nil {
		v.Map, err = s.maps.Of(r.Context(), s.s, q)
	}
	status := http.StatusOK
	v.Typed = typedAs(l, r.URL.Query(), v.Map)
	if err != nil {
		v.Refused, status = message.Why(err), http.StatusUnprocessableEntity
	} else {
		v.show(l, r)
	}
	chosen := foresee.MapLimits()
	if q.Limits != nil {
		chosen = q.Limits
	}
	for _, x := range limits.Current() {
		c := limitChoice{Limit: x}
		for _, name := range chosen {
			c.Chosen = c.Chosen || name == x.Name
		}
		v.Limits = append(v.Limits, c)
	}
	return s.render(w, r, status, "map", v)
}

// slimWidth is the width of the map for narrow screens, pt.
const slimWidth = figure.NarrowWidth

// show makes what the page has of the answer.
func (v *mapView) show(l locale, r *http.Request) {
	var at figure.MapPlot
	v.Wide, at = v.Map.Draw("map", 0, l.Locale)
	v.OverWide = v.over(l, at, 24, 15)
	v.Slim, at = v.Map.Draw("map-slim", slimWidth, l.Locale)
	v.OverSlim = v.over(l, at, 8, 6)
	v.Query = r.URL.RawQuery
	v.Length, v.Height = metres(l, v.Map.Asked.Length), metres(l, v.Map.Asked.Fall)
	v.Worst, v.P95 = l.share(v.Map.Reading.Worst.SI()), l.share(v.Map.Reading.P95.SI())
	for _, x := range v.Map.Limits {
		n := len(v.Says)
		switch {
		case x.Slack == nil:
		case n > 0 && v.Says[n-1].Value == x.Value:
			v.Says[n-1].Names = append(v.Says[n-1].Names, x.Name)
		default:
			v.Says = append(v.Says, mapSaying{x.Slack, x.Value, []string{x.Name}})
		}
	}
	for _, c := range v.Map.Table[0].Cells {
		v.Across = append(v.Across, axisText(l, v.Map.Across.Quantity, c.Across))
	}
	for _, row := range v.Map.Table {
		x := mapRow{Up: axisText(l, v.Map.Up.Quantity, row.Up)}
		for _, c := range row.Cells {
			x.Cells = append(x.Cells, mapCell{c, "/model?" + fallQuery(l, v.Map.At(c.Across, row.Up))})
		}
		v.Rows = append(v.Rows, x)
	}
}

// metres writes a length as the trade does: 0.35 m.
func metres(l locale, x quantity.Length) string {
	return l.number(fmt.Sprintf("%.2f\u00a0m", x.SI()))
}

// share is a share in percent, to two digits.
func (l locale) share(x float64) string { return l.number(significant(100*x, 2)) + "\u00a0%" }

// slack is a length that was rounded down, to the centimetre or below 0.1 m to the millimetre.
func (l locale) slack(x *quantity.Length) string {
	if x.SI() < 0.1 {
		return l.number(fmt.Sprintf("%.3f\u00a0m", x.SI()))
	}
	return metres(l, *x)
}

// offby is how far a drop is from the model, with its expanded uncertainty.
func (l locale) offby(d foresee.MapDrop) string {
	text := fmt.Sprintf("%+.1f", 100*d.Difference.SI())
	if d.Expanded > 0 {
		text += fmt.Sprintf(" ± %.1f", 100*d.Expanded.SI()/d.Predicted.SI())
	}
	if d.LowerBound {
		text = "≥ " + text
	}
	return l.number(strings.NewReplacer("-", "\u2212", " ", "\u00a0").Replace(text) + "\u00a0%")
}

func axisText(l locale, q foresee.MapQuantity, v float64) string {
	if (q == foresee.MapLength || q == foresee.MapFall || q == foresee.MapSlack) && v > 0 {
		return metres(l, quantity.Length(v))
	}
	return l.number(strings.ReplaceAll(q.Text(v, 3), " ", "\u00a0"))
}

// fallQuery is a fall as the pages What if and Map take it from the address.
func fallQuery(l locale, w foresee.WhatIf) string {
	q := url.Values{
		"mass": {typedAt(l, foresee.MapMass, w.Mass.SI())}, "fall": {typedAt(l, foresee.MapFall, w.Fall.SI())}, "length": {typedAt(l, foresee.MapLength, w.Length.SI())}, "rig": {typedAt(l, foresee.MapRig, w.Rig.SI())},
		"material": {w.Material}, "knot": {w.Knot},
	}
	if w.Absorber {
		q.Set("absorber", "on")
	}
	return q.Encode()
}

// typedAt is a value as a person would type it.
func typedAt(l locale, q foresee.MapQuantity, v float64) string {
	unit := map[foresee.MapQuantity]string{foresee.MapMass: " kg", foresee.MapFall: " m", foresee.MapSlack: " m", foresee.MapLength: " m", foresee.MapRig: " MN/m"}[q]
	if q == foresee.MapRig {
		v /= 1e6
	}
	return l.number(strconv.FormatFloat(v, 'g', 4, 64) + unit)
}

// over lays a link over each part of the plot. It lies over the drawing for pointers; the table of single falls is the same for
// keyboards and screen readers.
func (v *mapView) over(l locale, at figure.MapPlot, columns, rows int) template.HTML {
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="over" viewBox="0 0 %.2f %.2f" aria-hidden="true" focusable="false" data-left="%.2f" data-right="%.2f" data-top="%.2f" data-bottom="%.2f">`, at.Width, at.Height, at.Left, at.Right, at.Top, at.Bottom)
	w, h := (at.Right-at.Left)/float64(columns), (at.Bottom-at.Top)/float64(rows)
	for j := range rows {
		y := v.Map.Up.Place(1 - (float64(j)+0.5)/float64(rows))
		for i := range columns {
			x := v.Map.Across.Place((float64(i) + 0.5) / float64(columns))
			says := fmt.Sprintf("%s %s, %s %s: %s", l.Text(v.Map.Across.Quantity.Name()), axisText(l, v.Map.Across.Quantity, x), l.Text(v.Map.Up.Quantity.Name()), axisText(l, v.Map.Up.Quantity, y), l.number(v.Map.Read(x, y).Text(3)))
			fmt.Fprintf(&b, `<a href="%s" tabindex="-1"><title>%s</title><rect x="%.2f" y="%.2f" width="%.2f" height="%.2f"/></a>`,
				template.HTMLEscapeString("/model?"+fallQuery(l, v.Map.At(x, y))), template.HTMLEscapeString(says), at.Left+w*float64(i), at.Top+h*float64(j), w, h)
		}
	}
	b.WriteString("</svg>")
	return template.HTML(b.String())
}

// readMap reads what is asked for as typed in the reader's language. What is not given stays open: the campaign fills it.
func readMap(l locale, v url.Values) (q foresee.MapQuestion, err error) {
	q.Material, q.Knot, q.Absorber = v.Get("material"), v.Get("knot"), v.Get("absorber") != ""
	fall := v.Get("fall")
	if strings.TrimSpace(fall) == "" {
		fall = l.number("0.9 m")
	}
	for _, f := range []struct {
		name, text string
		to         interface{ UnmarshalText([]byte) error }
	}{{"mass", v.Get("mass"), &q.Mass}, {"fall", fall, &q.Fall}, {"length", v.Get("length"), &q.Length}, {"rig stiffness", v.Get("rig"), &q.Rig}} {
		if err := readInto(l, f.name, f.text, f.to); err != nil {
			return q, err
		}
	}
	if q.Across, err = readAxis(l, v, "x"); err != nil {
		return q, err
	}
	if q.Up, err = readAxis(l, v, "y"); err != nil {
		return q, err
	}
	if v.Has("limits") || v.Has("limit") {
		q.Limits = append([]string{}, v["limit"]...)
		q.Own = &foresee.OwnLimit{Name: v.Get("ownname")}
		if err := readInto(l, "own rating", v.Get("own"), &q.Own.Value); err != nil {
			return q, err
		}
	}
	return q, nil
}

// readAxis reads a quantity with its range. A range that was typed for another quantity does not count.
func readAxis(l locale, v url.Values, name string) (a foresee.MapAxis, err error) {
	a.Quantity = foresee.MapQuantity(v.Get(name))
	if was := v.Get(name + "was"); a.Quantity == "" || was != "" && was != v.Get(name) {
		return a, nil
	}
	for _, end := range []struct {
		key string
		to  *float64
	}{{"0", &a.From}, {"1", &a.To}} {
		text := strings.TrimSpace(v.Get(name + end.key))
		if text == "" {
			continue
		}
		if text, err = l.Read(text); err != nil {
			return a, fmt.Errorf("%s: %w", a.Quantity.Name(), err)
		}
		if *end.to, err = a.Quantity.Read(text); err != nil {
			return a, err
		}
	}
	return a, nil
}

// typedAs is the form as it was typed, and as it was understood where nothing was.
func typedAs(l locale, v url.Values, m *foresee.Map) typedMap {
	t := typedMap{
		typedFall: typedFall{v.Get("mass"), v.Get("fall"), v.Get("length"), v.Get("rig"), v.Get("material"), v.Get("knot"), v.Get("absorber")},
		X:         v.Get("x"), X0: v.Get("x0"), X1: v.Get("x1"), Y: v.Get("y"), Y0: v.Get("y0"), Y1: v.Get("y1"), Own: v.Get("own"), OwnName: v.Get("ownname"),
	}
	if !v.Has("limits") && !v.Has("limit") {
		t.Own, t.OwnName = l.number("12 kN"), l.Text("small chock")
	}
	if m == nil {
		return t
	}
	w := m.Asked
	t.Mass, t.Fall, t.Length, t.Rig, t.Material = typedAt(l, foresee.MapMass, w.Mass.SI()), typedAt(l, foresee.MapFall, w.Fall.SI()), typedAt(l, foresee.MapLength, w.Length.SI()), typedAt(l, foresee.MapRig, w.Rig.SI()), w.Material
	t.X, t.X0, t.X1 = string(m.Across.Quantity), typedAt(l, m.Across.Quantity, m.Across.From), typedAt(l, m.Across.Quantity, m.Across.To)
	t.Y, t.Y0, t.Y1 = string(m.Up.Quantity), typedAt(l, m.Up.Quantity, m.Up.From), typedAt(l, m.Up.Quantity, m.Up.To)
	return t
}

// asked computes the map that an address asks for.
func (s *Server) asked(r *http.Request) (*foresee.Map, error) {
	q, err := readMap(localeOf(r), r.URL.Query())
	if err != nil {
		return nil, err
	}
	return s.maps.Of(r.Context(), s.s, q)
}

// leadToFall leads from a place pointed at on the map to the fall there. The place is in shares of the axes as drawn.
func (s *Server) leadToFall(w http.ResponseWriter, r *http.Request) error {
	m, err := s.asked(r)
	if err != nil {
		return err
	}
	var at [2]float64
	for i, name := range []string{"pointx", "pointy"} {
		v, err := strconv.ParseFloat(r.URL.Query().Get(name), 64)
		if err != nil || !(v >= 0 && v <= 1) {
			return fmt.Errorf("%s: give a share of the axis from 0 to 1", name)
		}
		at[i] = v
	}
	http.Redirect(w, r, "/model?"+fallQuery(localeOf(r), m.At(m.Across.Place(at[0]), m.Up.Place(at[1]))), http.StatusSeeOther)
	return nil
}

// giveMapDrawing gives the map as a file.
func (s *Server) giveMapDrawing(w http.ResponseWriter, r *http.Request) error {
	m, err := s.asked(r)
	if err != nil {
		return err
	}
	give(w, "image/svg+xml", "map.svg", m.Figure(0, localeOf(r).Locale).SVG("map"))
	return nil
}

// giveMapGrid gives the map's grid as a file.
func (s *Server) giveMapGrid(w http.ResponseWriter, r *http.Request) error {
	m, err := s.asked(r)
	if err != nil {
		return err
	}
	data, err := m.CSV()
	if err != nil {
		return err
	}
	give(w, "text/csv; charset=utf-8", "map.csv", data)
	return nil
}

func give(w http.ResponseWriter, kind, name string, data []byte) {
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
	// The client has gone when this fails.
	_, _ = w.Write(data)
}

// apiMap is the map in numbers.
func (s *Server) apiMap(w http.ResponseWriter, r *http.Request) error {
	m, err := s.asked(r)
	if err != nil {
		return err
	}
	s.json(w, http.StatusOK, m)
	return nil
}
