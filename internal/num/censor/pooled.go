package censor

import (
	"fmt"
	"math"
	"slices"
)

// Pooled is a regression in which each group of values has a scatter of its own,
//
//	y = x'b + sigma_g (e - z0),  log sigma_g drawn from a normal distribution of sd spreadOfLogs about a common value,
//
// with z0 the standard median, so that x'b is the median whatever the scatter. The groups are pulled towards each other as far as few values leave
// them unknown, and not where the values tell them apart. It is fitted by the highest likelihood times that distribution; its intervals and
// p-values are those of the adjusted root (see adjusted) with a flat prior on the coefficients and on the common logarithm.
type Pooled struct {
	Family Family
	Counts
	Names        []string
	Coefficients []float64 // medians and their differences, working scale
	Sigmas       []float64 // of the groups
	Warnings     []string

	pr     *problem
	group  []int // of the values that say something
	k      int   // groups
	centre float64
	best   *climb
}

// spreadOfLogs is the standard deviation of the log sigmas of groups: in every third pair two groups then differ by more than a factor of 11, so that
// the pull is weak. Chosen by simulation (docs/coverage.md): with 0.7 the interval of a ratio covers 90 % where shapes are 25 and 5; with 2 it is 7 %
// wider than with 1.4 where they are alike and three values each are seen.
const spreadOfLogs = 1.7

// RegressPooled fits a family with one row of the design and one group (from 0 on) a value. It fails as Regress does.
func RegressPooled(values []Value, design [][]float64, names []string, group []int, f Family) (*Pooled, error) {
	if f == Exponential {
		return nil, failf(ErrArgument, "an exponential distribution has no scatter of its own; choose weibull, lognormal or normal")
	}
	if len(group) != len(values) {
		return nil, failf(ErrArgument, "%d groups for %d values; give one a value", len(group), len(values))
	}
	r, err := Regress(values, design, names, f)
	if err != nil {
		return nil, err
	}
	m := &Pooled{Family: f, Counts: r.Counts, Names: r.Names, pr: r.pr, centre: f.standardQuantile(0.5)}
	for i, v := range values {
		if group[i] < 0 {
			return nil, failf(ErrArgument, "group %d of value %d; count groups from 0", group[i], i+1)
		}
		m.k = max(m.k, group[i]+1)
		if lo, hi := f.work(v.Lo), f.work(v.Hi); !math.IsInf(lo, -1) || !math.IsInf(hi, 1) {
			m.group = append(m.group, group[i])
		}
	}
	if told := r.N - r.Right; told <= r.pr.q.p {
		return nil, failf(ErrNotIdentified, "%s regression: %d values that are more than a lower bound are too few to tell %d medians and a scatter from", f, told, r.pr.q.p)
	}
	m.best = m.newClimb(nil)
	if err := m.best.rise(); err != nil {
		return nil, fmt.Errorf("%s regression: %w", f, err)
	}
	p := r.pr.q.p
	m.Coefficients = r.pr.toCoefficients(m.best.phi)
	for j := range m.Coefficients {
		m.Coefficients[j] = r.pr.base[j] + r.pr.unit*m.Coefficients[j]
	}
	m.Sigmas = make([]float64, m.k)
	for g := range m.Sigmas {
		m.Sigmas[g] = r.pr.unit * math.Exp(m.best.phi[p+g])
	}
	return m, nil
}

// climb seeks the highest point of the penalised likelihood in phi = (coefficients of the orthogonal columns, log sigmas), free or with a
// quantity held: the combination c of the coefficients plus sum d_g sigma_g equals v, which gives the first of the columns turned so that c
// lies along it.
type climb struct {
	m      *Pooled
	x      []float64 // columns, turned when a quantity is held
	phi    []float64
	g, h   []float64
	trial  []float64
	factor []float64
	step   []float64
	height float64
	// Of the quantity held:
	held   bool
	length float64 // of c
	d      []float64
	v      float64
	g0     float64 // slope along the first column
}

func (m *Pooled) dim() int { return m.pr.q.p + m.k }

