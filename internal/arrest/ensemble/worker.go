package ensemble

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/drop"
)

// PartSize is the number of drops of one part. Part numbers seed the random stream, so that the drops are the
// same whatever the number of workers.
const PartSize = 256

// Outcome is what is kept of each drop.
type Outcome struct {
	Peak  float64 // N; of the force that the load cell feels
	Chain float64 // N; of the force in the chain, against which strengths count
	Broke int32   // place in the chain of what parted, -1 = nothing
	Open  int8    // why the peaks are lower bounds, 0 = they are not: see Certainty
}

// Worker runs parts of an ensemble without allocating. Each goroutine needs its own.
type Worker struct {
	plan   *Plan
	s      *sampler
	engine arrest.Engine
	cases  []arrest.Case
	sums   []arrest.Summary
	crests []arrest.Summary
	ripple bool
	u, z   []float64
	src    *rand.PCG
}

// open is how a certainty is kept of each drop.
func open(c arrest.Certainty) int8 {
	switch c {
	case arrest.FloorHit:
		return 1
	case arrest.RunTooShort:
		return 2
	}
	return 0
}

// Certainty says whether the peak of the drop is the largest force that it asks for.
func (o Outcome) Certainty() arrest.Certainty {
	return [...]arrest.Certainty{arrest.PeakPassed, arrest.FloorHit, arrest.RunTooShort}[o.Open]
}

// NewWorker checks the plan.
func NewWorker(p *Plan) (*Worker, error) {
	if p.Case.Drops > 1 {
		return nil, fmt.Errorf("drops: %d are asked for, but every draw is a specimen of its own that falls once; leave drops out, or simulate the series", p.Case.Drops)
	}
	s, err := p.sampler()
	if err != nil {
		return nil, err
	}
	for _, par := range s.params {
		if par.Name == "fall" && p.Case.Speed > 0 {
			return nil, fmt.Errorf("spread of fall: the speed alone says how fast the mass is when the chain comes taut; leave speed out")
		}
	}
	w := &Worker{plan: p, ripple: rippled(&p.Case) >= 0, s: s, cases: make([]arrest.Case, PartSize), sums: make([]arrest.Summary, PartSize), u: make([]float64, len(s.dists)), z: make([]float64, len(s.dists)), src: rand.NewPCG(0, 0)}
	for i := range w.cases {
		w.cases[i] = p.Case.Copy()
	}
	return w, nil
}

// Inputs is the number of parameters that vary.
func (w *Worker) Inputs() int { return len(w.s.dists) }

// Part runs drops part*PartSize ... into out, at most PartSize of them.
func (w *Worker) Part(part int, out []Outcome) error {
	w.Draw(part, len(out))
	return w.run(part, out)
}

// Draw draws the first n cases of a part, and runs none: see Drawn.
func (w *Worker) Draw(part, n int) {
	w.src.Seed(w.plan.Seed, uint64(part))
	for i := range n {
		w.draw(w.u)
		w.s.apply(&w.cases[i], w.u, w.z)
	}
}

func (w *Worker) draw(u []float64) {
	for k := range u {
		// 53 bits, never 0 or 1.
		u[k] = (float64(w.src.Uint64()>>11) + 0.5) / (1 << 53)
	}
}

func (w *Worker) run(part int, out []Outcome) error {
	batch := w.engine.Batch
	if w.ripple {
		batch = w.bounded
	}
	if err := batch(w.cases[:len(out)], w.sums); err != nil {
		if w.engine.Context != nil && w.engine.Context.Err() != nil {
			return err
		}
		return fmt.Errorf("drop %d on: %w; narrow the spread, or give it min and max", part*PartSize+1, err)
	}
	for i := range out {
		out[i] = Outcome{Peak: w.sums[i].PeakForce.SI(), Chain: w.sums[i].PeakChain.SI(), Broke: int32(w.sums[i].Broke), Open: open(w.sums[i].Certainty)}
		if w.sums[i].Outcome != drop.Broke {
			out[i].Broke = -1
		}
		if math.IsNaN(out[i].Peak) {
			return fmt.Errorf("drop %d: the peak is not a number", part*PartSize+i+1)
		}
	}
	return nil
}

// SobolPart runs the drops of one part of a Saltelli design: base points a and b, and for each input the
// point a with that input from b. out has PartSize/(inputs+2) rows of inputs+2 outcomes: f(a), f(b),
// f(ab_1), ...
func (w *Worker) SobolPart(part int, out [][]Outcome) error {
	k := w.Inputs()
	w.src.Seed(w.plan.Seed^0x50b01, uint64(part))
	a, b := make([]float64, k), make([]float64, k)
	n := 0
	for range out {
		w.draw(a)
		w.draw(b)
		w.s.apply(&w.cases[n], a, w.z)
		w.s.apply(&w.cases[n+1], b, w.z)
		for i := range k {
			copy(w.u, a)
			w.u[i] = b[i]
			w.s.apply(&w.cases[n+2+i], w.u, w.z)
		}
		n += k + 2
	}
	flat := make([]Outcome, n)
	if err := w.run(part, flat); err != nil {
		return err
	}
	for r := range out {
		copy(out[r], flat[r*(k+2):])
	}
	return nil
}

// SobolRows is the number of base points of one part for k inputs.
func SobolRows(k int) int { return PartSize / (k + 2) }

// WithContext makes the drops end with the context.
func (w *Worker) WithContext(ctx context.Context) *Worker {
	w.engine.Context = ctx
	return w
}

// Nominal runs the case itself, with nothing drawn.
func (w *Worker) Nominal(ctx context.Context, out *arrest.Summary) error {
	one := []arrest.Case{w.plan.Case.Copy()}
	to := []arrest.Summary{{}}
	batch := w.WithContext(ctx).engine.Batch
	if w.ripple {
		batch = w.bounded
	}
	err := batch(one, to)
	*out = to[0]
	return err
}

// Drawn is drop i of the last Part as it was drawn, until the next.
func (w *Worker) Drawn(i int) *arrest.Case { return &w.cases[i] }

// Summaries are the first n drops of the last Part, until the next.
func (w *Worker) Summaries(n int) []arrest.Summary { return w.sums[:n] }
