package identify

import (
	"math"
	"slices"

	"github.com/hardcatch/hardcatch/internal/num/lsq"
)

// weigh sets the covariances of all designs up for the present spread.
func (m *model) weigh() bool {
	for i := range m.groups {
		g := &m.groups[i]
		g.chol = make([]float64, g.n*g.n)
		m.covariance(i, m.spread, g.chol)
		if _, ok := cholesky(g.chol, g.n); !ok {
			return false
		}
	}
	return true
}

// problem is the fit of the parameters under the present covariances.
func (m *model) problem() *lsq.Problem {
	n := len(m.params)
	p := &lsq.Problem{M: m.rows, N: n, Log: make([]bool, n), Prior: make([]lsq.Normal, n), Lower: make([]float64, n), Upper: make([]float64, n), MostSteps: 40, Tolerance: 1e-5}
	for j := range m.params {
		q := &m.params[j]
		p.Log[j], p.Prior[j] = true, q.prior
		p.Lower[j], p.Upper[j] = math.Exp(q.prior.Mean-5*q.prior.SD), math.Exp(q.prior.Mean+5*q.prior.SD)
		if q.part == partFriction {
			p.Upper[j] = min(p.Upper[j], 0.7)
		}
	}
	p.Residuals = func(x, r []float64) {
		for i := range m.groups {
			g := &m.groups[i]
			part := r[g.first : g.first+g.n]
			if !m.left(i, x, part) {
				for k := range part {
					part[k] = math.NaN()
				}
				continue
			}
			forward(g.chol, g.n, part)
		}
	}
	column := []float64(nil)
	p.Jacobian = func(x, jac []float64) {
		for k := range jac {
			jac[k] = 0
		}
		for i, d := range m.designs {
			g := &m.groups[i]
			if cap(column) < g.n {
				column = make([]float64, g.n)
			}
			column = column[:g.n]
			for j := range m.params {
				if !m.params[j].concerns(d) || !m.slope(i, j, x, column) {
					continue
				}
				forward(g.chol, g.n, column)
				for k, v := range column {
					jac[(g.first+k)*n+j] = -v / x[j] // of what is left, by the parameter itself
				}
			}
		}
	}
	return p
}

// spreadOf turns logarithms into a spread.
func spreadOf(u []float64) Spread {
	return Spread{math.Exp(u[0]), math.Exp(u[1]), math.Exp(u[2]), math.Exp(u[3]), math.Exp(u[4])}
}

func (s Spread) logs() []float64 {
	return []float64{math.Log(s.Textile), math.Log(s.Slip), math.Log(s.Drop), math.Log(s.Model), math.Log(s.Memory)}
}

// unlikely is minus the logarithm of the restricted likelihood of a spread, with what is known of it beforehand, at the present linearisation (Harville,
// J. Am. Stat. Assoc. 72 (1977) 320; recalled).
func (m *model) unlikely(u []float64) float64 {
	s := spreadOf(u)
	n := len(m.params)
	info := make([]float64, n*n)
	for j := range m.params {
		info[j*n+j] = 1 / (m.params[j].prior.SD * m.params[j].prior.SD)
	}
	sum := 0.0
	start := startSpread.logs()
	for k, v := range u {
		z := (v - start[k]) / spreadKnown[k]
		sum += z * z / 2
	}
	for i := range m.groups {
		g := &m.groups[i]
		v := make([]float64, g.n*g.n)
		m.covariance(i, s, v)
		logDet, ok := cholesky(v, g.n)
		if !ok {
			return 1e12
		}
		r := append([]float64(nil), g.rest...)
		forward(v, g.n, r)
		sum += logDet / 2
		for _, x := range r {
			sum += x * x / 2
		}
		white := make([][]float64, n)
		for j, c := range g.slopes {
			if c != nil {
				white[j] = append([]float64(nil), c...)
				forward(v, g.n, white[j])
			}
		}
		for a := range n {
			for b := 0; b <= a; b++ {
				if white[a] == nil || white[b] == nil {
					continue
				}
				dot := 0.0
				for k := range white[a] {
					dot += white[a][k] * white[b][k]
				}
				info[a*n+b] += dot
			}
		}
	}
	logDet, ok := cholesky(info, n)
	if !ok || math.IsNaN(sum) {
		return 1e12
	}
	return sum + logDet/2
}

// findSpread estimates the spread at the present linearisation: along one logarithm after the other, by the parabola through three places.
func (m *model) findSpread() {
	u := m.spread.logs()
	at := m.unlikely(u)
	width := 0.6
	for range 6 {
		moved := 0.0
		for k := range u {
			try := func(v float64) float64 {
				w := slices.Clone(u)
				w[k] = v
				return m.unlikely(w)
			}
			up, down := try(u[k]+width), try(u[k]-width)
			var step float64
			bend := up + down - 2*at
			switch {
			case bend > 0:
				step = min(max(width*(down-up)/(2*bend), -2*width), 2*width)
			case up < down:
				step = width
			default:
				step = -width
			}
			if v := try(u[k] + step); v < at {
				u[k], at = u[k]+step, v
				moved = max(moved, math.Abs(step))
			}
		}
		if moved < 0.5*width {
			width /= 2
		}
		if moved < 0.03 {
			break
		}
	}
	m.spread = spreadOf(u)
}

// shifts are by how much later than the record says each drop came taut, most likely.
func (m *model) shifts() []float64 {
	out := make([]float64, len(m.records))
	for i, d := range m.designs {
		g := &m.groups[i]
		r := append([]float64(nil), g.rest...)
		forward(g.chol, g.n, r)
		backward(g.chol, g.n, r)
		k := 0
		for j, at := range d.records {
			o := &m.obs[i][j]
			for range o.use {
				out[at] -= tautU * tautU * g.effects[effectTaut][k] * r[k]
				k++
			}
			out[at] += o.shift
		}
	}
	return out
}

// find fits parameters and spread in turns, from every start.
func (m *model) find(starts [][]float64) (*lsq.Fit, error) {
	var fit *lsq.Fit
	for turn := range 4 {
		if turn == 0 {
			// Unweighed by slopes yet: at the first start.
			if !m.linearise(starts[0]) {
				return nil, lsq.ErrNoStart
			}
			m.spread.Model = 0.05
		}
		if !m.weigh() {
			return nil, errSingular
		}
		var err error
		if fit, _, err = lsq.Best(m.problem(), starts); err != nil {
			return nil, err
		}
		starts = [][]float64{fit.X}
		if !m.linearise(fit.X) {
			return nil, lsq.ErrNoStart
		}
		if turn == 3 {
			break
		}
		m.findSpread()
		if !m.weigh() {
			return nil, errSingular
		}
		if turn < 2 {
			m.observeAll(m.shifts())
			if !m.linearise(fit.X) {
				return nil, lsq.ErrNoStart
			}
		}
	}
	return fit, nil
}
