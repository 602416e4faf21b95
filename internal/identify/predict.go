package identify

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/sample"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Fall is a drop to be predicted. SI.
type Fall struct {
	Mass, Fall, Length, Gravity float64
	Textile, Set, Knot          string
	FallU                       float64 // standard uncertainty of the fall height
	GainU                       float64 // relative standard uncertainty of the force scale
}

// Prediction is the peak of a drop that was not made.
type Prediction struct {
	Peak, Lo, Hi float64   // N through the filter: median and 95 %
	Peaks        []float64 // N, drawn, sorted
	Chain        []float64 // N, the largest force in the chain of the same draws, sorted
	Extrapolates []message.Sentence
}

// ErrNotOfThisModel means that no record of the textile was fitted.
var ErrNotOfThisModel = errors.New("no record of this textile was fitted")

// peaker computes peaks of one design.
type peaker struct {
	m   *model
	d   design
	raw []float64
}

// peaks are the largest reading through the filter and the largest force in the chain.
func (k *peaker) peaks(x []float64, s scale) (filtered, chained float64, err error) {
	c := chain(&k.d, k.m.params, x, k.m.rig, s)
	return k.of(&c)
}

func (k *peaker) of(c *arrest.Case) (filtered, chained float64, err error) {
	var sum arrest.Summary
	c.AtLeast = true
	if err := k.m.engine.Drop(c, &sum); err != nil {
		return 0, 0, fmt.Errorf("prediction: %w", err)
	}
	n := int((sum.PeakTime.SI()+2*lead)*modelRate) + 2
	if cap(k.raw) < n {
		k.raw = make([]float64, n)
	}
	k.raw = k.raw[:n]
	if err := k.m.engine.Reading(c, modelRate, -lead, k.raw); err != nil {
		return 0, 0, fmt.Errorf("prediction: %w", err)
	}
	lowPass(k.raw, modelRate)
	return crest(k.raw), sum.PeakChain.SI(), nil
}

// crest is the largest value, through a parabola over its neighbours.
func crest(x []float64) float64 {
	i := 0
	for k, v := range x {
		if v > x[i] {
			i = k
		}
	}
	if i == 0 || i == len(x)-1 {
		return x[i]
	}
	a, b := (x[i+1]-x[i-1])/2, x[i+1]-2*x[i]+x[i-1]
	if b >= 0 {
		return x[i]
	}
	return x[i] - a*a/(2*b)
}

func (f Fall) design() design {
	return design{mass: f.Mass, fall: f.Fall, length: f.Length, gravity: f.Gravity, textile: f.Textile, set: f.Set, knot: f.Knot}
}

// spreadDoF are the degrees of freedom behind the spread between specimens.
func (o *Model) spreadDoF() float64 {
	n := 0
	for i := range o.m.designs {
		n += max(len(o.m.obs[i])-1, 0)
	}
	return max(float64(n), 3)
}

