package censor

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// problem is a set of values made ready for the likelihood: on the working scale, freed of a rough
// straight fit and measured in units of the scatter around it, with an orthogonal design X = Q R, Q'Q = n.
type problem struct {
	family     Family
	names      []string
	q          *likelihood
	r          []float64 // p x p, upper
	base       []float64 // coefficients of the rough fit
	unit       float64   // scatter around it, working scale
	sumSeen    float64   // of working values that are exact, weighted
	seen       float64
	counts     Counts
	columnSize []float64
}

// Counts tells how many observations are of each kind.
type Counts struct {
	N, Exact, Right, Left, Interval int
}

func (c *Counts) add(v Value) {
	n := v.N()
	c.N += n
	switch v.Kind() {
	case Observed:
		c.Exact += n
	case RightCensored:
		c.Right += n
	case LeftCensored:
		c.Left += n
	default:
		c.Interval += n
	}
}

// prepare checks the values and the design (one row each) and makes the problem.
func prepare(values []Value, design [][]float64, names []string, f Family) (*problem, error) {
	n, p := len(values), len(names)
	pr := &problem{family: f, names: names}
	q := &likelihood{extreme: f.extreme(), fixed: f == Exponential, p: p, x: make([]float64, 0, n*p),
		lo: make([]float64, 0, n), hi: make([]float64, 0, n), kind: make([]Kind, 0, n), weight: make([]float64, 0, n)}
	pr.q = q
	for i, v := range values {
		if err := v.Check(); err != nil {
			return nil, failf(ErrValue, "value %d: %v", i+1, err)
		}
		pr.counts.add(v)
		lo, hi := f.work(v.Lo), f.work(v.Hi)
		switch {
		case math.IsInf(hi, -1):
			return nil, failf(ErrValue, "value %d: %g cannot come from a %s distribution, which lies above 0; leave it out or choose normal", i+1, v.Hi, f)
		case math.IsInf(lo, -1) && math.IsInf(hi, 1):
			q.blankTerm += v.N()
			continue
		}
		q.lo, q.hi = append(q.lo, lo), append(q.hi, hi)
		q.kind = append(q.kind, Value{Lo: lo, Hi: hi}.Kind())
		q.weight = append(q.weight, float64(v.N()))
		q.wholeN += float64(v.N())
		q.x = append(q.x, design[i]...)
		if lo == hi {
			pr.sumSeen += float64(v.N()) * lo
			pr.seen += float64(v.N())
		}
	}
	if len(q.kind) == 0 {
		return nil, failf(ErrNotIdentified, "there is no value that says anything; give at least two different ones")
	}
	if err := pr.orthogonalise(); err != nil {
		return nil, err
	}
	pr.standardise()
	return pr, nil
}

// orthogonalise replaces x by Q, column by column (modified Gram-Schmidt, twice).
func (pr *problem) orthogonalise() error {
	q, p := pr.q, pr.q.p
	n := len(q.kind)
	pr.r = make([]float64, p*p)
	pr.columnSize = make([]float64, p)
	for j := range p {
		size := 0.0
		for i := range n {
			size += q.x[i*p+j] * q.x[i*p+j]
		}
		size = math.Sqrt(size)
		pr.columnSize[j] = size / math.Sqrt(float64(n))
		if size == 0 {
			return failf(ErrNotIdentified, "coefficient %s: its column is zero in every row, so that nothing tells its value; leave it out", pr.names[j])
		}
		for range 2 {
			for k := range j {
				s := 0.0
				for i := range n {
					s += q.x[i*p+k] * q.x[i*p+j]
				}
				s /= float64(n)
				pr.r[k*p+j] += s
				for i := range n {
					q.x[i*p+j] -= s * q.x[i*p+k]
				}
			}
		}
		left := 0.0
		for i := range n {
			left += q.x[i*p+j] * q.x[i*p+j]
		}
		left = math.Sqrt(left)
		if left < 1e-9*size {
			return failf(ErrNotIdentified, "coefficient %s: its column is a combination of %s, so that their effects cannot be told apart; leave one out or vary them apart",
				pr.names[j], strings.Join(pr.combination(j), ", "))
		}
		s := left / math.Sqrt(float64(n))
		pr.r[j*p+j] = s
		for i := range n {
			q.x[i*p+j] /= s
		}
	}
	return nil
}

// combination names the columns before j that column j is made of.
func (pr *problem) combination(j int) []string {
	p := pr.q.p
	c := make([]float64, j)
	for k := j - 1; k >= 0; k-- {
		s := pr.r[k*p+j]
		for l := k + 1; l < j; l++ {
			s -= pr.r[k*p+l] * c[l]
		}
		c[k] = s / pr.r[k*p+k]
	}
	var names []string
	for k, v := range c {
		if math.Abs(v)*pr.columnSize[k] > 1e-8*pr.columnSize[j] {
			names = append(names, pr.names[k])
		}
	}
	return names
}