func (m *Pooled) newClimb(from *climb) *climb {
	n := m.dim()
	c := &climb{m: m, x: m.pr.q.x, phi: make([]float64, n), g: make([]float64, n), h: make([]float64, n*n), trial: make([]float64, n), factor: make([]float64, n*n), step: make([]float64, n)}
	if from != nil {
		copy(c.phi, from.phi)
	}
	return c
}

// hold turns the columns so that the quantity is length times the first coefficient plus d.sigma (Householder's reflection).
func (c *climb) hold(combination, d, tangent []float64) {
	p := c.m.pr.q.p
	u := slices.Clone(combination)
	c.length = math.Sqrt(dot(u, u))
	if u[0] > 0 {
		c.length = -c.length // against cancellation
	}
	u[0] -= c.length
	uu := dot(u, u)
	c.x = slices.Clone(c.x)
	reflect := func(row []float64) {
		s := 2 * dot(u, row[:p]) / uu
		for j := range p {
			row[j] -= s * u[j]
		}
	}
	for i := 0; i+p <= len(c.x); i += p {
		reflect(c.x[i : i+p])
	}
	reflect(c.phi)
	reflect(tangent)
	c.held, c.d = true, d
}

// quantity is what is held, at phi.
func (c *climb) quantity() float64 {
	v := c.length * c.phi[0]
	for g, d := range c.d {
		v += d * math.Exp(c.phi[c.m.pr.q.p+g])
	}
	return v
}

// place sets the first coefficient of phi to what holds the quantity at v.
func (c *climb) place(phi []float64) {
	left := c.v
	for g, d := range c.d {
		left -= d * math.Exp(phi[c.m.pr.q.p+g])
	}
	phi[0] = left / c.length
}

// value is the penalised log-likelihood at phi; with slopes it sets g and h, the negative second derivatives.
func (c *climb) value(phi []float64, slopes bool) float64 {
	q, p, n := c.m.pr.q, c.m.pr.q.p, c.m.dim()
	z0 := c.m.centre
	if slopes {
		clear(c.g)
		clear(c.h)
	}
	ll := 0.0
	for i, kind := range q.kind {
		row := c.x[i*p : i*p+p]
		eta := dot(row, phi)
		at := p + c.m.group[i]
		s := phi[at]
		rate := math.Exp(-s)
		var l, le, ls, lee, les, lss float64
		one := func(t slopes1, u float64) {
			l, le, ls = t.l, -rate*t.d1, -u*t.d1
			lee, les, lss = rate*rate*t.d2, rate*(u*t.d2+t.d1), u*(u*t.d2+t.d1)
		}
		switch kind {
		case Observed:
			u := (q.lo[i] - eta) * rate
			one(densityTerm(q.extreme, u+z0), u)
			l, ls = l-s, ls-1
		case RightCensored:
			u := (q.lo[i] - eta) * rate
			one(aboveTerm(q.extreme, u+z0), u)
		case LeftCensored:
			u := (q.hi[i] - eta) * rate
			one(belowTerm(q.extreme, u+z0), u)
		default:
			wide := q.width[i] * rate
			if wide < narrow {
				u := (q.lo[i] + q.width[i]/2 - eta) * rate
				one(densityTerm(q.extreme, u+z0), u)
				l, ls = l+math.Log(wide), ls-1
				break
			}
			a := (q.lo[i] - eta) * rate
			b := a + wide
			t := betweenTerm(q.extreme, a+z0, wide)
			l, le, ls = t.l, -rate*(t.da+t.db), -(a*t.da + b*t.db)
			lee = rate * rate * (t.daa + 2*t.dab + t.dbb)
			les = rate * (a*t.daa + (a+b)*t.dab + b*t.dbb + t.da + t.db)
			lss = a*a*t.daa + 2*a*b*t.dab + b*b*t.dbb + a*t.da + b*t.db
		}
		w := q.weight[i]
		ll += w * l
		if !slopes {
			continue
		}
		for j, v := range row {
			c.g[j] += w * le * v
			hj := c.h[j*n:]
			for k := 0; k <= j; k++ {
				hj[k] -= w * lee * v * row[k]
			}
			c.h[at*n+j] -= w * les * v
		}
		c.g[at] += w * ls
		c.h[at*n+at] -= w * lss
	}
	mean := 0.0
	for _, s := range phi[p:] {
		mean += s / float64(c.m.k)
	}
	const tie = 1 / (spreadOfLogs * spreadOfLogs)
	for g, s := range phi[p:] {
		ll -= (s - mean) * (s - mean) * tie / 2
		if slopes {
			c.g[p+g] -= (s - mean) * tie
			for k := 0; k <= g; k++ {
				c.h[(p+g)*n+p+k] -= tie / float64(c.m.k)
			}
			c.h[(p+g)*n+p+g] += tie
		}
	}
	if math.IsNaN(ll) {
		return math.Inf(-1)
	}
	if slopes {
		for j := range n {
			for k := range j {
				c.h[k*n+j] = c.h[j*n+k]
			}
		}
		if c.held {
			c.along(phi)
		}
	}
	return ll
}

