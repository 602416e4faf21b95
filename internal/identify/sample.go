package identify

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/lsq"
	"github.com/hardcatch/hardcatch/internal/num/sample"
)

const (
	chains = 4
)

// keeps are the shares of its place, from the fit, that a draw keeps for its proposal: short and long steps, and to the other side of the fit.
var keeps = [...]float64{-0.8, -0.4, 0, 0.9}

// sample draws the parameters, the rig, every textile and every knot in turn: given the rig, textiles do not tell of each other. A proposal keeps a
// share of the distance from the fit and adds a normal draw of the fit's covariance, so that it would always be taken where the posterior is normal; the
// rule of Metropolis and Hastings takes it by how far the posterior is not, so that it comes out as it is (Cotter, Roberts, Stuart and White, Statistical
// Science 28 (2013) 424; recalled). Four chains tell whether they agree.
func (o *Model) sample(ctx context.Context, seed uint64, draws int) {
	if draws == 0 {
		draws = 600
	}
	n := len(o.m.params)
	root := slices.Clone(o.fit.Cov)
	for a := range n {
		for b := range n {
			if p, q := &o.m.params[a], &o.m.params[b]; p.part != partRig && q.part != partRig && p.textile != q.textile {
				// What is left between textiles goes through the rig alone.
				r := 0
				root[a*n+b] = root[a*n+r] * root[b*n+r] / root[r*n+r]
			}
		}
	}
	if _, ok := cholesky(root, n); !ok {
		o.warn(message.Say("the posterior has no normal approximation here: only the starting values' spread is drawn"))
		for i := range root {
			root[i] = 0
		}
		for j := range n {
			root[j*n+j] = o.m.params[j].prior.SD
		}
	}
	all := make([]walk, chains)
	var wg sync.WaitGroup
	slots := make(chan struct{}, max(runtime.GOMAXPROCS(0), 1))
	for c := range all {
		wg.Add(1)
		go func() {
			defer wg.Done()
			slots <- struct{}{}
			defer func() { <-slots }()
			w := &all[c]
			w.rng = rand.New(rand.NewPCG(seed, uint64(c)+77))
			w.run(ctx, o.m.clone(), o.fit, root, draws/chains)
		}()
	}
	wg.Wait()
	accepted, proposed := 0, 0
	columns := make([][][]float64, n)
	for j := range columns {
		columns[j] = make([][]float64, chains)
		for c := range all {
			for _, x := range all[c].at {
				columns[j][c] = append(columns[j][c], math.Log(x[j]))
			}
		}
	}
	for c := range all {
		accepted, proposed = accepted+all[c].accepted, proposed+all[c].proposed
		o.draws = append(o.draws, all[c].at...)
	}
	d := &o.Diagnostics
	d.Acceptance = float64(accepted) / float64(max(proposed, 1))
	d.EssMin = math.Inf(1)
	for _, c := range columns {
		r, e := ranked(c)
		o.rhat, o.ess = append(o.rhat, r), append(o.ess, e)
		d.RhatMax, d.EssMin = max(d.RhatMax, r), min(d.EssMin, e)
	}
	if d.RhatMax > 1.05 || d.EssMin < 100 {
		o.warn(message.Say("the posterior is not well drawn (agreement of its chains %.2f, good below 1.05; %.0f independent draws, good from 100 on): intervals may be off", d.RhatMax, d.EssMin))
	}
}

// walk is one chain.
type walk struct {
	rng                *rand.Rand
	at                 [][]float64
	accepted, proposed int

	m    *model
	fit  *lsq.Fit
	root []float64
	p    *lsq.Problem
}

// turns are the groups of parameters that are drawn together, with the designs that each concerns.
func (m *model) turns() (groups, designs [][]int) {
	place := map[string]int{}
	for j := range m.params {
		p := &m.params[j]
		k, ok := place[p.element]
		if !ok {
			k = len(groups)
			place[p.element] = k
			groups, designs = append(groups, nil), append(designs, nil)
			for i, d := range m.designs {
				// A textile's draw takes its knots along.
				if p.part == partRig || d.textile == p.textile && (p.element == p.textile || p.element == d.knotName()) {
					designs[k] = append(designs[k], i)
				}
			}
		}
		groups[k] = append(groups[k], j)
	}
	return groups, designs
}

// place writes the parameters at log(fit) + root z.
func (w *walk) place(z, x []float64) {
	n := len(z)
	for a := range n {
		sum := 0.0
		for b := 0; b <= a; b++ {
			sum += w.root[a*n+b] * z[b]
		}
		x[a] = w.fit.X[a] * math.Exp(sum)
	}
}

// prior is the sum of squares of the priors, +Inf beyond the bounds.
func (w *walk) prior(x []float64) float64 {
	sum := 0.0
	for j := range x {
		if x[j] > w.p.Upper[j] || x[j] < w.p.Lower[j] {
			return math.Inf(1)
		}
		z := (math.Log(x[j]) - w.p.Prior[j].Mean) / w.p.Prior[j].SD
		sum += z * z
	}
	return sum
}

// squares is the weighed sum of squares of a design, +Inf where the model has no value.
func (w *walk) squares(i int, x []float64) float64 {
	g := &w.m.groups[i]
	r := make([]float64, g.n)
	if !w.m.left(i, x, r) {
		return math.Inf(1)
	}
	forward(g.chol, g.n, r)
	sum := 0.0
	for _, v := range r {
		sum += v * v
	}
	return sum
}