// standardise takes the rough fit from the values and divides by the scatter.
func (pr *problem) standardise() {
	q, p := pr.q, pr.q.p
	n := len(q.kind)
	middle := func(i int) float64 {
		switch q.kind[i] {
		case RightCensored:
			return q.lo[i]
		case LeftCensored:
			return q.hi[i]
		}
		return q.lo[i] + (q.hi[i]-q.lo[i])/2
	}
	gamma := make([]float64, p)
	for i := range n {
		for j := range p {
			gamma[j] += q.x[i*p+j] * middle(i) / float64(n)
		}
	}
	pr.base = pr.toCoefficients(gamma)
	ss, size := 0.0, 0.0
	q.width = make([]float64, n)
	for i := range n {
		e := dot(q.x[i*p:i*p+p], gamma)
		y := middle(i)
		ss += (y - e) * (y - e)
		size = max(size, math.Abs(y))
		q.width[i] = q.hi[i] - q.lo[i]
		q.lo[i] -= e
		q.hi[i] -= e
	}
	pr.unit = math.Sqrt(ss / float64(n))
	if pr.unit <= 1e-12*size || pr.unit == 0 {
		for i := range n {
			if q.kind[i] == IntervalCensored {
				pr.unit = max(pr.unit, q.width[i])
			}
		}
	}
	if pr.unit == 0 {
		pr.unit = 1
	}
	for i := range n {
		q.lo[i] /= pr.unit
		q.hi[i] /= pr.unit
		q.width[i] /= pr.unit
	}
}

// toCoefficients takes a vector from the orthogonal columns to the given ones: R^-1 g.
func (pr *problem) toCoefficients(g []float64) []float64 {
	p := pr.q.p
	b := slices.Clone(g[:p])
	for j := p - 1; j >= 0; j-- {
		for k := j + 1; k < p; k++ {
			b[j] -= pr.r[j*p+k] * b[k]
		}
		b[j] /= pr.r[j*p+j]
	}
	return b
}

// toColumns takes a linear combination of coefficients to the orthogonal columns: R'^-1 c.
func (pr *problem) toColumns(c []float64) []float64 {
	p := pr.q.p
	a := slices.Clone(c)
	for j := range p {
		for k := range j {
			a[j] -= pr.r[k*p+j] * a[k]
		}
		a[j] /= pr.r[j*p+j]
	}
	return a
}

// start puts phi where the search begins.
func (pr *problem) start(phi []float64) {
	clear(phi)
	q := pr.q
	phi[q.p] = 1
	if q.fixed {
		phi[q.p] = pr.unit
		return
	}
	far := 0.0
	for i, k := range q.kind {
		if k != LeftCensored {
			far = max(far, q.lo[i])
		}
		if k != RightCensored {
			far = max(far, q.hi[i])
		}
	}
	if far > 3 {
		phi[q.p] = 3 / far
	}
}

// seek finds the highest likelihood, or says why there is none.
func (pr *problem) seek() (*solver, error) {
	s := newSolver(pr.q)
	pr.start(s.phi)
	err := s.maximise(nil)
	if err != nil && !s.recession {
		if s.recedes(s.step) {
			s.recession = true
		} else {
			return nil, err
		}
	}
	if s.edge {
		return nil, failf(ErrNotIdentified, noOrder)
	}
	if s.recession || s.flat || pr.nearlyFlat(s) {
		return nil, pr.unidentified(s)
	}
	pr.recentre(s)
	s.weighable = pr.weighable()
	return s, nil
}

// recentre makes the fit itself the base and its sigma the unit, so that the profiles start from gamma = 0 and
// theta = 1 (for the exponential the unit stays).
func (pr *problem) recentre(s *solver) {
	q, p := pr.q, pr.q.p
	theta := s.phi[p]
	unit := 1 / theta
	if q.fixed {
		unit = 1
	}
	for j, b := range pr.toCoefficients(s.phi) {
		pr.base[j] += b / theta * pr.unit
	}
	for i := range q.kind {
		e := dot(q.x[i*p:i*p+p], s.phi) / theta
		q.lo[i] = (q.lo[i] - e) / unit
		q.hi[i] = (q.hi[i] - e) / unit
		q.width[i] /= unit
	}
	pr.unit *= unit
	clear(s.phi[:p])
	s.phi[p] = theta * unit
	s.logLik = q.value(s.phi, s.g, s.h)
	s.factorise()
}

