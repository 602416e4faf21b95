package identify

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/arrest"
)

// Spread is how much drops of one fall differ from each other and from the model. Shares are of the largest force of the fall.
type Spread struct {
	Textile float64 `json:"textile"` // standard deviation of the logarithm of a specimen's stiffness
	Slip    float64 `json:"slip"`    // of its knot's slip
	Drop    float64 `json:"drop"`    // what else differs from drop to drop, correlated in time
	Model   float64 `json:"model"`   // by how much the model is off at a fall, all its drops alike, correlated in time
	Memory  float64 `json:"memory"`  // time over which both go together, as a share of the arrest
}

// model is by how much the model is off, with what is not believed to be less.
func (s Spread) model() float64 { return math.Hypot(s.Model, leastU) }

// startSpread is where the search for a spread begins, with the width of what is known of each beforehand, in the logarithm. Common practice, no source.
var (
	startSpread = Spread{0.05, 0.10, 0.005, 0.01, 0.25}
	spreadKnown = [5]float64{0.7, 0.7, 1, 1, 0.4}
)

const (
	tautU  = 1e-3 // s, by which taut may be off in a record
	zeroU  = 5    // N, by which a record's zero may be off
	grainU = 1e-3 // share of the peak that a block's mean may be off by on its own
	stride = 5e-3 // step of differences in a logarithm
	leastU = 5e-3 // share of the peak that no model of a fall is better than; common practice, no source
)

// effects are what varies from record to record, as directions of its blocks.
type effect int

const (
	effectTextile effect = iota
	effectSlip
	effectSpeed
	effectTaut
	effectZero
	effectCount
)

// model is the records held against their chains.
type model struct {
	records []Record
	designs []*design
	obs     [][]observed // by design
	params  []parameter
	rig     rigOf
	spread  Spread

	engine  arrest.Engine
	scratch []float64
	rows    int
	groups  []group
}

// group is the records of a design, their used blocks one after another.
type group struct {
	n       int
	first   int         // row in all
	effects [][]float64 // by effect, n each
	slopes  [][]float64 // by parameter, nil where it does not concern the design
	rest    []float64   // what the model leaves
	chol    []float64   // lower triangle of the covariance, n x n
}

func newModel(records []Record, rig rigOf) *model {
	m := &model{records: records, designs: designsOf(records), rig: rig, spread: startSpread}
	m.params = parametersOf(m.designs, rig)
	m.observeAll(make([]float64, len(records)))
	return m
}

// observeAll reads all records with taut later by the shifts.
func (m *model) observeAll(shift []float64) {
	m.obs, m.groups, m.rows = nil, nil, 0
	for _, d := range m.designs {
		var of []observed
		g := group{first: m.rows}
		for _, i := range d.records {
			o := observe(d, &m.records[i], shift[i])
			of = append(of, o)
			g.n += len(o.use)
		}
		m.rows += g.n
		m.obs, m.groups = append(m.obs, of), append(m.groups, g)
	}
}

// clone is a model that may be used beside m.
func (m *model) clone() *model {
	c := *m
	c.engine, c.scratch = arrest.Engine{}, nil
	c.designs = make([]*design, len(m.designs))
	c.obs = make([][]observed, len(m.obs))
	for i, d := range m.designs {
		e := *d
		e.raw, e.low = nil, nil
		c.designs[i] = &e
		for _, o := range m.obs[i] {
			o.design = &e
			c.obs[i] = append(c.obs[i], o)
		}
	}
	return &c
}

// reading computes the design's force into out; it reports false where the model has no value.
func (m *model) reading(d *design, x []float64, s scale, out []float64) bool {
	c := chain(d, m.params, x, m.rig, s)
	return m.engine.Reading(&c, modelRate, -lead, out) == nil
}

// spreadOut writes the used blocks of all records of design i, as they show the force raw, into out.
func (m *model) spreadOut(i int, raw, out []float64) {
	var held, one [blocks]float64
	have := false
	k := 0
	for j := range m.obs[i] {
		o := &m.obs[i][j]
		b := &one
		if !o.record.Broke {
			b = &held
		}
		if o.record.Broke || !have {
			if cap(m.scratch) < len(raw) {
				m.scratch = make([]float64, 0, len(raw))
			}
			o.look(raw, m.scratch, b[:])
			have = have || !o.record.Broke
		}
		for _, u := range o.use {
			out[k] = b[u]
			k++
		}
	}
}

func (d *design) buffers() {
	if n := d.samples(); len(d.raw) != n {
		d.raw, d.low = make([]float64, n), make([]float64, n)
	}
}

// left writes what the model at x leaves of the records of design i, not weighed.
func (m *model) left(i int, x, out []float64) bool {
	d := m.designs[i]
	d.buffers()
	if !m.reading(d, x, scale{}, d.raw) {
		return false
	}
	m.spreadOut(i, d.raw, out)
	k := 0
	for j := range m.obs[i] {
		o := &m.obs[i][j]
		for _, u := range o.use {
			out[k] = o.values[u] - out[k]
			k++
		}
	}
	return true
}

