// Package figure turns the forces of a drop test into SVG: the same input gives the same bytes.
//
// Every length in a drawing is in points (1/72 inch) at the size it is meant to be printed, so that a
// size of text is the size on paper.
package figure

import (
	"math"
	"strconv"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Widths of a drawing, in points: the text width of an A4 page, and two side by side.
const (
	FullWidth = 482.0
	HalfWidth = 236.0
)

// known tells an outcome that has a look of its own. Any other is drawn as not decided.
func known(o drop.Outcome) bool {
	return o == drop.Held || o == drop.Broke || o == drop.Slipped || o == drop.Void
}

// word is how an outcome is written.
func word(o drop.Outcome, in message.Locale) string {
	if known(o) {
		return in.Say(string(o))
	}
	return in.Say("not decided")
}

// Frame is what every figure has.
type Frame struct {
	Title string         // stands above the drawing and is its name for assistive technology
	Desc  string         // put before the description that the figure makes from its data
	Note  string         // small print under the drawing
	Width float64        // pt; 0 = FullWidth, at least 180
	Depth float64        // pt, height of the plotting area; 0 = chosen by the figure
	In    message.Locale // language and decimal sign; the zero value is English
}

func (f Frame) width() float64 {
	if !(f.Width > 0) || math.IsInf(f.Width, 0) {
		return FullWidth
	}
	return math.Max(f.Width, 180)
}

// Limit is a rated strength or an arrest-force limit, drawn as a line with its name.
type Limit struct {
	Name  string // with the edition: "sewn sling, EN 566"
	Value quantity.Force
	// Arrest tells a limit on the arrest force (dotted) from a least strength (solid).
	Arrest bool
}

// Drawing is a figure ready to be written. id starts the names of its parts: give each drawing in a
// document another one.
type Drawing interface {
	SVG(id string) []byte
}

const (
	kilo  = 1e-3 // N to kN
	milli = 1e3  // s to ms, m to mm
)

// kN prints a force in kilonewtons with two decimals.
func kN(f quantity.Force) string {
	if !drawable(f.SI()) {
		return "not a usable number"
	}
	return fixed(f.SI()*kilo, 2) + " kN"
}

// drawable tells that a value can stand on a drawing: a number of a size that anything here could have.
func drawable(v float64) bool { return math.Abs(v) <= 1e12 }

// speck is the least size of an axis.
const speck = 1e-9

// fixed prints with a fixed number of decimals, and what rounds to nothing without a sign.
func fixed(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if s[0] == '-' && strings.Trim(s, "-0.") == "" {
		return s[1:]
	}
	return s
}
