package figure

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Loop is the force of one drop against the elongation of its specimen over the first arrest, from taut
// to slack or to the break.
type Loop struct {
	Name        string // drop
	Outcome     drop.Outcome
	ElongationM []float64 // m
	ForceN      []float64 // N, as many as ElongationM
	Peak        quantity.Force
	Expanded    quantity.Force  // 0 = not given
	PeakAt      quantity.Length // elongation at the peak
	Known
}

// ForceElongation lays force-elongation loops over each other: up while the mass is stopped, back below
// as it is thrown up again. The area between is the energy that the specimen kept. A loop that ends at a
// break has the two strokes there and no way back.
type ForceElongation struct {
	Frame
	Loops  []Loop
	Limits []Limit
	Top    quantity.Force  // least upper end of the force axis
	Reach  quantity.Length // least right end of the elongation axis
}

// SVG draws the figure.
func (f ForceElongation) SVG(id string) []byte {
	bottom, top, x := f.span()
	o := overlay{Frame: f.Frame, what: f.In.Say("Force against elongation."), across: f.In.Say("Elongation (mm)"), x: x}
	o.setForce(bottom, top, f.Top, f.Limits)
	for i, l := range f.Loops {
		o.curves = append(o.curves, curve{
			name: l.Name, outcome: l.Outcome, peak: l.Peak, expanded: l.Expanded, color: colorOf(i, l.Outcome), Known: l.Known,
			peakAt: point{l.PeakAt.SI() * milli, l.Peak.SI() * kilo}, end: l.endAt(), thin: l.thin,
		})
	}
	return o.svg(id)
}

// span is the range of force (kN) and of elongation (mm).
func (f ForceElongation) span() (bottom, top float64, x scale) {
	for _, l := range f.Loops {
		for i := range min(len(l.ElongationM), len(l.ForceN)) {
			e, v := l.ElongationM[i]*milli, l.ForceN[i]*kilo
			if drawable(e) && drawable(v) {
				bottom, top = min(bottom, v), max(top, v)
				x.lo, x.hi = min(x.lo, e), max(x.hi, e)
			}
		}
		if v := l.Peak.SI() * kilo; drawable(v) {
			top = max(top, v)
		}
		if l.Rebuilt != nil && drawable(l.Rebuilt[1].SI()*kilo) {
			top = max(top, l.Rebuilt[1].SI()*kilo)
		}
		if v := l.PeakAt.SI() * milli; drawable(v) {
			x.hi = max(x.hi, v)
		}
	}
	if v := f.Reach.SI() * milli; drawable(v) {
		x.hi = max(x.hi, v)
	}
	if x.hi-x.lo < speck {
		x.hi = x.lo + 1
	}
	x.hi += 0.04 * (x.hi - x.lo)
	return bottom, top, x
}

func (l Loop) thin(x, y scale) [][]point {
	return thinPath(l.ElongationM, l.ForceN, scale{lo: x.lo / milli, hi: x.hi / milli, a: x.a, b: x.b}, scale{lo: y.lo / kilo, hi: y.hi / kilo, a: y.a, b: y.b})
}

func (l Loop) endAt() point {
	n := min(len(l.ElongationM), len(l.ForceN))
	if n == 0 {
		return point{math.NaN(), math.NaN()}
	}
	return point{l.ElongationM[n-1] * milli, l.ForceN[n-1] * kilo}
}
