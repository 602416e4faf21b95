package figure

import "github.com/hardcatch/hardcatch/internal/drop"

// Colours are told apart by lightness as well as by hue, and stand at 4.5:1 or more against white; none
// carries a meaning that is not also in a shape, a line style or a word.
const (
	ink   = "#16181d"
	soft  = "#4b5058" // small print, leaders
	hair  = "#d4d6da" // grid
	paper = "#ffffff"
	navy  = "#1d3f74"
	rust  = "#9c3d0c"
	plum  = "#6f2f6b"
	slate = "#5c626b"
)

// series are the colours of records that share a plot, in turn.
var series = []string{"#1d3f74", "#a8480f", "#2b6a50", "#8a2f62", "#6b5a00", "#0f6677", "#40309a", "#5c626b"}

// Sizes of text in pt. None is smaller than small.
const (
	titleSize = 9.5
	bodySize  = 8.5
	small     = 8.0
	leading   = 1.28 // line to line, as a share of the size
)

// look is how an outcome is drawn: never by colour alone.
func lookOf(o drop.Outcome) (color string, dash []float64) {
	switch o {
	case drop.Held:
		return navy, nil
	case drop.Broke:
		return rust, []float64{5, 2.2}
	case drop.Slipped:
		return plum, []float64{7, 2, 1.2, 2}
	case drop.Void:
		return slate, []float64{0.8, 2}
	}
	return slate, []float64{2, 2}
}
