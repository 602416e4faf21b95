package arrest

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/ode"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// fast computes drops on one polynomial textile with at most one Maxwell branch and a rigid or
// massless rig. Its state is the strain e, the speed v and the branch variable z = E_M e - q; the
// position follows: x = L e + F/k_r.
type fast struct {
	eps float64

	mass, g, until, speed float64
	length, e1, e2, e3    float64
	em, rate              float64 // branch: q' = em e' - rate q
	flex                  float64 // 1/k_r
	strength              float64
	weakest               int

	stiff, perMass float64 // E1 + E_M, 1/m

	e, v, z float64
	f0, d0  float64 // force and its rate at the present state
	t       float64
	scale   float64
	peak    float64 // of the present arrest
	peakAt  float64
	deepest float64
	rising  bool
	sinking bool
	turned  bool // the mass has turned round
	arrests int
	steps   int
	ce, cf  [fastOrder + 1]float64
	cv, cz  [fastOrder + 1]float64
}

// fits tells whether the case is one for the short way.
func (f *fast) fits(c *Case) bool {
	n := len(c.Chain)
	if n == 0 || n > 2 || c.Floor != 0 {
		return false
	}
	t := c.Chain[n-1].Textile
	if t == nil || t.Friction != 0 || t.Set != 0 || len(t.Maxwell) > 1 || t.E1 <= 0 || t.E2 != 0 || t.Strength > 0 && t.BreakRamp != 0 {
		return false
	}
	if n == 2 {
		r := c.Chain[0].Rig
		if r == nil || r.NodeMass != 0 || r.Damping != 0 {
			return false
		}
	}
	return true
}

// load takes the case over and stands at first taut.
func (f *fast) load(c *Case) {
	n := len(c.Chain)
	t := c.Chain[n-1].Textile
	f.mass, f.g, f.until = c.Mass.SI(), orDefault(c.Gravity.SI(), quantity.StandardGravity), orDefault(c.Until.SI(), 1.5)
	f.speed = c.Speed.SI()
	if f.speed == 0 {
		f.speed = math.Sqrt(2 * f.g * c.Fall.SI())
	}
	f.length, f.e1, f.e2, f.e3 = t.Length.SI(), t.E1.SI(), t.E2.SI(), t.E3.SI()
	f.em, f.rate = 0, 0
	if len(t.Maxwell) == 1 && t.Maxwell[0].E > 0 {
		f.em, f.rate = t.Maxwell[0].E.SI(), 1/t.Maxwell[0].Tau.SI()
	}
	f.stiff, f.perMass = f.e1+f.em, 1/f.mass
	f.flex = 0
	if n == 2 {
		f.flex = 1 / c.Chain[0].Rig.Stiffness.SI()
	}
	f.strength, f.weakest = inf, -1
	if t.Strength > 0 && !c.Unbroken {
		f.strength, f.weakest = t.Left(), n-1
	}
	f.t, f.e, f.v, f.z = 0, 0, f.speed, 0
	f.turned = false
	f.scale = f.mass * f.g
	f.arrests, f.steps, f.deepest = 0, 0, 0
	f.begin()
}

func horner(c *[fastOrder + 1]float64, h float64) float64 {
	s := c[fastOrder]
	for k := fastOrder - 1; k >= 0; k-- {
		s = s*h + c[k]
	}
	return s
}

// slopeCurve is the first and second derivative.
func slopeCurve(c *[fastOrder + 1]float64, h float64) (d1, d2 float64) {
	for k := fastOrder; k >= 1; k-- {
		d2 = d2*h + d1
		d1 = d1*h + float64(k)*c[k]
	}
	return d1, d2
}

func valueSlope(c *[fastOrder + 1]float64, h float64) (d0, d1 float64) {
	for k := fastOrder; k >= 0; k-- {
		d1 = d1*h + d0
		d0 = d0*h + c[k]
	}
	return d0, d1
}

// begin starts an arrest.
func (f *fast) begin() {
	f.arrests++
	f.peak, f.peakAt = 0, f.t
	f.rising, f.sinking = true, true
	f.f0, f.d0 = f.look(f.e, f.v, f.z)
}

// look is the force and its rate at a state.
func (f *fast) look(e, v, z float64) (force, rate float64) {
	s := f.e3 * e * e
	k := f.stiff + 3*s
	zs := (f.em*e - z) * f.rate
	es := (v + zs*f.flex) / (f.length + k*f.flex)
	return e*(f.stiff+s) - z, k*es - zs
}

// reach is the step that keeps the last two terms of the force, a and b, below eps.
func (f *fast) reach(a, b float64) float64 {
	const n = fastOrder
	t := ode.RoughLog2(f.eps * f.scale)
	return ode.RoughExp2(min((t-ode.RoughLog2(a))*(1.0/n), (t-ode.RoughLog2(b))*(1.0/(n-1))))
}

// stage is where a drop stands after a step.
type stage uint8

const (
	held     stage = iota // the chain is taut
	airborne              // the chain is slack
	finished
)

