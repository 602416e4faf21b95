package censor

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

const (
	// turnbullGap is how far the mean weight N of a cell may be passed, relative to N, at the end.
	turnbullGap = 1e-10
	emLimit     = 200000
	// newtonCells is the largest number of cells for which the curvature is solved.
	newtonCells = 1500
)

// edge is an end of an interval; at one x the start of an exact value comes first, then ends that
// include x, then starts that exclude it.
type edge struct {
	x    float64
	rank int
}

const (
	exactStart = iota
	closedEnd
	openStart
)

func (a edge) compare(b edge) int {
	return cmp.Or(cmp.Compare(a.x, b.x), a.rank-b.rank)
}

// cells are the innermost intervals, on which all mass lies, and for each different observation the
// run of cells that it covers.
type cells struct {
	from, to    []edge
	first, last []int
	weight      []float64
	n           float64
}

// innermost finds the cells: a start directly followed by an end.
func innermost(values []Value) (*cells, Counts, error) {
	type span struct{ from, to edge }
	var counts Counts
	weights := map[span]float64{}
	var spans []span
	var starts, ends []edge
	for i, v := range values {
		if err := v.Check(); err != nil {
			return nil, counts, failf(ErrValue, "value %d: %v", i+1, err)
		}
		counts.add(v)
		s := span{edge{v.Lo, openStart}, edge{v.Hi, closedEnd}}
		if v.Kind() == Observed {
			s.from.rank = exactStart
		}
		if _, old := weights[s]; !old {
			spans = append(spans, s)
			starts, ends = append(starts, s.from), append(ends, s.to)
		}
		weights[s] += float64(v.N())
	}
	slices.SortFunc(starts, edge.compare)
	slices.SortFunc(ends, edge.compare)
	starts, ends = slices.Compact(starts), slices.Compact(ends)
	c := &cells{n: float64(counts.N)}
	for j, i := 0, 0; j < len(ends); j++ {
		var latest *edge
		for ; i < len(starts) && starts[i].compare(ends[j]) < 0; i++ {
			latest = &starts[i]
		}
		if latest != nil {
			c.from, c.to = append(c.from, *latest), append(c.to, ends[j])
		}
	}
	for _, s := range spans {
		first, _ := slices.BinarySearchFunc(c.from, s.from, edge.compare)
		end, found := slices.BinarySearchFunc(c.to, s.to, edge.compare)
		if found {
			end++
		}
		c.first, c.last = append(c.first, first), append(c.last, end)
		c.weight = append(c.weight, weights[s])
	}
	return c, counts, nil
}

// pull sets d to the derivative of the log-likelihood by each cell's mass; at the end it is N where there is mass
// and at most N elsewhere.
func (c *cells) pull(d, p []float64) {
	clear(d)
	for i, w := range c.weight {
		inside := 0.0
		for _, v := range p[c.first[i]:c.last[i]] {
			inside += v
		}
		for j := c.first[i]; j < c.last[i]; j++ {
			d[j] += w / inside
		}
	}
}

// gap is how far the masses are from the highest likelihood, relative.
func (c *cells) gap(d, p []float64) float64 {
	worst := 0.0
	for j, v := range d {
		e := v/c.n - 1
		if p[j] > 0 && e < 0 {
			e *= -min(1, p[j]*c.n)
		}
		worst = max(worst, e)
	}
	return worst
}

// climb finds the masses by self-consistency, sped up by Newton's method on the cells that keep mass.
func (c *cells) climb() ([]float64, error) {
	m := len(c.from)
	p, d := make([]float64, m), make([]float64, m)
	for j := range p {
		p[j] = 1 / float64(m)
	}
	for k := 1; k <= emLimit; k++ {
		c.pull(d, p)
		if c.gap(d, p) <= turnbullGap {
			return p, nil
		}
		for j := range p {
			p[j] *= d[j] / c.n
		}
		if k%25 == 0 && m <= newtonCells {
			c.newton(p, d)
		}
	}
	return nil, failf(ErrNotConverged, "Turnbull's estimate did not settle in %d steps; round the values to fewer different bounds", emLimit)
}

// curvature is the negative second derivative of the log-likelihood by the masses of the cells kept: each
// observation adds weight/inside^2 to the block of cells that it covers, written as differences along each row.
func (c *cells) curvature(p []float64, keep []int) *mat.SymDense {
	n := len(keep)
	before := make([]int, len(p)+1) // cells kept before each
	for _, j := range keep {
		before[j+1] = 1
	}
	for j := range p {
		before[j+1] += before[j]
	}
	h := make([]float64, n*n)
	for i, w := range c.weight {
		inside := 0.0
		for _, v := range p[c.first[i]:c.last[i]] {
			inside += v
		}
		w /= inside * inside
		from, to := before[c.first[i]], before[c.last[i]]
		for a := from; a < to; a++ {
			h[a*n+from] += w
			if to < n {
				h[a*n+to] -= w
			}
		}
	}
	for a := range n {
		row := h[a*n : a*n+n]
		for b := 1; b < n; b++ {
			row[b] += row[b-1]
		}
	}
	return mat.NewSymDense(n, h)
}