func (w *walk) run(ctx context.Context, m *model, fit *lsq.Fit, root []float64, draws int) {
	n := len(m.params)
	w.m, w.fit, w.root, w.p = m, fit, root, m.problem()
	groups, designs := m.turns()
	z, to, x, y := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	of, there := make([]float64, len(m.designs)), make([]float64, len(m.designs))
	w.place(z, x)
	for i := range of {
		of[i] = w.squares(i, x)
	}
	prior := w.prior(x)
	burn := draws / 5
	for k := range draws + burn {
		for g, members := range groups {
			if ctx.Err() != nil {
				return
			}
			copy(to, z)
			keep := keeps[w.rng.IntN(len(keeps))]
			change := 0.0 // of the logarithm of the posterior over the normal, doubled
			for _, j := range members {
				to[j] = keep*z[j] + math.Sqrt(1-keep*keep)*w.rng.NormFloat64()
				change += to[j]*to[j] - z[j]*z[j]
			}
			w.place(to, y)
			p := w.prior(y)
			change += prior - p
			for _, i := range designs[g] {
				if math.IsInf(p, 1) {
					break
				}
				there[i] = w.squares(i, y)
				change += of[i] - there[i]
			}
			if k >= burn {
				w.proposed++
			}
			if math.Log(1-w.rng.Float64()) < change/2 {
				copy(z, to)
				copy(x, y)
				prior = p
				for _, i := range designs[g] {
					of[i] = there[i]
				}
				if k >= burn {
					w.accepted++
				}
			}
		}
		if k >= burn {
			w.at = append(w.at, slices.Clone(x))
		}
	}
}

// ranked is the rank-normalised split R-hat, the larger of bulk and folded, and the bulk effective size of chains (Vehtari, Gelman, Simpson, Carpenter
// and Bürkner, Bayesian Analysis 16 (2021) 667; recalled).
func ranked(of [][]float64) (rhat, ess float64) {
	var split [][]float64
	for _, c := range of {
		h := len(c) / 2
		split = append(split, c[:h], c[len(c)-h:])
	}
	bulk := normalScores(split)
	var all []float64
	for _, c := range split {
		all = append(all, c...)
	}
	slices.Sort(all)
	mid := sample.Quantile(all, 0.5)
	folded := make([][]float64, len(split))
	for i, c := range split {
		for _, v := range c {
			folded[i] = append(folded[i], math.Abs(v-mid))
		}
	}
	return max(splitRhat(bulk), splitRhat(normalScores(folded))), effective(bulk)
}

// normalScores replaces values by the normal quantiles of their ranks over all chains, ties by their middle.
func normalScores(of [][]float64) [][]float64 {
	type place struct {
		v    float64
		c, i int
	}
	var all []place
	out := make([][]float64, len(of))
	for c, x := range of {
		out[c] = make([]float64, len(x))
		for i, v := range x {
			all = append(all, place{v, c, i})
		}
	}
	slices.SortFunc(all, func(a, b place) int {
		switch {
		case a.v < b.v:
			return -1
		case a.v > b.v:
			return 1
		}
		return 0
	})
	n := float64(len(all))
	for i := 0; i < len(all); {
		j := i
		for j < len(all) && all[j].v == all[i].v {
			j++
		}
		rank := float64(i+j+1) / 2
		for k := i; k < j; k++ {
			out[all[k].c][all[k].i] = distuv.UnitNormal.Quantile((rank - 0.375) / (n + 0.25))
		}
		i = j
	}
	return out
}

// splitRhat compares the spread between chains with that within.
func splitRhat(of [][]float64) float64 {
	n := float64(len(of[0]))
	if n < 2 {
		return math.Inf(1)
	}
	var means []float64
	within := 0.0
	for _, c := range of {
		m, v := stat.MeanVariance(c, nil)
		means = append(means, m)
		within += v / float64(len(of))
	}
	_, between := stat.MeanVariance(means, nil)
	if within == 0 {
		return 1
	}
	return math.Sqrt((n-1)/n + between/within)
}

// effective is the number of independent draws, by Geyer's initial positive and monotone sequence.
func effective(of [][]float64) float64 {
	m, n := float64(len(of)), len(of[0])
	if n < 4 {
		return 0
	}
	var means []float64
	within := 0.0
	acov := make([]float64, n)
	for _, c := range of {
		mean, v := stat.MeanVariance(c, nil)
		means = append(means, mean)
		within += v / m
		for lag := range n {
			sum := 0.0
			for i := 0; i+lag < n; i++ {
				sum += (c[i] - mean) * (c[i+lag] - mean)
			}
			acov[lag] += sum / float64(n) / m
		}
	}
	_, between := stat.MeanVariance(means, nil)
	total := within*float64(n-1)/float64(n) + between
	if total == 0 {
		return m * float64(n)
	}
	rho := func(lag int) float64 { return 1 - (within-acov[lag]*float64(n)/float64(n-1))/total }
	tau, before := -1.0, math.Inf(1)
	for lag := 0; lag+1 < n; lag += 2 {
		pair := rho(lag) + rho(lag+1)
		if lag == 0 {
			pair = 1 + rho(1)
		}
		if pair <= 0 {
			break
		}
		pair = min(pair, before)
		before = pair
		tau += 2 * pair
	}
	size := m * float64(n)
	return min(size/max(tau, 1/math.Log10(size)), size*math.Log10(size))
}
