package joint

import "math"

// climb finds the top from theta by Newton's method with the Hessian by differences of the gradient, damped until a step climbs. It gives the height, and minus the
// Hessian there.
func (p *problem) climb(theta []float64) (value float64, information [][]float64, ok bool) {
	n := len(theta)
	grad, try, gradTry := make([]float64, n), make([]float64, n), make([]float64, n)
	value = p.value(theta, grad)
	damping := 1e-3
	for range 200 {
		if math.IsNaN(value) || math.IsInf(value, 0) {
			return value, nil, false
		}
		information = p.information(theta)
		climbed := false
		for damping < 1e12 {
			step, solved := solve(information, grad, damping)
			if solved {
				short := 1.0
				for i := range step { // no parameter, all logarithms, moves far at once
					short = math.Min(short, 0.7/math.Max(0.7, math.Abs(step[i])))
				}
				for i := range try {
					try[i], gradTry[i] = theta[i]+short*step[i], 0
				}
				if v := p.value(try, gradTry); v > value-1e-12*math.Abs(value) {
					gain := v - value
					copy(theta, try)
					copy(grad, gradTry)
					value, climbed = v, true
					damping = math.Max(1e-12, damping/10)
					if gain < 1e-10 && small(grad, information) {
						return value, p.information(theta), true
					}
					break
				}
			}
			damping = math.Max(damping, 1e-8) * 10
		}
		if !climbed {
			return value, information, small(grad, information)
		}
	}
	return value, information, false
}

// small tells that no parameter would move by more than 1e-4 of its standard error.
func small(grad []float64, information [][]float64) bool {
	for i, g := range grad {
		if !(g*g <= 1e-8*math.Abs(information[i][i])) {
			return false
		}
	}
	return true
}

// information is minus the Hessian, by central differences of the gradient.
func (p *problem) information(theta []float64) [][]float64 {
	n := len(theta)
	out := make([][]float64, n)
	x := append([]float64(nil), theta...)
	const h = 1e-5
	for i := range n {
		up, down := make([]float64, n), make([]float64, n)
		x[i] = theta[i] + h
		p.value(x, up)
		x[i] = theta[i] - h
		p.value(x, down)
		x[i] = theta[i]
		out[i] = make([]float64, n)
		for j := range n {
			out[i][j] = -(up[j] - down[j]) / (2 * h)
		}
	}
	for i := range n {
		for j := range i {
			m := (out[i][j] + out[j][i]) / 2
			out[i][j], out[j][i] = m, m
		}
	}
	return out
}

// solve is the solution of (a + damping diag |a|) x = b by Cholesky's factors; false where that is not positive definite.
func solve(a [][]float64, b []float64, damping float64) ([]float64, bool) {
	l, ok := cholesky(a, damping)
	if !ok {
		return nil, false
	}
	n := len(b)
	x := append([]float64(nil), b...)
	for i := range n {
		for j := range i {
			x[i] -= l[i][j] * x[j]
		}
		x[i] /= l[i][i]
	}
	for i := n - 1; i >= 0; i-- {
		for j := i + 1; j < n; j++ {
			x[i] -= l[j][i] * x[j]
		}
		x[i] /= l[i][i]
	}
	return x, true
}

func cholesky(a [][]float64, damping float64) ([][]float64, bool) {
	n := len(a)
	l := make([][]float64, n)
	for i := range n {
		l[i] = make([]float64, n)
		for j := 0; j <= i; j++ {
			v := a[i][j]
			if i == j {
				v += damping * (math.Abs(v) + 1e-9)
			}
			for k := range j {
				v -= l[i][k] * l[j][k]
			}
			if i == j {
				if !(v > 0) {
					return nil, false
				}
				l[i][i] = math.Sqrt(v)
				continue
			}
			l[i][j] = v / l[j][j]
		}
	}
	return l, true
}

// invert is the inverse of a positive definite matrix.
func invert(a [][]float64) ([][]float64, bool) {
	n := len(a)
	out := make([][]float64, n)
	for i := range n {
		unit := make([]float64, n)
		unit[i] = 1
		col, ok := solve(a, unit, 0)
		if !ok {
			return nil, false
		}
		out[i] = col
	}
	return out, true
}