// newton improves p in place when it can: steps on sum w log(mass inside) - N sum p, whose highest point has
// sum p = 1. A cell that a step would empty is left with a little, for self-consistency to decide on.
func (c *cells) newton(p, d []float64) {
	trial := make([]float64, len(p))
	for range 30 {
		var keep []int
		for j, v := range p {
			if v > 1e-13 {
				keep = append(keep, j)
			}
		}
		c.pull(d, p)
		before := c.gap(d, p)
		if before <= turnbullGap {
			return
		}
		g := mat.NewVecDense(len(keep), nil)
		for k, j := range keep {
			g.SetVec(k, d[j]-c.n)
		}
		var f mat.Cholesky
		h := c.curvature(p, keep)
		for k := range keep {
			h.SetSym(k, k, h.At(k, k)*(1+1e-12))
		}
		if !f.Factorize(h) {
			return
		}
		var s mat.VecDense
		if f.SolveVecTo(&s, g) != nil {
			return
		}
		alpha := 1.0
		emptied := -1
		for k, j := range keep {
			if room := -p[j] / s.AtVec(k); s.AtVec(k) < 0 && room < alpha {
				alpha, emptied = room, j
			}
		}
		copy(trial, p)
		total := 0.0
		for k, j := range keep {
			trial[j] = max(0, p[j]+alpha*s.AtVec(k))
		}
		if emptied >= 0 {
			trial[emptied] = 1e-14 * p[emptied]
		}
		for _, v := range trial {
			total += v
		}
		for j := range trial {
			trial[j] /= total
		}
		if c.logLik(trial) < c.logLik(p)-1e-12*c.n {
			return
		}
		copy(p, trial)
	}
}

func (c *cells) logLik(p []float64) float64 {
	l := 0.0
	for i, w := range c.weight {
		inside := 0.0
		for _, v := range p[c.first[i]:c.last[i]] {
			inside += v
		}
		l += w * math.Log(inside)
	}
	return l
}

// Turnbull is the nonparametric maximum-likelihood estimate from values with any kind of censoring. An interval is
// taken as (Lo, Hi], a right-censored value as beyond its bound, so that for exact and right-censored values it is
// the Kaplan-Meier curve. The standard error comes from the observed information of the masses that are not 0
// (Greenwood's formula where that applies); it takes the cells that hold mass as known and is rough in small
// samples. It is converged to 1e-10 by the equations of self-consistency. Source: Turnbull, J. R. Stat. Soc. B 38 (1976)
// 290-295; condition for the highest likelihood: Gentleman and Geyer, Biometrika 81 (1994) 618-623 (recalled).
func Turnbull(values []Value, confidence float64) (*Curve, error) {
	if err := checkConfidence(confidence); err != nil {
		return nil, err
	}
	c, counts, err := innermost(values)
	if err != nil {
		return nil, err
	}
	if counts.N == counts.Right {
		return nil, failf(ErrNotIdentified, "a survival curve needs at least one value that is more than a lower bound; all %d held", counts.N)
	}
	p, err := c.climb()
	if err != nil {
		return nil, err
	}
	return c.curve(p, counts, confidence), nil
}

func (c *cells) curve(p []float64, counts Counts, confidence float64) *Curve {
	var keep []int
	for j, v := range p {
		if v > 1e-9 {
			keep = append(keep, j)
		}
	}
	out := &Curve{Counts: counts, Confidence: confidence}
	se, ok := c.errors(p, keep)
	if !ok {
		out.Warnings = append(out.Warnings, "The masses are not determined one by one, so that the curve has no standard error.")
	}
	z := -normalQuantile((1 - confidence) / 2)
	left := make([]float64, len(keep)+1)
	for k := len(keep) - 1; k >= 0; k-- {
		left[k] = left[k+1] + p[keep[k]]
	}
	loose := false
	for k, j := range keep {
		if math.IsInf(c.to[j].x, 1) {
			break
		}
		q := CurvePoint{From: c.from[j].x, Value: c.to[j].x, AtRisk: math.NaN(), Events: p[j] * c.n, Survival: left[k+1] / left[0], SE: se[k]}
		q.intervals(z)
		loose = loose || q.From != q.Value
		out.Points = append(out.Points, q)
	}
	if loose {
		out.Warnings = append(out.Warnings, "Between the ends of a step's interval the curve is not determined.")
	}
	return out
}

// errors are the standard errors of the survival beyond each cell kept.
func (c *cells) errors(p []float64, keep []int) (se []float64, ok bool) {
	n := len(keep)
	se = make([]float64, n)
	for k := range se {
		se[k] = math.NaN()
	}
	var f mat.Cholesky
	if n > newtonCells || !f.Factorize(c.curvature(p, keep)) || f.Cond() > 1e13 {
		return se, false
	}
	one := mat.NewVecDense(n, nil)
	for k := range n {
		one.SetVec(k, 1)
	}
	var h1, hs mat.VecDense
	if f.SolveVecTo(&h1, one) != nil {
		return se, false
	}
	total := mat.Dot(one, &h1)
	s := mat.NewVecDense(n, nil)
	for k := n - 2; k >= 0; k-- {
		s.SetVec(k+1, 1)
		if f.SolveVecTo(&hs, s) != nil {
			return se, false
		}
		cross := mat.Dot(s, &h1)
		se[k] = math.Sqrt(max(0, mat.Dot(s, &hs)-cross*cross/total))
	}
	return se, true
}