func (f *fast) drop(c *Case, out *Summary) {
	f.load(c)
	*out = Summary{Outcome: drop.Held, Broke: -1}
	for {
		f.expand()
		f.steps++
		h := min(f.reach(f.cf[fastOrder], f.cf[fastOrder-1]), f.until-f.t)
		e, v, z := f.ce[fastOrder], f.cv[fastOrder], f.cz[fastOrder]
		for k := fastOrder - 1; k >= 0; k-- {
			e, v, z = e*h+f.ce[k], v*h+f.cv[k], z*h+f.cz[k]
		}
		force, rate := f.look(e, v, z)
		switch f.took(nil, 0, h, e, v, z, force, rate, out) {
		case airborne:
			if f.flight(out) == finished {
				return
			}
		case finished:
			return
		}
	}
}

// took accepts a step of length h to the state (e, v, z) with the force and rate there. In lanes the
// series are fetched only where something happened.
func (f *fast) took(l *lanes, lane int, h, e, v, z, force, rate float64, out *Summary) stage {
	turned := f.rising && rate < 0
	lost := force < 0
	dipped := f.d0 < 0 && rate > 0
	bottom := f.sinking && v <= 0
	if v > 0 {
		f.sinking = true
	}
	if !(turned || lost || bottom || dipped || force > f.strength) {
		f.e, f.v, f.z, f.f0, f.d0 = e, v, z, force, rate
		f.t += h
		if f.until-f.t > 1e-15*f.until {
			return held
		}
		f.t = f.until
		if f.rising {
			f.peak, f.peakAt = force, f.t
		}
		f.close(out)
		return f.stop(out, f.length*e+force*f.flex, v)
	}
	if l != nil {
		l.fetch(f, lane)
	}
	peak := force
	if turned {
		f.rising = false
		at := f.turn(h, f.d0, rate)
		peak = horner(&f.cf, at)
		f.peak, f.peakAt = peak, f.t+at
	}
	if peak > f.strength {
		return f.part(h, force, out)
	}
	if bottom {
		f.sinking, f.turned = false, true
		at := zero(&f.cv, h, f.v, v)
		f.deepest = max(f.deepest, f.length*horner(&f.ce, at)+f.flex*horner(&f.cf, at))
	}
	if dipped && !lost {
		at := f.turn(h, f.d0, rate)
		if low := horner(&f.cf, at); low < 0 {
			h, force, lost = at, low, true
		}
	}
	if lost {
		h = zero(&f.cf, h, f.f0, force)
		e, v, z = horner(&f.ce, h), horner(&f.cv, h), horner(&f.cz, h)
		f.e, f.v, f.z = e, v, z
		f.t += h
		f.close(out)
		return airborne
	}
	f.e, f.v, f.z, f.f0, f.d0 = e, v, z, force, rate
	f.t += h
	if f.until-f.t > 1e-15*f.until {
		return held
	}
	f.t = f.until
	f.close(out)
	return f.stop(out, f.length*e+force*f.flex, v)
}

// close reports the arrest that has ended.
func (f *fast) close(out *Summary) {
	if p := quantity.Force(f.peak); p > out.PeakForce*(1+alike) {
		out.PeakForce, out.PeakTime = p, quantity.Duration(f.peakAt)
	}
	if f.arrests == 2 {
		out.Second = Peak{quantity.Duration(f.peakAt), quantity.Force(f.peak)}
	}
}

func (f *fast) stop(out *Summary, x, v float64) stage {
	out.PeakChain = out.PeakForce
	if out.Certainty = RunTooShort; f.turned || out.Outcome == drop.Broke {
		out.Certainty = PeakPassed
	}
	out.Lowest = quantity.Length(max(f.deepest, x))
	out.End = MassState{quantity.Duration(f.t), quantity.Length(x), quantity.Speed(v)}
	out.Arrests, out.Steps = f.arrests, f.steps
	return finished
}

// part ends the drop where the force reaches the strength within the step h; the mass then falls.
func (f *fast) part(h, force float64, out *Summary) stage {
	hi := h
	if force < f.strength {
		hi = f.peakAt - f.t
	}
	f.cf[0] -= f.strength
	at := zero(&f.cf, hi, f.f0-f.strength, max(horner(&f.cf, hi), 1e-9*f.strength))
	f.t += at
	f.peak, f.peakAt = f.strength, f.t
	f.close(out)
	out.Outcome, out.Broke, out.BrokeTime = drop.Broke, f.weakest, quantity.Duration(f.t)
	x := f.length*horner(&f.ce, at) + f.strength*f.flex
	v := horner(&f.cv, at)
	t := f.until - f.t
	f.t = f.until
	return f.stop(out, x+t*(v+f.g*t/2), v+f.g*t)
}

