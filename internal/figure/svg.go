package figure

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/hardcatch/hardcatch/internal/message"
)

// svg writes a scene. id starts the names of its parts.
func (s *scene) svg(id string) []byte {
	w := &svgWriter{id: safeID(id), in: s.in}
	w.put(`<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-labelledby="`, w.id, `-title `, w.id, `-desc" width="`)
	w.num(s.width)
	w.put(`pt" height="`)
	w.num(s.height)
	w.put(`pt" viewBox="0 0 `)
	w.num(s.width)
	w.put(` `)
	w.num(s.height)
	w.put("\" font-family=\"Helvetica, Arial, 'DejaVu Sans', sans-serif\" fill=\"none\">\n")
	w.put(`<title id="`, w.id, `-title">`, escape(s.in.Number(s.title)), "</title>\n")
	w.put(`<desc id="`, w.id, `-desc">`, escape(s.in.Number(s.desc)), "</desc>\n")
	w.put(`<rect width="100%" height="100%" fill="`, paper, "\"/>\n")
	w.group(&s.root)
	w.put("</svg>\n")
	return w.buf
}

type svgWriter struct {
	buf   []byte
	id    string
	in    message.Locale
	clips int
}

func (w *svgWriter) put(parts ...string) {
	for _, p := range parts {
		w.buf = append(w.buf, p...)
	}
}

// num writes a number with at most two decimals and no needless zeros. A value that is not a number is a
// mistake of the figure's code.
func (w *svgWriter) num(v float64) {
	if !drawable(v) {
		panic(fmt.Sprintf("figure: %v is not a place on a drawing", v))
	}
	n := round2(v)
	if n < 0 {
		w.buf = append(w.buf, '-')
		n = -n
	}
	w.buf = strconv.AppendInt(w.buf, n/100, 10)
	if f := n % 100; f != 0 {
		w.buf = append(w.buf, '.', byte('0'+f/10))
		if f%10 != 0 {
			w.buf = append(w.buf, byte('0'+f%10))
		}
	}
}

func (w *svgWriter) attr(name string, v float64) {
	w.put(" ", name, `="`)
	w.num(v)
	w.put(`"`)
}

func (w *svgWriter) group(g *group) {
	w.put("<g")
	if g.clip != nil {
		w.clips++
		clip := w.id + "-clip" + strconv.Itoa(w.clips)
		w.put(` clip-path="url(#`, clip, `)"><clipPath id="`, clip, `"><rect`)
		w.attr("x", g.clip.x0)
		w.attr("y", g.clip.y0)
		w.attr("width", g.clip.w())
		w.attr("height", g.clip.h())
		w.put("/></clipPath>\n")
	} else {
		w.put(">\n")
	}
	if g.name != "" {
		w.put("<title>", escape(w.in.Number(g.name)), "</title>\n")
	}
	for _, m := range g.marks {
		switch m := m.(type) {
		case *group:
			w.group(m)
		case outline:
			w.outline(m)
		case disc:
			w.put("<circle")
			w.attr("cx", m.at.x)
			w.attr("cy", m.at.y)
			w.attr("r", m.r)
			w.paint(m.pen, m.fill)
			w.put("/>\n")
		case *label:
			w.label(m)
		}
	}
	w.put("</g>\n")
}

func (w *svgWriter) outline(o outline) {
	w.put(`<path d="`)
	for _, run := range o.runs {
		for i, p := range run {
			switch i {
			case 0:
				w.put("M")
			case 1:
				w.put("L")
			default:
				w.put(" ")
			}
			w.num(p.x)
			w.put(" ")
			w.num(p.y)
		}
		if o.closed {
			w.put("Z")
		}
	}
	w.put(`"`)
	w.paint(o.pen, o.fill)
	if o.tint > 0 {
		w.attr("fill-opacity", o.tint)
	}
	w.put("/>\n")
}

func (w *svgWriter) paint(p pen, fill string) {
	if fill != "" {
		w.put(` fill="`, fill, `"`)
	}
	if p.width <= 0 {
		return
	}
	w.put(` stroke="`, p.color, `"`)
	w.attr("stroke-width", p.width)
	w.put(` stroke-linejoin="round"`)
	for i, d := range p.dash {
		if i == 0 {
			w.put(` stroke-dasharray="`)
		} else {
			w.put(" ")
		}
		w.num(d)
	}
	if len(p.dash) > 0 {
		w.put(`"`)
	}
}

func (w *svgWriter) label(l *label) {
	if l.text == "" {
		return
	}
	w.put("<text")
	w.attr("x", l.at.x)
	w.attr("y", l.at.y)
	w.attr("font-size", l.size)
	switch l.anchor {
	case middle:
		w.put(` text-anchor="middle"`)
	case right:
		w.put(` text-anchor="end"`)
	}
	if l.bold {
		w.put(` font-weight="bold"`)
	}
	w.put(` fill="`, l.color, `">`, escape(w.in.Number(l.text)), "</text>\n")
}

var escaper = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&#34;", "'", "&#39;")

func escape(s string) string { return escaper.Replace(clean(s)) }

// safeID keeps letters, digits, - and _ of a name and writes every other byte as its number, so that
// different names stay different.
func safeID(id string) string {
	var b strings.Builder
	if id == "" || !letter(id[0]) {
		b.WriteByte('_')
	}
	for i := range len(id) {
		switch c := id[i]; {
		case letter(c), c >= '0' && c <= '9', c == '-':
			b.WriteByte(c)
		default:
			fmt.Fprintf(&b, "_%02x", c)
		}
	}
	return b.String()
}

func letter(c byte) bool { return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' }
