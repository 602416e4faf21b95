package figure

import "fmt"

// Widths of a drawing on a page, pt. A page shows a drawing at PixelsPerPoint or more, so that its smallest text comes to 14 px.
const (
	BroadWidth  = FullWidth
	PanelWidth  = 320.0
	NarrowWidth = 188.0
)

// PixelsPerPoint is the least size at which a page shows a drawing.
const PixelsPerPoint = 14 / small

// sized is a drawing that can be laid out anew for another width.
type sized interface {
	Drawing
	at(width float64) Drawing
}

func (f ForceTime) at(w float64) Drawing       { f.Width = w; return f }
func (f ForceElongation) at(w float64) Drawing { f.Width = w; return f }
func (f StripPlot) at(w float64) Drawing       { f.Width = w; return f }
func (f Intervals) at(w float64) Drawing       { f.Width = w; return f }
func (f CellDots) at(w float64) Drawing        { f.Width = w; return f }
func (f StrengthCurves) at(w float64) Drawing  { f.Width = w; return f }
func (f ControlChart) at(w float64) Drawing    { f.Width = w; return f }
func (f Map) at(w float64) Drawing             { f.Width = w; return f }

// Screen is a drawing for a page, laid out twice: broad for where there is room and narrow for a phone. The style sheet shows the one that
// comes out at PixelsPerPoint or more. Both hold text that is escaped.
func Screen(d Drawing, id string, broad float64) []byte {
	s, ok := d.(sized)
	if !ok {
		return d.SVG(id)
	}
	out := fmt.Appendf(nil, "<div class=\"fit\"><div class=\"broad w%.0f\">", broad)
	out = append(out, s.at(broad).SVG(id)...)
	out = append(out, "</div><div class=\"narrow\">"...)
	out = append(out, s.at(NarrowWidth).SVG(id+"-narrow")...)
	return append(out, "</div></div>"...)
}

// fitRules show the one of the two layouts that fits the room.
func fitRules() string {
	out := "@media screen {\n.fit { container-type: inline-size; } .fit > .broad { display: none; } .fit > .narrow { max-width: 30rem; }\n"
	for _, w := range []float64{PanelWidth, BroadWidth} {
		out += fmt.Sprintf("@container (min-width: %.0fpx) { .fit > .w%.0f { display: block; } .fit > .w%.0f + .narrow { display: none; } }\n", w*PixelsPerPoint, w, w)
	}
	return out + "}\n@media print { .fit > .narrow { display: none; } }\n"
}
