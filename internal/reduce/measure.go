package reduce

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/num/uncert"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// measured are the measures of the first arrest. What is nil the record does not tell.
type measured struct {
	list            []Measure
	riseRate        *quantity.ForceRate
	secant, tangent *quantity.Stiffness
	returned        *quantity.Energy
	rebound         *quantity.Speed
	loss            *quantity.Ratio
}

// named is the standard uncertainty of a measure, 0 where there is none.
func (m measured) uOf(name string) float64 {
	for _, k := range m.list {
		if k.Name == name {
			return k.U
		}
	}
	return 0
}

// nodeMomentum is the standard uncertainty that the node of the rig leaves in the impulse, N s: what it carries where the arrest ends is in the
// load cell's force and not in the specimen's. A node that rings with the root mean square r carries r/w, with w in radians a second; r is
// seen in flight, where nothing else pulls. One that follows a force which falls by s N a second moves with s/k, k its stiffness, and carries s/w^2 more;
// as the slope at the very end is less, anything from none of it to all is taken. Zero where the node is not stated, or the arrest does not end in slack.
func (w *timed) nodeMomentum() float64 {
	f := w.set.RigFrequency.SI()
	if f <= 0 || w.ev.endKind != "slack" {
		return 0
	}
	from := w.ev.endAt + 1
	to := min(from+int(3/f/w.dt), len(w.forceN))
	if len(w.ev.later) > 0 {
		to = min(to, w.ev.later[0].from)
	}
	if float64(to-from)*w.dt < 1/f || to-from < 8 {
		return 0
	}
	mean, ss := 0.0, 0.0
	for _, v := range w.forceN[from:to] {
		mean += v / float64(to-from)
	}
	for _, v := range w.forceN[from:to] {
		ss += sq(v-mean) / float64(to-from)
	}
	omega := 2 * math.Pi * f
	i := w.ev.endAt
	for i > w.ev.peakAt && w.forceN[i] < 0.15*w.ev.topN {
		i--
	}
	slope := w.forceN[i] / math.Max(w.ev.end-float64(i)*w.dt, w.dt)
	return math.Hypot(math.Sqrt(math.Max(ss-sq(w.noiseN), 0))/omega, math.Max(slope, 0)/sq(omega)/math.Sqrt(3))
}

// ofMotion is a measure that follows from the motion.
type ofMotion struct {
	name, unit string
	value      float64
	of         func(motion) float64
}

// measure finds the measures of the first arrest with their budgets.
func (w *moved) measure() (out measured) {
	m := w.motion
	if !w.bound.hidden() {
		rate := quantity.ForceRate(0.8 * w.peak.value / math.Max(w.ev.rise, w.dt))
		out.riseRate = &rate
		out.secant, out.tangent = w.stiffness()
	}
	names := []ofMotion{
		{"impulse", "N s", m.impulse, func(m motion) float64 { return m.impulse }},
		{"energy absorbed", "J", m.absorbed, func(m motion) float64 { return m.absorbed }},
		{"largest elongation", "m", m.xMax, func(m motion) float64 { return m.xMax }},
		{"impact speed", "m/s", m.impactV, func(m motion) float64 { return m.impactV }},
	}
	if w.ev.endKind == "slack" && m.bottomed {
		ret := quantity.Energy(m.returned)
		reb := quantity.Speed(-m.vEnd)
		out.returned, out.rebound = &ret, &reb
		if m.absorbed > 0.001*w.set.Mass.SI()*w.set.Gravity.SI()*m.xMax && m.xMax > 1e-4 {
			loss := quantity.Ratio((m.absorbed - m.returned) / m.absorbed)
			out.loss = &loss
			names = append(names, ofMotion{"loss factor", "", loss.SI(), func(m motion) float64 { return (m.absorbed - m.returned) / m.absorbed }})
		}
		names = append(names,
			ofMotion{"energy returned", "J", m.returned, func(m motion) float64 { return m.returned }},
			ofMotion{"rebound speed", "m/s", -m.vEnd, func(m motion) float64 { return -m.vEnd }})
	}
	if w.ev.endKind == "end of record" {
		w.warn("the record ends at %.3f s, before the force has returned to zero: duration, impulse and energy reach to the end of the record only", float64(w.clock(w.ev.end)))
	}
	add := func(of func(motion) float64, name, unit string, value float64, parts []uncert.Component) {
		c, err := uncert.Combine(w.set.Coverage, parts...)
		if err != nil {
			w.warn("the measure %q is left out: its uncertainty cannot be told (%v)", name, err)
			return
		}
		out.list = append(out.list, w.bounded(Measure{Name: name, Unit: unit, Value: value, U: c.U, DoF: DoF(c.DoF), Budget: rows(parts)}, of))
	}
	add(nil, "arrest duration", "s", quantity.Duration(w.ev.end-w.ev.taut).SI(), []uncert.Component{
		{Label: "moment of taut", Kind: "B", Shape: "rectangular", U: w.ev.tautU, DoF: math.Inf(1), Sensitivity: 1},
		{Label: "moment of the end", Kind: "B", Shape: "rectangular", U: math.Max(w.ev.endU, w.dt/math.Sqrt(12)), DoF: math.Inf(1), Sensitivity: 1},
	})
	vs := w.variations(w.inputsNow())
	node := w.nodeMomentum()
	for _, n := range names {
		parts := n.components(vs)
		if share, ok := map[string]float64{"impulse": 1, "rebound speed": 1 / w.set.Mass.SI()}[n.name]; ok && node > 0 {
			parts = append(parts, uncert.Component{Label: "momentum of the rig's node at the end", Kind: "A", Shape: "arcsine", U: node, Sensitivity: share, DoF: math.Inf(1)})
		}
		add(n.of, n.name, n.unit, n.value, parts)
	}
	w.step("motion", map[string]any{"rule": "trapezoidal, unfiltered force", "impact_speed_mps": m.impactV, "speed_method": w.set.SpeedMethod, "bottomed": m.bottomed})
	return out
}