// turn finds where F' vanishes within h; a and b are F' at both ends, of opposite sign.
func (f *fast) turn(h, a, b float64) float64 {
	lo, hi := 0.0, h
	x := h * a / (a - b)
	for range 60 {
		d1, d2 := slopeCurve(&f.cf, x)
		if (d1 > 0) == (a > 0) {
			lo = x
		} else {
			hi = x
		}
		dx := d1 / d2
		if x -= dx; !(x > lo && x < hi) {
			x = (lo + hi) / 2
			continue
		}
		if math.Abs(dx) <= 1e-6*h {
			break
		}
	}
	return x
}

// zero finds where a series vanishes within h; a and b are its values at both ends, of opposite sign.
func zero(c *[fastOrder + 1]float64, h, a, b float64) float64 {
	lo, hi := 0.0, h
	x := h * a / (a - b)
	for range 60 {
		d0, d1 := valueSlope(c, x)
		if (d0 > 0) == (a > 0) {
			lo = x
		} else {
			hi = x
		}
		dx := d0 / d1
		if x -= dx; !(x > lo && x < hi) {
			if hi-lo <= 1e-15*h {
				break
			}
			x = (lo + hi) / 2
			continue
		}
		if math.Abs(dx) <= 1e-7*h {
			break
		}
	}
	return x
}

// flight carries the mass through the air until it meets the relaxing end of the textile or time is
// up.
func (f *fast) flight(out *Summary) stage {
	x0, v0 := f.length*f.e, f.v
	left := f.until - f.t
	if x := x0 + left*(v0+f.g*left/2); x <= 0 {
		// the end of the textile is never above x = 0
		f.t = f.until
		return f.stop(out, x, v0+f.g*left)
	}
	t, e := -2*v0/f.g, 0.0
	if f.em > 0 && f.e > 0 {
		t, e = f.meet(x0, v0)
	}
	if t >= left {
		f.t = f.until
		return f.stop(out, x0+left*(v0+f.g*left/2), v0+f.g*left)
	}
	f.t += t
	f.v += f.g * t
	f.e = e
	f.z = e * (f.stiff + f.e3*e*e)
	f.begin()
	return held
}

// meet finds when the mass meets the relaxing end, and its strain then. While slack q = -T_el(e), so
// that t = (G(e_0) - G(e))/rate with G = A ln e + (3 - A)/2 ln(E1 + E3 e^2), A = 1 + E_M/E1. The
// unknown is y = ln e.
func (f *fast) meet(x0, v0 float64) (t, e float64) {
	r := relaxation{a: 1 + f.em/f.e1, y0: math.Log(f.e), q0: f.e1 + f.e3*f.e*f.e}
	above := v0*v0 - 2*f.g*x0 // speed squared where the mass passes x = 0
	relaxing := f.length * f.e * r.q0 * f.rate / (f.stiff + 3*f.e3*f.e*f.e)
	hi := r.y0 // the mass is above the end here, or at the start
	var lo, y float64
	if above > relaxing*relaxing {
		// The end cannot catch the mass on its way up: they meet on its way down, below x = 0, where
		// the gap closes steadily. First guess: half-way down, by the decay at small strain.
		y = r.y0 - (-v0+math.Sqrt(v0*v0-f.g*x0))/f.g*f.rate/r.a
		lo = math.Inf(-1)
	} else {
		lo, hi = f.creep(x0, v0, &r)
		y = (lo + hi) / 2
	}
	for range 60 {
		var dt, gap float64
		t, e, dt = f.relax(y, &r)
		x := x0 + t*(v0+f.g*t/2)
		if gap = x - f.length*e; gap < 0 {
			hi = y
		} else {
			lo = y
		}
		slope := (v0+f.g*t)*dt - f.length*e
		dy := gap / slope
		next := y - dy
		if slope >= 0 || x < 0 || next <= lo || next >= hi {
			if next = (lo + hi) / 2; math.IsInf(lo, -1) {
				next = y - 0.5
			}
			if hi-lo < 1e-13 {
				break
			}
			y = next
			continue
		}
		y = next
		if math.Abs(dy) < 1e-7 {
			return t - dt*dy, e * (1 - dy)
		}
	}
	return t, e
}

// relaxation is the closed form of the slack textile: see meet.
type relaxation struct{ a, y0, q0 float64 }

// relax is the time at which the strain is e = exp(y), and dt/dy.
func (f *fast) relax(y float64, r *relaxation) (t, e, dt float64) {
	e = math.Exp(y)
	q := f.e1 + f.e3*e*e
	half := (3 - r.a) / 2
	t = (r.a*(r.y0-y) - half*math.Log(q/r.q0)) / f.rate
	return t, e, -(r.a + half*2*f.e3*e*e/q) / f.rate
}

// creep brackets the meeting of a short hop by small steps of ln e.
func (f *fast) creep(x0, v0 float64, r *relaxation) (lo, hi float64) {
	step := min(0.25, -2*v0/f.g*f.rate/r.a/64)
	hi = r.y0
	for {
		lo = hi - step
		t, e, _ := f.relax(lo, r)
		if x0+t*(v0+f.g*t/2) > f.length*e && lo < r.y0-1.5*step {
			return lo, hi
		}
		hi = lo
		step *= 1.05
	}
}
