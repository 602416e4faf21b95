package identify

import (
	"context"
	"math"
	"slices"

	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/lsq"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// tell finds what the records leave open, and the drop that would tell most of each.
func (o *Model) tell(ctx context.Context) {
	m := o.m
	if l, one := m.oneLength(); one {
		j := slices.IndexFunc(m.params, func(p parameter) bool { return p.part == partRig })
		o.CannotTell = append(o.CannotTell, CannotTell{
			What:   message.Say("the rig's stiffness apart from the textiles'"),
			Reason: message.Say("all specimens are %s long and no steel link was dropped: a softer rig under a stiffer textile would show the same force", quantity.Length(l).Text(3)),
			Drop:   o.telling(j),
		})
	}
	for j := range m.params {
		if ctx.Err() != nil {
			return
		}
		p := &o.Parameters[j]
		if p.From == FromRecords {
			continue
		}
		o.flat(j)
		if m.params[j].stated {
			continue
		}
		o.CannotTell = append(o.CannotTell, CannotTell{
			What:   message.Say("%s of %s", message.Names(p.Name), message.Own(p.Element)),
			Reason: message.Say("the records narrow what was known beforehand by less than half"),
			Drop:   o.telling(j),
		})
	}
}

// oneLength tells whether every textile was dropped at one and the same length, with no steel link beside it.
func (m *model) oneLength() (length float64, one bool) {
	lo, hi := math.Inf(1), 0.0
	for _, d := range m.designs {
		if d.steel {
			return 0, false
		}
		lo, hi = min(lo, d.length), max(hi, d.length)
	}
	return lo, hi < 1.1*lo
}

// flat opens the sides of a parameter's interval towards which the records, without what was known beforehand, do not speak against any value up to
// three of its widths.
func (o *Model) flat(j int) {
	m := o.m
	q := m.clone()
	if !q.linearise(o.fit.X) || !q.weigh() {
		return
	}
	p := q.problem()
	p.MostSteps = 4
	p.Prior[j] = lsq.Normal{}
	free, err := lsq.NewSolver(p).Solve(o.fit.X)
	if err != nil {
		return
	}
	at := func(v float64) float64 {
		h := *p
		h.Lower, h.Upper = slices.Clone(p.Lower), slices.Clone(p.Upper)
		h.Lower[j], h.Upper[j] = v, v
		x := slices.Clone(free.X)
		x[j] = v
		f, err := lsq.NewSolver(&h).Solve(x)
		if err != nil {
			return math.Inf(1)
		}
		return f.RSS - free.RSS
	}
	const rise = 3.84 // chi-squared, one degree of freedom, 95 %
	prior := m.params[j].prior
	down, up := math.Exp(prior.Mean-3*prior.SD), math.Min(math.Exp(prior.Mean+3*prior.SD), p.Upper[j])
	if at(down) < rise {
		o.Parameters[j].Lo = nil
	}
	if at(up) < rise {
		o.Parameters[j].Hi = nil
	}
	// The side that is left is what the records alone say.
	if par := &o.Parameters[j]; (par.Lo == nil) != (par.Hi == nil) {
		a, b := free.X[j], up
		if par.Hi == nil {
			b = down
		}
		for range 5 {
			mid := math.Sqrt(a * b)
			if at(mid) < rise {
				a = mid
			} else {
				b = mid
			}
		}
		if par.Hi == nil {
			par.Lo = &b
		} else {
			par.Hi = &b
		}
	}
}

// telling says which drop would narrow parameter j most: of the kinds of specimen that were dropped, a third to three times as long, from a quarter to
// twice the usual fall factor, without a larger force than was seen.
func (o *Model) telling(j int) message.Sentence {
	m := o.m.clone()
	n := len(m.params)
	most := 0.0
	for _, d := range m.designs {
		most = max(most, d.peak)
	}
	info := make([]float64, n*n)
	if !invert(o.fit.Cov, n, info) {
		return message.Say("cannot be told")
	}
	before := math.Sqrt(o.fit.Cov[j*n+j])
	best, bestSD := design{}, before
	seen := map[string]bool{}
	for _, d := range m.designs {
		if d.steel || !m.params[j].concerns(d) || seen[d.textile+d.knot] {
			continue
		}
		seen[d.textile+d.knot] = true
		for _, l := range []float64{1. / 3, 1, 3} {
			for _, factor := range []float64{0.25, 0.5, 1, 2} {
				c := *d
				c.length, c.records, c.raw, c.low = math.Round(d.length*l*20)/20, nil, nil, nil
				c.fall = math.Round(factor*c.length*20) / 20
				if c.length <= 0 || c.fall <= 0 || m.worn(&c) {
					continue
				}
				if sd, ok := o.after(m, c, info, j, most); ok && sd < bestSD {
					best, bestSD = c, sd
				}
			}
		}
	}
	if bestSD > 0.95*before {
		return message.Say("no drop up to the forces seen so far would narrow it by a twentieth")
	}
	kind := best.textile
	if best.knot != "" {
		kind = best.knotName()
	}
	return message.Say("%s, %s long, fall %s: would narrow it by %.0f %%", message.Own(kind), quantity.Length(best.length).Text(3), quantity.Length(best.fall).Text(3), 100*(1-bestSD/before))
}

// worn tells that the fall was dropped already.
func (m *model) worn(c *design) bool {
	return slices.ContainsFunc(m.designs, func(d *design) bool {
		return d.textile == c.textile && d.knot == c.knot && math.Abs(d.length-c.length) < 0.05*d.length && math.Abs(d.fall-c.fall) < 0.05*d.fall
	})
}

// after is the standard deviation of parameter j after one more record of the design.
func (o *Model) after(m *model, c design, info []float64, j int, most float64) (float64, bool) {
	n := len(m.params)
	k := peaker{m: m, d: c}
	peak, _, err := k.peaks(o.fit.X, scale{})
	if err != nil || peak > 1.1*most {
		return 0, false
	}
	var sum float64
	for _, d := range m.designs {
		sum = max(sum, d.speedU)
	}
	c.peak, c.speedU = peak, sum
	// An arrest lasts about pi sqrt(m L/(peak/strain ...)): twice the way over the speed, which the impulse bounds.
	v := math.Sqrt(2 * c.gravity * c.fall)
	c.span = 1.3 * 2 * c.mass * v / peak * math.Pi / 2
	rec := Record{Drop: "asked", Rate: modelRate}
	one := observed{design: &c, record: &rec}
	for b := range blocks {
		one.use = append(one.use, b)
	}
	one.values = make([]float64, blocks)
	s := model{records: []Record{rec}, designs: []*design{&c}, obs: [][]observed{{one}}, params: m.params, rig: m.rig, spread: m.spread, rows: blocks, groups: []group{{n: blocks}}}
	if !s.linearise(o.fit.X) || !s.weigh() {
		return 0, false
	}
	sumInfo := slices.Clone(info)
	g := &s.groups[0]
	for _, col := range g.slopes {
		if col != nil {
			forward(g.chol, g.n, col)
		}
	}
	for a := range n {
		for b := range n {
			if g.slopes[a] == nil || g.slopes[b] == nil {
				continue
			}
			for i, v := range g.slopes[a] {
				sumInfo[a*n+b] += v * g.slopes[b][i]
			}
		}
	}
	cov := make([]float64, n*n)
	if !invert(sumInfo, n, cov) {
		return 0, false
	}
	return math.Sqrt(cov[j*n+j]), true
}

// invert writes the inverse of a symmetric positive matrix.
func invert(a []float64, n int, out []float64) bool {
	l := slices.Clone(a)
	if _, ok := cholesky(l, n); !ok {
		return false
	}
	e := make([]float64, n)
	for c := range n {
		for i := range e {
			e[i] = 0
		}
		e[c] = 1
		forward(l, n, e)
		backward(l, n, e)
		for r := range n {
			out[r*n+c] = e[r]
		}
	}
	return true
}
