package figure

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Record is the force of one drop on an even time base that starts at taut.
type Record struct {
	Name     string // drop
	Outcome  drop.Outcome
	ForceN   []float64          // N; a value that is not finite leaves a gap
	Rate     quantity.Frequency // of the samples
	Start    quantity.Duration  // time of sample 0 after taut, negative before
	Peak     quantity.Force
	Expanded quantity.Force    // expanded uncertainty of the peak, 0 = not given
	PeakTime quantity.Duration // after taut
	End      quantity.Duration // of the arrest after taut: first slack or the break; NaN when the record does not show it
	Known
	Unmeasured []Unmeasured // what of it was not measured, in order
}

// ForceTime lays the records of a cell over each other, aligned at taut. A record that held is a solid
// line, one that broke a dashed one; the glyph at the peak and the sign at the end of the arrest say it
// again, and letters lead from the peaks to the list below.
//
// Records of any length are thinned so that no peak is lost: each column of 0.4 pt keeps its first, least,
// largest and last sample.
type ForceTime struct {
	Frame
	Records []Record
	Limits  []Limit
	// From and To bound the time shown, after taut; both 0 = from shortly before taut to shortly after the
	// last arrest ends. Top is the least upper end of the force axis: give cells the same to compare them.
	From, To quantity.Duration
	Top      quantity.Force
}

// SVG draws the figure.
func (f ForceTime) SVG(id string) []byte {
	from, to := f.window()
	o := overlay{
		Frame: f.Frame, what: f.In.Say("Force against time after taut."), across: f.In.Say("Time after taut (ms)"),
		x: scale{lo: from * milli, hi: to * milli},
	}
	bottom, top := f.span(from, to)
	o.setForce(bottom, top, f.Top, f.Limits)
	for i, r := range f.Records {
		o.curves = append(o.curves, curve{
			name: r.Name, outcome: r.Outcome, peak: r.Peak, expanded: r.Expanded, color: colorOf(i, r.Outcome), Known: r.Known,
			peakAt: point{r.PeakTime.SI() * milli, r.Peak.SI() * kilo}, end: r.endAt(), thin: r.thin, shades: r.shades(),
		})
	}
	return o.svg(id)
}

// shades are what was not measured, in values of the axis.
func (r Record) shades() []shade {
	var out []shade
	for _, u := range r.Unmeasured {
		if lo, hi := u.From.SI()*milli, u.To.SI()*milli; drawable(lo) && drawable(hi) && u.Is != drop.Measured {
			out = append(out, shade{u.Is, lo, hi})
		}
	}
	return out
}

// window is the time shown, s after taut.
func (f ForceTime) window() (from, to float64) {
	from, to = f.From.SI(), f.To.SI()
	if drawable(from) && drawable(to) && to-from > speck {
		return from, to
	}
	last := 0.0
	for _, r := range f.Records {
		end := r.End.SI()
		if !drawable(end) || end <= 0 {
			end = r.Start.SI() + float64(len(r.ForceN)-1)/r.Rate.SI()
		}
		if drawable(end) {
			last = max(last, end)
		}
	}
	if last < speck {
		last = 0.1
	}
	return -0.06 * last, 1.1 * last
}

// samples is the index range of a record that falls into the window, one sample wider on each side.
func (r Record) samples(from, to float64) (a, b int) {
	if !(r.Rate > 1e-6) || !drawable(r.Rate.SI()) || !drawable(r.Start.SI()) {
		return 0, 0
	}
	n := float64(len(r.ForceN))
	lo := math.Floor((from - r.Start.SI()) * r.Rate.SI())
	hi := math.Ceil((to-r.Start.SI())*r.Rate.SI()) + 1
	return int(min(max(lo, 0), n)), int(min(max(hi, 0), n))
}

// span is the range of force in the window, kN.
func (f ForceTime) span(from, to float64) (bottom, top float64) {
	for _, r := range f.Records {
		a, b := r.samples(from, to)
		for _, v := range r.ForceN[a:b] {
			if v *= kilo; drawable(v) {
				top, bottom = max(top, v), min(bottom, v)
			}
		}
		if v := r.Peak.SI() * kilo; drawable(v) {
			top = max(top, v)
		}
		if r.Rebuilt != nil && drawable(r.Rebuilt[1].SI()*kilo) {
			top = max(top, r.Rebuilt[1].SI()*kilo)
		}
	}
	return bottom, top
}

func (r Record) thin(x, y scale) [][]point {
	a, b := r.samples(x.lo/milli, x.hi/milli)
	if a >= b {
		return nil
	}
	newtons := scale{lo: y.lo / kilo, hi: y.hi / kilo, a: y.a, b: y.b}
	dx := milli / r.Rate.SI() * (x.b - x.a) / (x.hi - x.lo)
	return thinColumns(r.ForceN, a, b, x.at(r.Start.SI()*milli), dx, newtons)
}

// endAt is where the sign of the end stands: at the end of the arrest, or half way down the collapse of a
// record that broke. NaN when the record does not show it.
func (r Record) endAt() point {
	nowhere := point{math.NaN(), math.NaN()}
	at := math.Round((r.End.SI() - r.Start.SI()) * r.Rate.SI())
	if !drawable(at) || at < 0 || at >= float64(len(r.ForceN)) {
		return nowhere
	}
	i := int(at)
	if r.Outcome != drop.Broke {
		return point{r.End.SI() * milli, r.ForceN[i] * kilo}
	}
	half := r.Peak.SI() / 2
	for j := i + 1; j < len(r.ForceN); j++ {
		if a, b := r.ForceN[j-1], r.ForceN[j]; a >= half && b < half {
			t := r.Start.SI() + (float64(j-1)+(a-half)/(a-b))/r.Rate.SI()
			return point{t * milli, half * kilo}
		}
	}
	return nowhere
}