// along takes the slopes to those along the surface on which the quantity is held: the first coefficient follows the log sigmas by
// -d_g sigma_g/length.
func (c *climb) along(phi []float64) {
	p, n := c.m.pr.q.p, c.m.dim()
	c.g0 = c.g[0]
	for g, d := range c.d {
		if d == 0 {
			continue
		}
		at := p + g
		a := -d * math.Exp(phi[at]) / c.length
		c.g[at] += a * c.g0
		for j := range n {
			c.h[at*n+j] += a * c.h[j]
		}
		for j := range n {
			c.h[j*n+at] += a * c.h[j*n]
		}
		c.h[at*n+at] -= a * c.g0
	}
	for j := range n {
		c.h[j], c.h[j*n] = 0, 0
	}
	c.h[0], c.g[0] = 1, 0 // out of the way: a factor of 1 in the determinant
}

// pooledSteps bounds a climb; from a near start it takes three to five.
const pooledSteps = 1000

// rise climbs from phi to the highest point and leaves the curvature there in factor.
func (c *climb) rise() error {
	n := c.m.dim()
	if c.held {
		c.place(c.phi)
	}
	c.height = c.value(c.phi, true)
	if math.IsInf(c.height, -1) {
		return failf(ErrNotConverged, "the likelihood vanishes where the search begins; the values lie too far apart for numbers of this precision")
	}
	for range pooledSteps {
		// Where the likelihood does not curve downwards, each diagonal element is raised by a share of its own size.
		raised := 0.0
		for !cholesky(c.factor, c.h, n, n, 0) {
			more := max(1e-3, 3*raised)
			for i := range n {
				c.h[i*n+i] += more * (math.Abs(c.h[i*n+i]) + 1e-3)
			}
			if raised += more; raised > 1e9 || math.IsNaN(c.h[0]) {
				return failf(ErrNotConverged, "the likelihood of the scatters has no highest point that could be found")
			}
		}
		choleskySolve(c.step, c.factor, c.g, n, n)
		gain := dot(c.g, c.step)
		if gain <= 1e-12*c.m.pr.q.wholeN && raised == 0 {
			return nil
		}
		alpha := 1.0
		for _, s := range c.step[c.m.pr.q.p:] {
			alpha = min(alpha, 2/math.Abs(s))
		}
		for ; ; alpha /= 2 {
			for j := range n {
				c.trial[j] = c.phi[j] + alpha*c.step[j]
			}
			if c.held {
				c.place(c.trial)
			}
			if t := c.value(c.trial, false); t >= c.height+1e-4*alpha*gain-1e-13*(math.Abs(c.height)+1) {
				break
			}
			if alpha < 1e-12 {
				return failf(ErrNotConverged, "the search for the highest likelihood of the scatters stopped short")
			}
		}
		c.phi, c.trial = c.trial, c.phi
		c.height = c.value(c.phi, true)
	}
	return failf(ErrNotConverged, "the search for the highest likelihood of the scatters did not settle in %d steps", pooledSteps)
}

// trail follows a quantity away from its estimate.
type trail struct {
	m        *Pooled
	c        *climb
	start    []float64 // phi at the estimate, in the turned columns
	tangent  []float64 // how phi begins to change with the quantity
	last     []float64 // phi where it was last held, and its height there
	estimate float64
	se       float64
	logDet   float64
}