// differ writes the change of the blocks of design i, per unit, between two variations of its chain.
func (m *model) differ(i int, vary func(sign float64) (x []float64, s scale), width float64, out []float64) bool {
	d := m.designs[i]
	d.buffers()
	x, s := vary(1)
	if !m.reading(d, x, s, d.raw) {
		return false
	}
	x, s = vary(-1)
	if !m.reading(d, x, s, d.low) {
		return false
	}
	for k := range d.raw {
		d.raw[k] = (d.raw[k] - d.low[k]) / width
	}
	m.spreadOut(i, d.raw, out)
	return true
}

// slope writes the derivative of the blocks of design i by the logarithm of parameter j.
func (m *model) slope(i, j int, x, out []float64) bool {
	y := append([]float64(nil), x...)
	return m.differ(i, func(sign float64) ([]float64, scale) {
		y[j] = x[j] * math.Exp(sign*stride)
		return y, scale{}
	}, 2*stride, out)
}

// linearise computes at x everything that covariance and estimates of the spread need.
func (m *model) linearise(x []float64) bool {
	for i, d := range m.designs {
		g := &m.groups[i]
		g.rest = make([]float64, g.n)
		if !m.left(i, x, g.rest) {
			return false
		}
		g.slopes = make([][]float64, len(m.params))
		for j := range m.params {
			if m.params[j].concerns(d) {
				g.slopes[j] = make([]float64, g.n)
				if !m.slope(i, j, x, g.slopes[j]) {
					return false
				}
			}
		}
		if !m.linearEffects(i, x) {
			return false
		}
	}
	return true
}

// linearEffects computes the directions in which the records of design i differ.
func (m *model) linearEffects(i int, x []float64) bool {
	d, g := m.designs[i], &m.groups[i]
	g.effects = make([][]float64, effectCount)
	for e := range g.effects {
		g.effects[e] = make([]float64, g.n)
	}
	by := func(e effect, s func(float64) scale) bool {
		return m.differ(i, func(sign float64) ([]float64, scale) { return x, s(sign * stride) }, 2*stride, g.effects[e])
	}
	ok := by(effectSpeed, func(h float64) scale { return scale{speed: h} })
	if !d.steel {
		ok = ok && by(effectTextile, func(h float64) scale { return scale{textile: h} })
	}
	if d.knot != "" {
		ok = ok && by(effectSlip, func(h float64) scale { return scale{slip: h} })
	}
	d.buffers()
	if !ok || !m.reading(d, x, scale{}, d.raw) {
		return false
	}
	// Taut later by u: what stands at t was at t - u.
	for k := range d.raw {
		d.low[k] = 0
		if k > 0 && k+1 < len(d.raw) {
			d.low[k] = (d.raw[k+1] - d.raw[k-1]) * modelRate / 2
		}
	}
	m.spreadOut(i, d.low, g.effects[effectTaut])
	for k := range g.n {
		g.effects[effectZero][k] = 1
	}
	return true
}

// variances are those of the effects.
func (m *model) variances(d *design, s Spread) [effectCount]float64 {
	sq := func(v float64) float64 { return v * v }
	return [effectCount]float64{sq(s.Textile), sq(s.Slip), sq(d.speedU), sq(tautU), sq(zeroU)}
}

// covariance writes that of design i under a spread into v, n x n.
func (m *model) covariance(i int, s Spread, v []float64) {
	d, g := m.designs[i], &m.groups[i]
	n := g.n
	va := m.variances(d, s)
	var alike [blocks]float64 // correlation of the model's error over blocks apart
	for k := range alike {
		alike[k] = math.Exp(-float64(k) / (blocks * s.Memory))
	}
	drop, fall, grain := s.Drop*d.peak, s.model()*d.peak, grainU*d.peak
	a := 0
	for p := range m.obs[i] {
		for _, up := range m.obs[i][p].use {
			b := 0
			for q := range m.obs[i] {
				for _, uq := range m.obs[i][q].use {
					if b > a {
						break
					}
					c := alike[max(up-uq, uq-up)]
					sum := fall * fall * c
					if p == q {
						sum += drop * drop * c
						for e := range effectCount {
							sum += va[e] * g.effects[e][a] * g.effects[e][b]
						}
						if up == uq {
							sum += grain * grain
						}
					}
					v[a*n+b] = sum
					b++
				}
			}
			a++
		}
	}
}

// cholesky overwrites the lower triangle of v by that of its root and tells the logarithm of the determinant.
func cholesky(v []float64, n int) (logDet float64, ok bool) {
	for c := range n {
		for r := c; r < n; r++ {
			sum := v[r*n+c]
			for k := range c {
				sum -= v[r*n+k] * v[c*n+k]
			}
			if r == c {
				if !(sum > 0) {
					return 0, false
				}
				v[c*n+c] = math.Sqrt(sum)
				logDet += math.Log(sum)
			} else {
				v[r*n+c] = sum / v[c*n+c]
			}
		}
	}
	return logDet, true
}

// forward solves l z = r in place.
func forward(l []float64, n int, r []float64) {
	for a := range n {
		sum := r[a]
		for k := range a {
			sum -= l[a*n+k] * r[k]
		}
		r[a] = sum / l[a*n+a]
	}
}

// backward solves l' z = r in place.
func backward(l []float64, n int, r []float64) {
	for a := n - 1; a >= 0; a-- {
		sum := r[a]
		for k := a + 1; k < n; k++ {
			sum -= l[k*n+a] * r[k]
		}
		r[a] = sum / l[a*n+a]
	}
}