// gainU is the relative standard uncertainty of the force scale at the peak.
func (w *topped) gainU() (u, dof float64) {
	if w.cal != nil {
		cu, cd := w.cal.U(quantity.Force(w.peak.value))
		rel := cu.SI() / w.peak.value
		ref := w.set.Calibration.ReferenceU.SI()
		if total := math.Hypot(rel, ref); total > 0 {
			// Welch-Satterthwaite for the fit's share; the reference is taken as well known.
			return total, cd * math.Pow(total/math.Max(rel, 1e-300), 4)
		}
		return 0, math.Inf(1)
	}
	return w.set.GainU.SI(), math.Inf(1)
}

// variation is the motion with one input raised and lowered by its standard uncertainty.
type variation struct {
	label, kind, shape string
	u, dof             float64
	lo, hi             motion
}

// variations runs the motion twice for each uncertain input; all measures share the runs.
func (w *moved) variations(in inputs) []variation {
	gain, gainDoF := w.gainU()
	inf := math.Inf(1)
	var out []variation
	vary := func(label, kind, shape string, u, dof float64, set func(*inputs, float64)) {
		if !(u > 0) {
			return
		}
		lo, hi := in, in
		set(&lo, -u)
		set(&hi, u)
		out = append(out, variation{label, kind, shape, u, dof, w.motionOver(w.wholeN, lo), w.motionOver(w.wholeN, hi)})
	}
	vary("force scale", "B", "normal", gain, gainDoF, func(i *inputs, d float64) { i.gain += d })
	vary("zero", "A", "t", w.zeroU, w.zeroDoF, func(i *inputs, d float64) { i.zero += d })
	vary("mass", "B", "normal", w.set.MassU.SI(), inf, func(i *inputs, d float64) { i.mass += d })
	vary("fall height", "B", "normal", math.Min(w.set.FallU.SI(), in.fall), inf, func(i *inputs, d float64) { i.fall += d })
	vary("moment of the end", "B", "rectangular", w.ev.endU, inf, func(i *inputs, d float64) { i.end += d })
	vary("moment of taut", "B", "rectangular", w.ev.tautU, inf, func(i *inputs, d float64) { i.taut = max(0, i.taut+d) })
	return out
}

// components takes half the difference of a measure under both signs of each input as that input's
// contribution (JCGM 100:2008, 5.1.3, note 2).
func (n ofMotion) components(vs []variation) []uncert.Component {
	var parts []uncert.Component
	for _, v := range vs {
		c := uncert.Component{Label: v.label, Kind: v.kind, Shape: v.shape, U: v.u, DoF: v.dof, Sensitivity: (n.of(v.hi) - n.of(v.lo)) / (2 * v.u)}
		if c.Sensitivity != 0 {
			parts = append(parts, c)
		}
	}
	return parts
}

// stiffness is the secant stiffness (peak force over the elongation at the peak) and the tangent stiffness
// (least squares of force on elongation between 50 % and 90 % of the peak on the way up).
func (w *moved) stiffness() (secant, tangent *quantity.Stiffness) {
	var x, n, sx, sf, sxx, sxf float64
	w.walk(w.wholeN, func(i int, at, _ float64) {
		if float64(i)*w.dt > w.peak.time {
			return
		}
		x = at
		if s := w.lowN[i]; s >= 0.5*w.peak.value && s <= 0.9*w.peak.value {
			n++
			sx += x
			sf += s
			sxx += x * x
			sxf += x * s
		}
	})
	if x > 0 {
		k := quantity.Stiffness(w.peak.value / x)
		secant = &k
	}
	if d := n*sxx - sx*sx; n >= 3 && d > 0 {
		k := quantity.Stiffness((n*sxf - sx*sf) / d)
		tangent = &k
	}
	return secant, tangent
}
