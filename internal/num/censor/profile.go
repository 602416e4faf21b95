package censor

import "math"

// profile follows the highest likelihood with a functional held at v, from the estimate outwards.
type profile struct {
	f        *functional
	s        *solver
	top      float64   // highest log-likelihood
	peak     []float64 // phi there
	curve    []float64 // factor of the curvature there
	on       plane
	try      []float64
	estimate float64
	se       float64 // of the estimate, from the curvature
	// calibrated makes the depth that of the adjusted root (see adjusted).
	calibrated bool
	logDet     float64 // of the curvature at the top
}

// farthest is how many times the standard error a profile is followed before it counts as open.
const farthest = 1 << 24

// A profile of bounds alone jumps where one of them lies, since sigma = 0 is likeliest there. Within jumpWidth of
// a jump, known by theta above jumpTheta, the outer end stands: the wider interval.
const (
	jumpWidth = 1e-7
	jumpTheta = 1e4
)

func newProfile(fit *solver, f *functional) *profile {
	m := fit.q.dim()
	pool := make([]float64, 4*m)
	pr := &profile{f: f, s: newSolver(fit.q), top: fit.logLik, peak: fit.phi, curve: fit.factor,
		on: plane{a: pool[:m]}, try: pool[m : 2*m]}
	g, u := pool[2*m:3*m], pool[3*m:]
	f.slope(g, fit.phi)
	n := fit.q.free()
	choleskySolve(u, fit.factor, g, n, m)
	pr.se = math.Sqrt(dot(g[:n], u[:n]))
	pr.estimate = f.at(fit.phi)
	pr.calibrated = fit.calibrated && fit.weighable
	if pr.calibrated {
		pr.logDet = logDet(fit.factor, n, m)
	}
	return pr
}

// depth is r = sqrt(2 (top - profile)) at v, and how r changes with v. The solver starts from the last
// point that it found.
func (pr *profile) depth(v float64) (r, slope float64, err error) {
	pr.f.hold(&pr.on, v)
	pr.enter(v)
	if err := pr.s.maximise(&pr.on); err != nil {
		return 0, 0, err
	}
	r = math.Sqrt(2 * max(0, pr.top-pr.s.logLik))
	slope = pr.s.multiplier * pr.f.constraintSlope(pr.s.phi) / r
	if pr.calibrated {
		r = pr.adjusted(r)
	}
	return r, slope, nil
}

// enter puts phi of the solver on the plane, near the last point.
func (pr *profile) enter(v float64) {
	s, q := pr.s, pr.s.q
	m, n := q.dim(), q.free()
	last := s.logLik
	// Along the curvature: what the likelihood likes best to give up.
	choleskySolve(s.v, s.factor, pr.on.a, n, m)
	k := (pr.on.d - dot(pr.on.a, s.phi)) / dot(pr.on.a[:n], s.v[:n])
	copy(pr.try, s.phi)
	for i := range n {
		pr.try[i] += k * s.v[i]
	}
	best := math.Inf(-1)
	if pr.try[m-1] > 0.3*s.phi[m-1] {
		best = q.value(pr.try, nil, nil)
		copy(s.trial, pr.try)
	}
	if best > last-30 {
		s.phi, s.trial = s.trial, s.phi
		return
	}
	consider := func() {
		if t := q.value(pr.try, nil, nil); t > best || math.IsInf(best, -1) {
			best = t
			copy(s.trial, pr.try)
		}
	}
	for _, from := range [][]float64{s.phi, pr.peak} {
		if !q.fixed {
			pr.byScale(from, v, consider)
		}
		// By the location, with the scale kept or widened to reach that far.
		if pr.f.kind != precision {
			for _, shrink := range []float64{1, 3 / (3 + math.Abs(v))} {
				if q.fixed {
					shrink = 1
				}
				for j, x := range from {
					pr.try[j] = shrink * x
				}
				miss := (dot(pr.on.a, pr.try) - pr.on.d) / dot(pr.f.c, pr.f.c)
				for j := range pr.f.c {
					pr.try[j] -= miss * pr.on.a[j]
				}
				consider()
			}
		}
	}
	s.phi, s.trial = s.trial, s.phi
}