// trailOf is that of the combination c of the coefficients plus sum d_g sigma_g, d by the number of the group.
func (m *Pooled) trailOf(c, d []float64) *trail {
	if d == nil {
		d = make([]float64, m.k)
	}
	n := m.dim()
	t := &trail{m: m, c: m.newClimb(m.best), logDet: logDet(m.best.factor, n, n)}
	columns := m.pr.toColumns(c)
	slope := make([]float64, n)
	copy(slope, columns)
	for g, v := range d {
		slope[m.pr.q.p+g] = v * math.Exp(m.best.phi[m.pr.q.p+g])
	}
	choleskySolve(t.c.step, m.best.factor, slope, n, n)
	t.se = math.Sqrt(dot(slope, t.c.step))
	t.tangent = slices.Clone(t.c.step)
	for j := range t.tangent {
		t.tangent[j] /= t.se * t.se
	}
	t.c.hold(columns, d, t.tangent)
	t.start = slices.Clone(t.c.phi)
	t.last = slices.Clone(t.c.phi)
	t.estimate = t.c.quantity()
	return t
}

// enter sets phi to the likeliest of some points at which the quantity is v: as where it was last held, along the tangent at the estimate, and with all
// scatters widened to reach that far.
func (t *trail) enter(v float64) {
	t.c.v = v
	p := t.m.pr.q.p
	best := math.Inf(-1)
	consider := func(phi []float64) {
		t.c.place(phi)
		if l := t.c.value(phi, false); l > best || math.IsInf(best, -1) {
			best = l
			copy(t.c.phi, phi)
		}
	}
	try := t.c.trial
	copy(try, t.last)
	consider(try)
	far := v - t.estimate
	for j := range try {
		try[j] = t.start[j] + far*t.tangent[j]
		if j >= p {
			try[j] = t.start[j] + min(max(far*t.tangent[j], -1), 1)
		}
	}
	consider(try)
	if best < t.m.best.height-farBelow {
		for _, wide := range []float64{-1, 0, 1, 2} {
			for j := range try {
				try[j] = t.start[j] + far*t.tangent[j]
				if j >= p {
					try[j] = max(t.start[j], math.Log(math.Abs(far))+wide)
				}
			}
			consider(try)
		}
	}
}

// farBelow is a fall of the log-likelihood from which other points to begin from are tried, and at which the end of an interval is passed.
const farBelow = 30

// score is r* at v, positive below the estimate: the probability of the quantity above v is Phi(score).
func (t *trail) score(v float64) (float64, error) {
	n := t.m.dim()
	t.enter(v)
	if err := t.c.rise(); err != nil {
		return 0, err
	}
	copy(t.last, t.c.phi)
	r := math.Sqrt(2 * max(0, t.m.best.height-t.c.height))
	if v > t.estimate {
		r = -r
	}
	q := t.c.g0 * math.Exp((logDet(t.c.factor, n, n)-t.logDet)/2)
	if t.c.length < 0 {
		q = -q
	}
	if !(q/r > 0) {
		return r, nil
	}
	return r + math.Log(q/r)/r, nil
}

// beside is how close to the estimate, in standard errors, the root is taken from beside it, since it is 0/0 there.
const beside = 0.1

// above is the probability that the quantity lies above v.
func (t *trail) above(v float64) (float64, error) {
	at := func(v float64) (float64, error) {
		s, err := t.score(v)
		return normalCumulative(s), err
	}
	gap := beside * t.se
	if math.Abs(v-t.estimate) >= gap {
		return at(v)
	}
	lo, err := at(t.estimate - gap)
	if err != nil {
		return 0, err
	}
	hi, err := at(t.estimate + gap)
	return lo + (v-t.estimate+gap)/(2*gap)*(hi-lo), err
}

