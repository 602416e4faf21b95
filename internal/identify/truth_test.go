package identify

import (
	"math"
	"math/rand/v2"
)

// body is a specimen with its rig in an integrator of its own, written without the engine: fixed steps of the classical Runge-Kutta method, with the friction
// held within its bound and the largest strain noted after each.
type body struct {
	length, e1, e2, e3, em, tau, mu, kf, set float64
	kr, mc, zeta                             float64
	mass, fall, strength                     float64
}

const g0 = 9.80665

// record integrates the fall and writes what the load cell shows at rate, from before taut on.
func (b body) record(rate, before, after float64) (force []float64, broke bool, end float64) {
	const h = 4e-6
	cr := 2 * b.zeta * math.Sqrt(b.kr*b.mc)
	// x, v of the mass, x, v of the node, q of the branch, friction
	s := [6]float64{0, math.Sqrt(2 * g0 * b.fall), 0, 0, 0, 0}
	top := 0.0
	elastic := func(s *[6]float64) float64 {
		d := (s[0] - s[2]) / b.length
		e := d - b.set*max(top, d)
		if e < 0 {
			return b.e1 * e
		}
		return e * (b.e1 + e*(b.e2+e*b.e3))
	}
	tension := func(s *[6]float64) float64 { return max(elastic(s)+s[4]+s[5], 0) }
	rates := func(s *[6]float64) [6]float64 {
		t := tension(s)
		if broke {
			t = 0
		}
		d := (s[0] - s[2]) / b.length
		rate := (s[1] - s[3]) / b.length
		if d > top {
			rate *= 1 - b.set
		}
		q := b.em*rate - s[4]/b.tau
		f := b.kf * rate
		return [6]float64{s[1], g0 - t/b.mass, s[3], (t - b.kr*s[2] - cr*s[3]) / b.mc, q, f}
	}
	n := int(before * rate)
	force = make([]float64, n, n+int(after*rate))
	taken, over := 0, false
	for step := 0; len(force) < cap(force); step++ {
		if t := float64(step) * h; t >= float64(taken)/rate-1e-9 {
			force = append(force, b.kr*s[2]+cr*s[3])
			taken++
		}
		if over {
			s[4], s[5] = 0, 0
		}
		k1 := rates(&s)
		at := func(k [6]float64, f float64) [6]float64 {
			out := s
			for i := range out {
				out[i] += f * h * k[i]
			}
			return out
		}
		y := at(k1, 0.5)
		k2 := rates(&y)
		y = at(k2, 0.5)
		k3 := rates(&y)
		y = at(k3, 1)
		k4 := rates(&y)
		for i := range s {
			s[i] += h / 6 * (k1[i] + 2*k2[i] + 2*k3[i] + k4[i])
		}
		top = max(top, (s[0]-s[2])/b.length)
		bound := b.mu * max(elastic(&s), 0)
		s[5] = min(max(s[5], -bound), bound)
		if t := tension(&s); !over && b.strength > 0 && t > b.strength {
			broke, over, end = true, true, float64(step)*h
		} else if !over && t == 0 && step > 1000 {
			over, end = true, float64(step)*h
		}
		if over && !broke {
			// Slack: the mass flies; the rest of the record is the node's ringing.
			s[4], s[5] = 0, 0
		}
	}
	return force, broke, before + end
}

// drawRecord is a record with noise, and a moment of taut that is a little off.
func (b body) drawRecord(rng *rand.Rand, rate float64, r Record) Record {
	force, broke, end := b.record(rate, 0.05, 0.25)
	for i := range force {
		force[i] += 5 * rng.NormFloat64()
	}
	r.Rate, r.Force, r.Broke, r.End = rate, force, broke, end
	r.Taut = 0.05 + 3e-4*rng.NormFloat64()
	r.Mass, r.Length, r.Gravity, r.FallU = b.mass, b.length, g0, 0.004
	top := 0.0
	for _, f := range force {
		top = max(top, f)
	}
	r.Peak = top
	return r
}
