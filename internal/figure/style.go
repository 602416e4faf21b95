package figure

import "github.com/hardcatch/hardcatch/internal/drop"

// Colours are told apart by lightness as well as by hue, and stand at 4.5:1 or more against paper (ochre, which fills stripes only, at
// 3:1); none carries a meaning that is not also in a shape, a line style or a word. On a page each stands in the role that roleOf names.
const (
	ink   = "#231f1a"
	soft  = "#574f45" // small print, leaders
	hair  = "#d8cdb9" // grid
	paper = "#fffefb"
	teal  = "#0b5a60" // held
	iron  = "#8a3217" // broke: never without its torn end or its hatching
	plum  = "#5e376d"
	slate = "#5c554b"
	ochre = "#9c6500" // doubt
)

// series are the colours of records that share a plot, in turn.
var series = []string{teal, iron, "#3f5d1f", "#84305c", "#63540a", "#275a86", "#443a8f", "#5a5650"}

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
		return teal, nil
	case drop.Broke:
		return iron, []float64{5, 2.2}
	case drop.Slipped:
		return plum, []float64{7, 2, 1.2, 2}
	case drop.Void:
		return slate, []float64{0.8, 2}
	}
	return slate, []float64{2, 2}
}
