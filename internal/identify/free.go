package identify

import (
	"math"
)

// Loop is what a record says without a model: the force over the elongation per length by double integration, as E1 e + E2 e^2 + E3 e^3 on the way down,
// and by what share it is lower on the way back.
type Loop struct {
	Textile    string  `json:"textile"`
	Drops      int     `json:"drops"`
	E1         float64 `json:"E1_N"`
	E2         float64 `json:"E2_N"`
	E3         float64 `json:"E3_N"`
	Friction   float64 `json:"friction"` // (down - up)/(down + up) at the same elongation
	Elongation float64 `json:"elongation"`
}

// path tells strain, force and whether the mass goes down at every sample of the first arrest.
func (r *Record) path(rig float64, visit func(e, f float64, down bool)) {
	dt := 1 / r.Rate
	v, x, before := math.Sqrt(2*r.Gravity*r.Fall), 0.0, 0.0
	t := r.Taut
	for i := int(math.Ceil(r.Taut * r.Rate)); i < len(r.Force) && float64(i)*dt <= r.End; i++ {
		h := float64(i)*dt - t
		f := r.Force[i]
		nv := v + h*(r.Gravity-(f+before)/(2*r.Mass))
		x += h * (v + nv) / 2
		v, before, t = nv, f, float64(i)*dt
		visit((x-f/rig)/r.Length, f, v > 0)
	}
}

// loopOf pools the records of a textile that are not tied, held and whole.
func loopOf(records []Record, textile string, rig float64) (Loop, bool) {
	out := Loop{Textile: textile}
	var es, fs []float64
	var up, down []([2]float64)
	for i := range records {
		r := &records[i]
		if r.Textile != textile || r.Knot != "" || r.Lost != nil {
			continue
		}
		out.Drops++
		r.path(rig, func(e, f float64, going bool) {
			switch {
			case e <= 0 || f <= 0.02*r.Peak:
			case going:
				es, fs = append(es, e), append(fs, f)
				down = append(down, [2]float64{e, f})
			case !r.Broke:
				up = append(up, [2]float64{e, f})
			}
			out.Elongation = max(out.Elongation, e)
		})
	}
	if len(es) < 12 {
		return out, false
	}
	c := nonNegative(es, fs)
	out.E1, out.E2, out.E3 = c[0], c[1], c[2]
	elastic := func(e float64) float64 { return e * (c[0] + e*(c[1]+e*c[2])) }
	share := func(p [][2]float64) float64 {
		a, b := 0.0, 0.0
		for _, q := range p {
			if q[0] > out.Elongation/3 && q[0] < 0.9*out.Elongation {
				a, b = a+q[1], b+elastic(q[0])
			}
		}
		return a / b
	}
	if d, u := share(down), share(up); d > 0 && u > 0 {
		out.Friction = max((d-u)/(d+u), 0)
	}
	return out, c[0]+c[1]+c[2] > 0
}

// nonNegative fits f = sum c_i e^i, i = 1 to 3, with no c below zero: the best of the seven choices of terms.
func nonNegative(e, f []float64) (best [3]float64) {
	var a [3][3]float64
	var b [3]float64
	for i, x := range e {
		p := [3]float64{x, x * x, x * x * x}
		for r := range 3 {
			for c := range 3 {
				a[r][c] += p[r] * p[c]
			}
			b[r] += p[r] * f[i]
		}
	}
	gain := 0.0
	for set := 1; set < 8; set++ {
		var at []int
		for k := range 3 {
			if set>>k&1 == 1 {
				at = append(at, k)
			}
		}
		n := len(at)
		m, r := make([]float64, n*n), make([]float64, n)
		for i, p := range at {
			for j, q := range at {
				m[i*n+j] = a[p][q]
			}
			r[i] = b[p]
		}
		if _, ok := cholesky(m, n); !ok {
			continue
		}
		forward(m, n, r)
		backward(m, n, r)
		sum, good := 0.0, true
		for i, p := range at {
			sum += r[i] * b[p]
			good = good && r[i] >= 0
		}
		if good && sum > gain {
			gain, best = sum, [3]float64{}
			for i, p := range at {
				best[p] = r[i]
			}
		}
	}
	return best
}