// byScale considers points on the plane that differ from one given in the scale: with its coefficients kept, and
// with its gamma kept.
func (pr *profile) byScale(from []float64, v float64, consider func()) {
	p := len(from) - 1
	theta := from[p]
	cg := 0.0
	if pr.f.kind != precision {
		cg = dot(pr.f.c, from)
	}
	kept, free := v, v // theta with the coefficients kept, with gamma kept
	switch pr.f.kind {
	case ratio:
		kept, free = pr.f.z/(v-cg/theta), (cg+pr.f.z)/v
	case tail:
		kept, free = v/(pr.f.y-cg/theta), (v+cg)/pr.f.y
	}
	if kept > 0 && !math.IsInf(kept, 1) {
		for j, g := range from[:p] {
			pr.try[j] = g * (kept / theta)
		}
		pr.try[p] = kept
		consider()
	}
	if free > 0 && !math.IsInf(free, 1) {
		copy(pr.try, from)
		pr.try[p] = free
		consider()
	}
}

// side seeks, in the direction given (+1 or -1), where the depth is want. open tells that it never is.
func (pr *profile) side(direction, want float64) (end float64, open bool, err error) {
	copy(pr.s.phi, pr.peak)
	copy(pr.s.factor, pr.curve)
	pr.s.logLik = pr.top
	inner, innerR := 0.0, 0.0 // distance from the estimate, depth there
	outer := want * pr.se
	limit := math.Inf(1)
	if pr.f.kind == precision && direction < 0 {
		limit = pr.estimate
		outer = min(outer, limit/2)
	}
	var r, slope float64
	for {
		r, slope, err = pr.depth(pr.estimate + direction*outer)
		if err != nil {
			if outer > 1e3*want*pr.se {
				return 0, true, nil
			}
			return 0, false, err
		}
		if r >= want {
			break
		}
		inner, innerR = outer, r
		if outer > farthest*want*pr.se || (!math.IsInf(limit, 1) && limit-outer < 1e-9*limit) {
			return 0, true, nil
		}
		if math.IsInf(limit, 1) {
			outer *= 2
		} else {
			outer = limit - (limit-outer)/4
		}
	}
	at, atR := outer, r
	for k := range 200 {
		if math.Abs(atR-want) <= 1e-10*want || outer-inner <= 1e-13*outer {
			return pr.estimate + direction*at, false, nil
		}
		if outer-inner <= jumpWidth*outer && pr.s.phi[len(pr.peak)-1] > jumpTheta {
			return pr.estimate + direction*outer, false, nil
		}
		next := at - (atR-want)/(direction*slope)
		if !(next > inner && next < outer) {
			next = inner + (outer-inner)*(want-innerR)/(r-innerR)
			if k%2 == 1 || !(next > inner && next < outer) {
				next = inner + (outer-inner)/2
			}
		}
		at = next
		if atR, slope, err = pr.depth(pr.estimate + direction*at); err != nil {
			if !(pr.s.phi[len(pr.peak)-1] > jumpTheta) {
				return 0, false, err
			}
			// Too steep to follow beside a jump: counted as inside, for the wider interval.
			atR, slope = (innerR+want)/2, math.NaN()
		}
		if atR < want {
			inner, innerR = at, atR
		} else {
			outer, r = at, atR
		}
	}
	return 0, false, failf(ErrNotConverged, "the end of a profile-likelihood interval was not found")
}

// interval is the profile-likelihood interval of a functional, in units of the problem.
func (pr *profile) interval(confidence float64) (Interval, error) {
	if err := checkConfidence(confidence); err != nil {
		return Interval{}, err
	}
	want := -normalQuantile((1 - confidence) / 2)
	v := Interval{Estimate: pr.estimate, Confidence: confidence, Method: profileMethod}
	if pr.calibrated {
		v.Method = calibratedMethod
	}
	var err error
	if v.Lo, v.OpenLo, err = pr.side(-1, want); err != nil {
		return Interval{}, err
	}
	if v.Hi, v.OpenHi, err = pr.side(1, want); err != nil {
		return Interval{}, err
	}
	if v.OpenLo {
		v.Lo = math.Inf(-1)
	}
	if v.OpenHi {
		v.Hi = math.Inf(1)
	}
	return v, nil
}