// nearlyFlat tells whether the likelihood hardly curves in some direction, which a maximum at infinity
// looks like once the search has settled.
func (pr *problem) nearlyFlat(s *solver) bool {
	if s.recedes(s.step) {
		return true
	}
	// The columns have mean square 1 and the last pivot is taken for log theta, so that an informative
	// observation adds about 1 to each.
	n, m := pr.q.free(), pr.q.dim()
	for i := range n {
		pivot := s.factor[i*m+i]
		if i == pr.q.p {
			pivot *= s.phi[i]
		}
		if pivot < flatPivot {
			return true
		}
	}
	return false
}

// flatPivot is the root of the information under which a direction counts as not determined.
const flatPivot = 1e-5

// unidentified says in which direction the likelihood never ends.
func (pr *problem) unidentified(s *solver) error {
	p := pr.q.p
	b := pr.toCoefficients(s.step)
	top, spread := 0.0, 0.0
	for j := range b {
		b[j] = math.Abs(b[j]) * pr.columnSize[j]
		top = max(top, b[j])
	}
	if !pr.q.fixed {
		spread = math.Abs(s.step[p])
	}
	if spread > 1e-3*top {
		return failf(ErrNotIdentified, "the values leave no scatter: some line passes through all of them (exact values on it, bounds on the side they allow), so that sigma would be 0. "+
			"This happens when the broken and the held are separated or there are as many coefficients as exact values; test where both happen, or drop a coefficient")
	}
	var names []string
	for j, v := range b {
		if v >= 0.5*top {
			names = append(names, pr.names[j])
		}
	}
	if len(names) == 1 && p > 0 {
		return failf(ErrNotIdentified, "coefficient %s: its estimate would be infinite, as when every value of a level is only a bound to the same side (all held); test that level until something breaks, or leave it out", names[0])
	}
	return failf(ErrNotIdentified, "coefficients %s: their estimates would be infinite, as when every value of a level is only a bound to the same side (all held); test that level until something breaks, or leave it out", strings.Join(names, ", "))
}

// noOrder says that a likelihood rises until sigma is infinite.
const noOrder = "the upper bounds (broken) lie no higher than the lower bounds (held), as if the more loaded broke less: the likeliest scatter is infinite. " +
	"Look for exchanged results, or test more specimens over a wider range"

// shared checks values of one group before the search: a highest likelihood needs that no single
// point lies in all of them and not all are bounds to one side.
func shared(values []Value, f Family) error {
	var c Counts
	maxLo, minHi := math.Inf(-1), math.Inf(1)
	minHeld, maxBroken := math.Inf(1), math.Inf(-1)
	for i, v := range values {
		if err := v.Check(); err != nil {
			return failf(ErrValue, "value %d: %v", i+1, err)
		}
		c.add(v)
		maxLo, minHi = max(maxLo, v.Lo), min(minHi, v.Hi)
		switch v.Kind() {
		case RightCensored:
			minHeld = min(minHeld, v.Lo)
		case LeftCensored:
			maxBroken = max(maxBroken, v.Hi)
		}
	}
	tell := func(format string, args ...any) error {
		return failf(ErrNotIdentified, f.String()+" fit: "+format, args...)
	}
	switch {
	case c.N == 0:
		return tell("no values; give at least two different ones")
	case c.Right == c.N:
		return tell("%s; nothing bounds the estimate from above. Test until some break, or ask for the lower bound of an all-held series", allOf(c.N, "held (is only a lower bound)", "held (are only lower bounds)"))
	case c.Left == c.N:
		return tell("%s; nothing bounds the estimate from below. Test lower until some hold", allOf(c.N, "is only an upper bound", "are only upper bounds"))
	case f != Exponential && c.Right+c.Left == c.N && minHeld >= maxBroken:
		return tell(noOrder)
	case f == Exponential || maxLo > minHi:
		return nil
	case c.N == 1:
		return tell("one value tells nothing of the scatter; test at least one more specimen")
	case c.Exact == c.N:
		return tell("all %d values are the same, so that the scatter would be 0; give values with more digits, or test more specimens", c.N)
	case c.Exact > 0:
		return tell("one exact value, which every bound allows, so that the scatter would be 0; test more specimens")
	case c.Interval == 0:
		return tell("every lower bound lies below every upper bound: held and broken are separated, so that the scatter is not determined. Test between and around these")
	}
	return tell("one value fits all %d observations, so that the scatter would be 0; measure finer or test more specimens", c.N)
}

func allOf(n int, one, many string) string {
	if n == 1 {
		return "the one value " + one
	}
	return fmt.Sprintf("all %d values %s", n, many)
}
