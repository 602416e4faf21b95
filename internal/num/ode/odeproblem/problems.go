// Package odeproblem holds initial value problems whose answers are known exactly.
package odeproblem

import "math"

// Problem is y' = F(t, y), y(0) = Start, with the exact solution Exact(t).
type Problem struct {
	Name  string
	Stiff bool
	Start []float64
	End   float64
	F     func(t float64, y, dydt []float64)
	Exact func(t float64, y []float64)
}

// All returns the problems. Their answers follow from the algebra beside each.
func All() []Problem {
	return []Problem{decay(), oscillator(), logistic(), riccati(), kepler(), driven(), prothero()}
}

// decay: y' = -y, y = exp(-t).
func decay() Problem {
	return Problem{Name: "decay", Start: []float64{1}, End: 3,
		F:     func(_ float64, y, d []float64) { d[0] = -y[0] },
		Exact: func(t float64, y []float64) { y[0] = math.Exp(-t) }}
}

// oscillator: damped, the second derivative of x is -2 z w x' - w^2 x, x(0) = 0, x'(0) = w sqrt(1 - z^2):
// x = exp(-z w t) sin(w sqrt(1 - z^2) t).
func oscillator() Problem {
	const w, z = 5.0, 0.1
	wd := w * math.Sqrt(1-z*z)
	return Problem{Name: "damped oscillator", Start: []float64{0, wd}, End: 2,
		F: func(_ float64, y, d []float64) { d[0], d[1] = y[1], -2*z*w*y[1]-w*w*y[0] },
		Exact: func(t float64, y []float64) {
			e, s, c := math.Exp(-z*w*t), math.Sin(wd*t), math.Cos(wd*t)
			y[0], y[1] = e*s, e*(wd*c-z*w*s)
		}}
}

// logistic: y' = y (1 - y), y(0) = 1/4: y = 1/(1 + 3 exp(-t)).
func logistic() Problem {
	return Problem{Name: "logistic", Start: []float64{0.25}, End: 4,
		F:     func(_ float64, y, d []float64) { d[0] = y[0] * (1 - y[0]) },
		Exact: func(t float64, y []float64) { y[0] = 1 / (1 + 3*math.Exp(-t)) }}
}

// riccati: y' = y^2 cos t, y(0) = 1/2: y = 1/(2 - sin t).
func riccati() Problem {
	return Problem{Name: "riccati", Start: []float64{0.5}, End: 5,
		F:     func(t float64, y, d []float64) { d[0] = y[0] * y[0] * math.Cos(t) },
		Exact: func(t float64, y []float64) { y[0] = 1 / (2 - math.Sin(t)) }}
}

// kepler: orbit of eccentricity 0.3 from its nearest point; position from Kepler's equation
// E - 0.3 sin E = t.
func kepler() Problem {
	const ecc = 0.3
	return Problem{Name: "kepler", Start: []float64{1 - ecc, 0, 0, math.Sqrt((1 + ecc) / (1 - ecc))}, End: 6,
		F: func(_ float64, y, d []float64) {
			r := math.Hypot(y[0], y[1])
			d[0], d[1] = y[2], y[3]
			d[2], d[3] = -y[0]/(r*r*r), -y[1]/(r*r*r)
		},
		Exact: func(t float64, y []float64) {
			e := t
			for range 60 {
				e -= (e - ecc*math.Sin(e) - t) / (1 - ecc*math.Cos(e))
			}
			s, c := math.Sin(e), math.Cos(e)
			r := 1 - ecc*c
			b := math.Sqrt(1 - ecc*ecc)
			y[0], y[1], y[2], y[3] = c-ecc, b*s, -s/r, b*c/r
		}}
}

// driven: y' = t^3 y, y = exp(t^4/4).
func driven() Problem {
	return Problem{Name: "driven", Start: []float64{1}, End: 1.5,
		F:     func(t float64, y, d []float64) { d[0] = t * t * t * y[0] },
		Exact: func(t float64, y []float64) { y[0] = math.Exp(t * t * t * t / 4) }}
}

// prothero: y' = -k (y - cos t) - sin t with k = 1e6, y(0) = 1: y = cos t. Prothero and Robinson,
// Mathematics of Computation 28 (1974).
func prothero() Problem {
	const k = 1e6
	return Problem{Name: "prothero-robinson", Stiff: true, Start: []float64{1}, End: 10,
		F:     func(t float64, y, d []float64) { d[0] = -k*(y[0]-math.Cos(t)) - math.Sin(t) },
		Exact: func(t float64, y []float64) { y[0] = math.Cos(t) }}
}
