package foresee

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"strconv"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/figure"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/traceio/casefile"
)

// Simulation is the outcome of a simulated fall. The JSON names are stable: names are added, never changed. Samples are
// nil when none were asked for.
type Simulation struct {
	*arrest.Result
	Cautions []string          `json:"cautions"`
	Recorded *reduce.Reduction `json:"as_recorded"` // the same fall as a logger and the filter would show it
	Earlier  []*Simulation     `json:"earlier_drops"`
}

// SimulateOptions say what to return besides the peaks.
type SimulateOptions struct {
	Rate    quantity.Frequency // of samples and of the recorded form; 0 = 10 kHz
	Filter  *reduce.Filter     // reduce the samples as a record, nil = do not
	Sampled bool               // keep the samples
	Method  string             // force a method, "" = chosen
}

// quietBefore is how much rest a simulated record shows before the fall.
const quietBefore = 0.3

// Simulate runs the fall described in a case file.
func Simulate(ctx context.Context, a *look.Access, name string, r io.Reader, o SimulateOptions) (*Simulation, error) {
	c, err := casefile.Read(name, r)
	if err != nil {
		return nil, err
	}
	if o.Rate == 0 {
		o.Rate = 10000
	}
	opt := arrest.Options{Method: arrest.Method(o.Method)}
	g := c.Gravity.SI()
	if g == 0 {
		g = quantity.StandardGravity
	}
	before := quietBefore + math.Sqrt(2*c.Fall.SI()/g)
	if o.Sampled || o.Filter != nil {
		opt.Sample = &arrest.Sampling{Rate: o.Rate, Before: quantity.Duration(before)}
	}
	res, err := arrest.Run(ctx, c, opt)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, stopped(err))
	}
	s := simulation(res)
	if o.Filter != nil {
		t := &drop.Trace{Name: name, Rate: o.Rate, Start: quantity.Duration(-before), Channels: []drop.Channel{{Name: "cell", Unit: "N", Dim: quantity.DimForce, Factor: 1, Values: bare(res.Samples.Cell)}}}
		if s.Recorded, err = reduce.Reduce(t, reduce.Settings{Mass: c.Mass, Fall: c.Fall, Gravity: c.Gravity, Filter: *o.Filter, RigFrequency: nodeOf(c)}); err != nil {
			s.Warnings = append(s.Warnings, message.Say("the fall could not be reduced as a record: %v", err))
		}
	}
	if !o.Sampled {
		s.Samples = nil
	}
	return s, nil
}

func nodeOf(c *arrest.Case) quantity.Frequency {
	for _, e := range c.Chain {
		if e.Rig != nil {
			return drop.Rig{Stiffness: e.Rig.Stiffness, NodeMass: e.Rig.NodeMass}.NodeFrequency()
		}
	}
	return 0
}

func bare[T ~float64](in []T) []float64 {
	out := make([]float64, len(in))
	for i, v := range in {
		out[i] = float64(v)
	}
	return out
}

func simulation(r *arrest.Result) *Simulation {
	s := &Simulation{Result: r, Cautions: drop.Cautions(), Earlier: []*Simulation{}}
	for _, e := range r.Earlier {
		s.Earlier = append(s.Earlier, simulation(e))
	}
	return s
}

// CSV writes the samples as a record that this program reads.
func (s *Simulation) CSV() []byte {
	var b bytes.Buffer
	b.WriteString("# simulated: model, not a measurement\ntime [s],force [N],chain force [N],position [m],velocity [m/s]\n")
	var line []byte
	for i := range s.Samples.Cell {
		line = strconv.AppendFloat(line[:0], s.Samples.Start.SI()+float64(i)/s.Samples.Rate.SI(), 'f', 7, 64)
		for _, v := range []float64{s.Samples.Cell[i].SI(), s.Samples.Chain[i].SI(), s.Samples.Position[i].SI(), s.Samples.Velocity[i].SI()} {
			line = append(line, ',')
			line = strconv.AppendFloat(line, v, 'g', 9, 64)
		}
		b.Write(append(line, '\n'))
	}
	return b.Bytes()
}

// SVG draws the force at the load cell over time.
func (s *Simulation) SVG(title string) []byte {
	r := figure.Record{
		Name: "model", Outcome: s.Outcome, ForceN: bare(s.Samples.Cell), Rate: s.Samples.Rate, Start: s.Samples.Start,
		Peak: s.PeakForce, PeakTime: s.PeakTime, End: quantity.Duration(math.NaN()),
	}
	for _, e := range s.Events {
		if e.Kind == arrest.EventSlack || e.Kind == arrest.EventBreak {
			r.End = e.T
			break
		}
	}
	last := s.Samples.Start.SI() + float64(len(s.Samples.Cell)-1)/s.Samples.Rate.SI()
	return figure.ForceTime{
		Frame:   figure.Frame{Title: title, Note: "Simulated: a model, not a measurement. For a rigid mass on the stated rig."},
		Records: []figure.Record{r}, From: quantity.Duration(-0.05 * last), To: quantity.Duration(last),
	}.SVG("simulation")
}