// Predict draws the drop: from the posterior of the parameters, a new specimen of the spread, the fall height, what the model is off by and the force
// scale.
func (o *Model) Predict(ctx context.Context, f Fall, seed uint64) (*Prediction, error) {
	out := &Prediction{Extrapolates: o.Extrapolates(f)}
	k := peaker{m: o.m.clone(), d: f.design()}
	k.m.engine.Context = ctx
	known, tied := false, false
	for i := range o.m.params {
		p := &o.m.params[i]
		known = known || p.part == partE1 && p.element == f.Textile
		tied = tied || p.part == partFL && f.Knot != "" && p.element == k.d.knotName()
	}
	if !known || len(o.draws) == 0 {
		return nil, ErrNotOfThisModel
	}
	rng := rand.New(rand.NewPCG(seed, 4711))
	dof := o.spreadDoF()
	chi := distuv.ChiSquared{K: dof, Src: rng}
	const most = 800
	n := min(most, len(o.draws))
	failed := 0
	for i := range n {
		x := o.draws[i*len(o.draws)/n]
		inflate := math.Sqrt(dof / chi.Rand())
		s := scale{textile: o.m.spread.Textile * inflate * rng.NormFloat64(), slip: o.m.spread.Slip * inflate * rng.NormFloat64()}
		if f.Fall > 0 {
			s.speed = f.FallU / (2 * f.Fall) * rng.NormFloat64()
		}
		c := chain(&k.d, k.m.params, x, k.m.rig, s)
		if f.Knot != "" && !tied {
			a := c.Chain[2].Knot
			a.FL *= quantity.Force(math.Exp(wide * rng.NormFloat64()))
			a.Slip *= quantity.Length(math.Exp(wide * rng.NormFloat64()))
			a.F0 = min(a.F0, a.FL)
		}
		peak, chained, err := k.of(&c)
		if err != nil {
			if ctx.Err() != nil {
				return nil, err
			}
			failed++
			continue
		}
		off := math.Exp(o.m.spread.model()*rng.NormFloat64() + o.m.spread.Drop*inflate*rng.NormFloat64())
		out.Peaks = append(out.Peaks, peak*off*math.Exp(f.GainU*rng.NormFloat64()))
		out.Chain = append(out.Chain, chained*off)
	}
	if failed > n/10 {
		return nil, fmt.Errorf("the model could not be computed for %d of %d draws of this fall; ask nearer to what was dropped", failed, n)
	}
	slices.Sort(out.Peaks)
	slices.Sort(out.Chain)
	out.Peak, out.Lo, out.Hi = sample.Quantile(out.Peaks, 0.5), sample.Quantile(out.Peaks, 0.025), sample.Quantile(out.Peaks, 0.975)
	return out, nil
}

// Extrapolates says in what the fall lies beyond the records.
func (o *Model) Extrapolates(f Fall) []message.Sentence {
	out := []message.Sentence{}
	tied, of := false, 0
	ranges := [4][2]float64{}
	values := func(mass, fall, length float64) [4]float64 { return [4]float64{length, fall, fall / length, mass} }
	for _, d := range o.m.designs {
		if d.steel || d.textile != f.Textile {
			continue
		}
		tied = tied || d.knot == f.Knot
		for k, v := range values(d.mass, d.fall, d.length) {
			if of == 0 {
				ranges[k] = [2]float64{v, v}
			}
			ranges[k] = [2]float64{min(ranges[k][0], v), max(ranges[k][1], v)}
		}
		of++
	}
	if of == 0 {
		return append(out, message.Say("no specimen of this material was dropped"))
	}
	const slack = 0.025
	asked := values(f.Mass, f.Fall, f.Length)
	beyond := func(k int) bool { return asked[k] < ranges[k][0]*(1-slack) || asked[k] > ranges[k][1]*(1+slack) }
	if beyond(0) {
		out = append(out, message.Say("length %s: dropped from %s to %s", quantity.Length(asked[0]).Text(3), quantity.Length(ranges[0][0]).Text(3), quantity.Length(ranges[0][1]).Text(3)))
	}
	if beyond(1) {
		out = append(out, message.Say("fall height %s: dropped from %s to %s", quantity.Length(asked[1]).Text(3), quantity.Length(ranges[1][0]).Text(3), quantity.Length(ranges[1][1]).Text(3)))
	}
	if beyond(2) {
		out = append(out, message.Say("fall factor %s: dropped from %s to %s", quantity.Ratio(asked[2]).Text(3), quantity.Ratio(ranges[2][0]).Text(3), quantity.Ratio(ranges[2][1]).Text(3)))
	}
	if beyond(3) {
		out = append(out, message.Say("mass %s: dropped from %s to %s", quantity.Mass(asked[3]).Text(3), quantity.Mass(ranges[3][0]).Text(3), quantity.Mass(ranges[3][1]).Text(3)))
	}
	if !tied {
		if f.Knot == "" {
			out = append(out, message.Say("no specimen of this material was dropped without a knot"))
		} else {
			out = append(out, message.Say("the knot %s was not dropped in this material", message.Own(f.Knot)))
		}
	}
	return out
}
