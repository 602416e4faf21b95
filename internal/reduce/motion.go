package reduce

import "math"

// inputs are what the motion is computed from; each is varied in turn for the uncertainty budgets.
type inputs struct {
	mass, fall, gravity float64
	gain                float64 // factor on the force
	zero                float64 // added to the force, N
	taut                float64 // s
	end                 float64 // s, by which the end of the arrest is shifted
	last                float64 // N: the force at the end, before a break
}

// motion is the path of the mass from taut to the end of the arrest, by integrating
//
//	m x'' = m g - F, x(taut) = 0, x'(taut) = sqrt(2 g h)
//
// with the trapezoidal rule. x includes the deflection of rig and anchor.
type motion struct {
	impactV   float64 // sqrt(2 g h)
	impulse   float64 // integral of F over the arrest
	absorbed  float64 // integral of F dx from taut to the lowest point (or the break), at least 0
	returned  float64 // -integral of F dx from the lowest point to slack
	bottomed  bool    // the mass came to rest before the arrest ended
	zeroTime  float64 // when it did, s
	xMax      float64
	xEnd      float64
	vEnd      float64 // downward
	minLoss   float64 // smallest value of absorbed - returned along the way
	impulseAt float64 // integral of F to the mark
}

// run integrates over the samples of forceN up to index end (inclusive); mark is a time at which the
// impulse is noted. Between taut and the first sample after it the force is taken to rise in a straight
// line from zero. For a break the last step ends at the last sample before the collapse.
func (in inputs) run(forceN []float64, dt float64, end int, endTime, mark float64) motion {
	m := motion{impactV: math.Sqrt(2 * in.gravity * in.fall)}
	v, x, t := m.impactV, 0.0, in.taut
	f := 0.0
	energy := 0.0
	marked := false
	advance := func(nextF, nextT float64) {
		h := nextT - t
		if h <= 0 {
			f = nextF
			return
		}
		mean := (f + nextF) / 2
		step := mean * h
		if !marked && nextT >= mark {
			part := (mark - t) / h
			m.impulseAt = m.impulse + h*part*(f+(nextF-f)*part/2)
			marked = true
		}
		nv := v + in.gravity*h - step/in.mass
		dx := h * (v + nv) / 2
		if v > 0 && nv <= 0 && !m.bottomed {
			part := v / (v - nv)
			m.bottomed = true
			m.zeroTime = t + part*h
			down := h * part * v / 2
			m.xMax = x + down
			m.absorbed = energy + (f+(nextF-f)*part/2)*down
			energy = m.absorbed + (nextF+(f-nextF)*(1-part)/2)*(dx-down)
		} else {
			energy += mean * dx
		}
		x += dx
		v = nv
		m.impulse += step
		if energy < m.minLoss {
			m.minLoss = energy
		}
		f, t = nextF, nextT
	}
	for i := int(math.Ceil(in.taut / dt)); i <= end; i++ {
		at := float64(i) * dt
		if at > endTime {
			break
		}
		advance(forceN[i]*in.gain+in.zero, at)
	}
	if endTime > t {
		advance(in.last*in.gain, endTime)
	}
	if !marked {
		m.impulseAt = m.impulse
	}
	if !m.bottomed {
		m.xMax, m.absorbed = x, energy
	} else {
		m.returned = m.absorbed - energy
	}
	m.xEnd, m.vEnd = x, v
	return m
}

// inputs are the settings' values, and a moment of taut.
func (w *given) inputs(taut float64) inputs {
	return inputs{mass: w.set.Mass.SI(), fall: w.set.Fall.SI(), gravity: w.set.Gravity.SI(), gain: 1, taut: taut}
}

// inputsNow are the inputs with the moment of taut as found.
func (w *timed) inputsNow() inputs { return w.inputs(w.ev.taut) }

// motionOver is the motion under a force.
func (w *timed) motionOver(forceN []float64, in inputs) motion {
	end := w.ev.end
	if w.ev.endKind == "end of record" {
		end = float64(w.ev.endAt) * w.dt
	}
	end += in.end
	at := w.ev.endAt
	if w.ev.endKind == "break" {
		// The force goes on in a straight line from the samples before, to the moment between samples at which it broke off.
		at = min(max(int(end/w.dt), w.ev.first), len(forceN)-1)
		in.last = forceN[at]
		if at > w.ev.first {
			in.last += (forceN[at] - forceN[at-1]) * (end/w.dt - float64(at))
		}
	}
	return in.run(forceN, w.dt, at, end, end)
}

// walk tells elongation and downward speed at each sample of the first arrest under a force, by the same rule as the motion.
func (w *timed) walk(forceN []float64, visit func(sample int, x, v float64)) {
	in := w.inputsNow()
	v, x, f, t := math.Sqrt(2*in.gravity*in.fall), 0.0, 0.0, in.taut
	for i := w.ev.first; i <= w.ev.endAt; i++ {
		at, next := float64(i)*w.dt, forceN[i]
		h := at - t
		nv := v + in.gravity*h - h*(f+next)/(2*in.mass)
		x += h * (v + nv) / 2
		v, f, t = nv, next, at
		visit(i, x, v)
	}
}