func normalCumulative(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

// end is where the score is want on the side given (-1 below, +1 above).
func (t *trail) end(side, want float64) (v float64, open bool, err error) {
	copy(t.last, t.start)
	inner, fInner := t.estimate, -want // miss = -side*score - want, rising outwards
	step := want * t.se
	outer := t.estimate
	var fOuter float64
	for k := 0; ; k++ {
		outer += side * step
		s, err := t.score(outer)
		if err != nil || k > 60 {
			return 0, true, nil //nolint:nilerr // where the likelihood cannot be followed the values give no bound
		}
		if fOuter = -side*s - want; fOuter >= 0 {
			break
		}
		inner, fInner = outer, fOuter
		step *= 1.3
	}
	for k := range 100 {
		if math.Abs(outer-inner) < 1e-9*t.se {
			break
		}
		x := outer - fOuter*(outer-inner)/(fOuter-fInner)
		if k%4 == 3 {
			x = inner + (outer-inner)/2
		}
		s, err := t.score(x)
		f := -side*s - want
		if err != nil {
			f = -want / 2 // could not be followed: counted as inside, for the wider interval
		}
		if math.Abs(f) < 1e-6 {
			return x, false, nil
		}
		if f > 0 {
			if outer, fOuter = x, f; fInner < 0 {
				fInner /= 1 + float64(k%2) // Illinois
			}
		} else {
			inner, fInner = x, f
			fOuter /= 1 + float64(k%2)
		}
	}
	return outer, false, nil
}

// Contrast is the combination c of the coefficients plus sum over groups of d_g sigma_g (nil: none), with its interval, and the two-sided p of its
// being 0. On the working scale.
func (m *Pooled) Contrast(c, d []float64, confidence float64) (v Interval, p float64, err error) {
	if err := checkConfidence(confidence); err != nil {
		return v, 0, err
	}
	t := m.trailOf(c, d)
	want := -normalQuantile((1 - confidence) / 2)
	base := dot(c, m.pr.base)
	v = Interval{Estimate: t.estimate, Confidence: confidence, Method: calibratedMethod}
	if v.Lo, v.OpenLo, err = t.end(-1, want); err != nil {
		return v, 0, err
	}
	if v.Hi, v.OpenHi, err = t.end(1, want); err != nil {
		return v, 0, err
	}
	if p, err = t.pValue(base); err != nil {
		return v, 0, err
	}
	if v.OpenLo {
		v.Lo = math.Inf(-1)
	}
	if v.OpenHi {
		v.Hi = math.Inf(1)
	}
	v = v.through(func(t float64) float64 { return base + m.pr.unit*t })
	return v.settle("contrast", math.Inf(-1), math.Inf(1)), p, nil
}

// PValue is that of Contrast alone.
func (m *Pooled) PValue(c, d []float64) (float64, error) {
	return m.trailOf(c, d).pValue(dot(c, m.pr.base))
}

// pValue is the two-sided p of base plus the quantity, in units of the problem, being 0.
func (t *trail) pValue(base float64) (float64, error) {
	copy(t.last, t.start)
	a, err := t.above(-base / t.m.pr.unit)
	return min(1, 2*min(a, 1-a)), err
}

// Scatter is the root of the mean square of sigma over the values.
func (m *Pooled) Scatter() float64 {
	sum := 0.0
	for i, g := range m.group {
		sum += m.pr.q.weight[i] * m.Sigmas[g] * m.Sigmas[g]
	}
	return math.Sqrt(sum / m.pr.q.wholeN)
}

// QuantileRatio is exp of the combination c of the medians, taken at the p quantile: the groups above and below the line add and subtract what lies
// between the median and that quantile. With the two-sided p-value of the ratio being 1.
func (m *Pooled) QuantileRatio(c []float64, above, below int, p, confidence float64) (v Interval, pValue float64, err error) {
	if err := checkProbability(p); err != nil {
		return v, 0, err
	}
	if !m.Family.onLog() {
		return v, 0, failf(ErrArgument, "a normal regression has differences, not ratios; choose weibull or lognormal, or ask for the contrast")
	}
	if above < 0 || below < 0 || above >= m.k || below >= m.k {
		return v, 0, failf(ErrArgument, "groups %d and %d are not both among 0 to %d", above, below, m.k-1)
	}
	d := make([]float64, m.k)
	z := m.Family.standardQuantile(p) - m.centre
	d[above] += z
	d[below] -= z
	if v, pValue, err = m.Contrast(c, d, confidence); err != nil {
		return v, 0, err
	}
	v.Note = ""
	return v.through(math.Exp).settle("ratio", 0, math.Inf(1)), pValue, nil
}
