package app

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
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/traceio/casefile"
)

// Simulation is the outcome of a simulated fall. The JSON names are stable: names are added, never
// changed. Times count from the first taut.
type Simulation struct {
	PeakForce quantity.Force     `json:"peak_force_N"`
	PeakTime  quantity.Duration  `json:"peak_time_s"`
	PeakChain quantity.Force     `json:"peak_chain_N"` // in the chain; differs where the rig has a node mass
	Peaks     []SimulatedPeak    `json:"peaks"`
	Events    []SimulatedEvent   `json:"events"`
	Outcome   drop.Outcome       `json:"outcome"`
	Reason    string             `json:"reason,omitempty"` // of a void outcome
	Broke     *SimulatedBreak    `json:"broke"`
	Lowest    quantity.Length    `json:"lowest_m"`
	Elements  []SimulatedElement `json:"elements"`
	Energy    SimulatedEnergy    `json:"energy"`
	Body      *SimulatedBody     `json:"body"`
	Method    string             `json:"method"`
	Steps     int                `json:"steps"`
	Warnings  []string           `json:"warnings"`
	Cautions  []string           `json:"cautions"`
	Recorded  *reduce.Reduction  `json:"as_recorded"` // the same fall as a logger and the filter would show it
	Earlier   []*Simulation      `json:"earlier_drops"`

	// Samples are the channels asked for, nil when none were.
	Samples *arrest.Samples `json:"-"`
}

// SimulatedPeak is the largest force of one arrest.
type SimulatedPeak struct {
	T     quantity.Duration `json:"t_s"`
	Force quantity.Force    `json:"force_N"`
}

// SimulatedEvent is something that happened.
type SimulatedEvent struct {
	T       quantity.Duration `json:"t_s"`
	Kind    string            `json:"kind"`
	Element string            `json:"element"`
}

// SimulatedBreak is what parted.
type SimulatedBreak struct {
	Element string            `json:"element"`
	T       quantity.Duration `json:"t_s"`
	Force   quantity.Force    `json:"force_N"`
}

// SimulatedElement is what one element went through.
type SimulatedElement struct {
	Name        string          `json:"name"`
	Kind        string          `json:"kind"`
	StartingSet string          `json:"starting_values,omitempty"`
	Peak        quantity.Force  `json:"peak_N"`
	Elongation  quantity.Length `json:"elongation_m"`
	Slip        quantity.Length `json:"slip_m"`
}

// SimulatedEnergy is the ledger; residual is what does not add up.
type SimulatedEnergy struct {
	In       quantity.Energy `json:"in_J"`
	Kinetic  quantity.Energy `json:"kinetic_J"`
	Stored   quantity.Energy `json:"stored_J"`
	Viscous  quantity.Energy `json:"viscous_J"`
	Friction quantity.Energy `json:"friction_J"`
	Slip     quantity.Energy `json:"slip_J"`
	Break    quantity.Energy `json:"break_J"`
	Residual quantity.Energy `json:"residual_J"`
}

// SimulatedBody is what the torso feels.
type SimulatedBody struct {
	PeakG    float64           `json:"peak_g"`
	PeakTime quantity.Duration `json:"peak_time_s"`
	Above    []SimulatedG      `json:"above"`
}

// SimulatedG is the longest unbroken time above a level.
type SimulatedG struct {
	G        float64           `json:"g"`
	Duration quantity.Duration `json:"duration_s"`
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
func (a *App) Simulate(ctx context.Context, name string, r io.Reader, o SimulateOptions) (*Simulation, error) {
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
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	s := simulation(res)
	if o.Filter != nil {
		t := &drop.Trace{Name: name, Rate: o.Rate, Start: quantity.Duration(-before), Channels: []drop.Channel{{Name: "cell", Unit: "N", Dim: quantity.DimForce, Factor: 1, Values: bare(res.Samples.Cell)}}}
		if s.Recorded, err = reduce.Reduce(t, reduce.Settings{Mass: c.Mass, Fall: c.Fall, Gravity: c.Gravity, Filter: *o.Filter, RigFrequency: nodeOf(c)}); err != nil {
			s.Warnings = append(s.Warnings, fmt.Sprintf("the fall could not be reduced as a record: %v", err))
		}
	}
	if o.Sampled {
		s.Samples = res.Samples
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
	s := &Simulation{
		PeakForce: r.PeakForce, PeakTime: r.PeakTime, PeakChain: r.PeakChain, Outcome: r.Outcome, Reason: r.Reason, Lowest: r.Lowest,
		Energy: SimulatedEnergy{r.Energy.In, r.Energy.Kinetic, r.Energy.Stored, r.Energy.Viscous, r.Energy.Friction, r.Energy.Slip, r.Energy.Break, r.Energy.Residual},
		Method: string(r.Method), Steps: r.Steps, Peaks: []SimulatedPeak{}, Events: []SimulatedEvent{}, Elements: []SimulatedElement{},
		Warnings: append([]string{}, r.Warnings...), Cautions: drop.Cautions(), Earlier: []*Simulation{},
	}
	for _, p := range r.Peaks {
		s.Peaks = append(s.Peaks, SimulatedPeak{p.T, p.Force})
	}
	for _, e := range r.Events {
		s.Events = append(s.Events, SimulatedEvent{e.T, string(e.Kind), e.Element})
	}
	for _, e := range r.Elements {
		s.Elements = append(s.Elements, SimulatedElement{e.Name, string(e.Kind), e.StartingSet, e.Peak, e.Elongation, e.Slip})
	}
	if b := r.Broke; b != nil {
		s.Broke = &SimulatedBreak{b.Element, b.T, b.Force}
	}
	if b := r.Body; b != nil {
		s.Body = &SimulatedBody{PeakG: b.PeakG.SI(), PeakTime: b.PeakTime, Above: []SimulatedG{}}
		for _, l := range b.Above {
			s.Body.Above = append(s.Body.Above, SimulatedG{l.G.SI(), l.Duration})
		}
	}
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
		Name: "model", Outcome: figure.Outcome(s.Outcome), ForceN: bare(s.Samples.Cell), Rate: s.Samples.Rate, Start: s.Samples.Start,
		Peak: s.PeakForce, PeakTime: s.PeakTime, End: quantity.Duration(math.NaN()),
	}
	for _, e := range s.Events {
		if e.Kind == string(arrest.EventSlack) || e.Kind == string(arrest.EventBreak) {
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
