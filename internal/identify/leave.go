package identify

import (
	"context"
	"math"
	"slices"

	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/lsq"
	"github.com/hardcatch/hardcatch/internal/num/uncert"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// peak is the record's own, through the filter of the model.
func (o *observed) peak() float64 {
	r := o.record
	to := min(len(r.Force), int(r.End*r.Rate)+1)
	if !r.Broke {
		to = min(len(r.Force), int((r.End+lead)*r.Rate)+1)
	}
	from := max(int((r.Taut-lead)*r.Rate), 0)
	if to-from < 3 {
		return r.Peak
	}
	x := slices.Clone(r.Force[from:to])
	lowPass(x, r.Rate)
	return crest(x)
}

// without is the model without some records.
func (m *model) without(out func(*Record) bool) *model {
	c := m.clone()
	c.rows = 0
	c.groups = nil
	for i := range c.obs {
		g := group{first: c.rows}
		for j := range c.obs[i] {
			if out(c.obs[i][j].record) {
				c.obs[i][j].use = nil
			}
			g.n += len(c.obs[i][j].use)
		}
		c.rows += g.n
		c.groups = append(c.groups, g)
	}
	return c
}

// leaveOut predicts every cell by a model fitted without it.
func (o *Model) leaveOut(ctx context.Context) {
	var cells []string
	for _, r := range o.m.records {
		if !r.Steel && !slices.Contains(cells, r.Cell) {
			cells = append(cells, r.Cell)
		}
	}
	if len(cells) < 2 {
		return
	}
	for _, cell := range cells {
		if ctx.Err() != nil {
			return
		}
		if c, ok := o.leave(cell); ok {
			o.LeftOut = append(o.LeftOut, c)
		}
	}
	inside := 0
	for _, c := range o.LeftOut {
		if c.Inside {
			inside++
		}
	}
	if n := len(o.LeftOut); n > 0 && float64(inside) < 0.8*float64(n) {
		o.warn(message.Say("left out in turn, %d of %d cells lie inside their 95 %% interval: the model does not carry over between these cells", inside, n))
	}
}

func (o *Model) leave(cell string) (out CellLeftOut, ok bool) {
	m := o.m.without(func(r *Record) bool { return r.Cell == cell })
	if m.rows == 0 {
		return out, false
	}
	// The held drops of the cell, fall by fall.
	sum, n := 0.0, 0
	var at []*design
	for i, d := range m.designs {
		for j := range m.obs[i] {
			q := &m.obs[i][j]
			if r := q.record; r.Cell == cell && !r.Broke && r.Lost == nil {
				sum, n = sum+q.peak(), n+1
				at = append(at, d)
			}
		}
	}
	if n == 0 || !m.linearise(o.fit.X) || !m.weigh() {
		return out, false
	}
	p := m.problem()
	p.MostSteps = 4
	f, err := lsq.NewSolver(p).Solve(o.fit.X)
	if err != nil {
		return out, false
	}
	predicted, variance, ok := m.meanPeak(at, f)
	if !ok {
		return out, false
	}
	half := uncert.StudentQuantile(0.975, o.spreadDoF()) * math.Sqrt(variance)
	out = CellLeftOut{
		Cell: cell, Drops: n, Measured: quantity.Force(sum / float64(n)), Predicted: quantity.Force(predicted),
		Lo: quantity.Force(predicted * math.Exp(-half)), Hi: quantity.Force(predicted * math.Exp(half)),
	}
	out.Inside = out.Measured >= out.Lo && out.Measured <= out.Hi
	return out, true
}

// meanPeak predicts the mean peak of drops of the designs given, and the variance of its logarithm: of the parameters, of what the model is off by, and of
// so many specimens.
func (m *model) meanPeak(of []*design, f *lsq.Fit) (peak, variance float64, ok bool) {
	n := len(m.params)
	grad := make([]float64, n)
	d := of[0]
	for _, e := range of {
		if e != d {
			d = nil
			break
		}
	}
	kinds := []*design{of[0]}
	if d == nil {
		kinds = slices.Compact(slices.Clone(of))
	}
	own := 0.0
	for _, d := range kinds {
		share := 0.0
		for _, e := range of {
			if e == d {
				share += 1 / float64(len(of))
			}
		}
		k := peaker{m: m, d: *d}
		at, _, err := k.peaks(f.X, scale{})
		if err != nil {
			return 0, 0, false
		}
		peak += share * at
		vary := func(x []float64, s scale) float64 {
			v, _, err := k.peaks(x, s)
			if err != nil {
				return at
			}
			return v
		}
		for j := range m.params {
			if m.params[j].concerns(d) {
				x := slices.Clone(f.X)
				x[j] = f.X[j] * math.Exp(stride)
				up := vary(x, scale{})
				x[j] = f.X[j] * math.Exp(-stride)
				grad[j] += share * math.Log(up/vary(x, scale{})) / (2 * stride)
			}
		}
		by := func(s func(float64) scale, sd float64) float64 {
			g := math.Log(vary(f.X, s(stride))/vary(f.X, s(-stride))) / (2 * stride)
			return g * g * sd * sd
		}
		one := by(func(h float64) scale { return scale{textile: h} }, m.spread.Textile) + by(func(h float64) scale { return scale{speed: h} }, d.speedU) + m.spread.Drop*m.spread.Drop
		if d.knot != "" {
			one += by(func(h float64) scale { return scale{slip: h} }, m.spread.Slip)
		}
		own += share * one
	}
	variance = own/float64(len(of)) + m.spread.model()*m.spread.model()
	for a := range n {
		for b := range n {
			variance += grad[a] * grad[b] * f.Cov[a*n+b]
		}
	}
	return peak, variance, true
}
