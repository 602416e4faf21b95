package simdev

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"sync/atomic"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Tower is an invented rig on which the same mass falls again and again, as an endless stream.
type Tower struct {
	Rate  quantity.Frequency
	Drops int               // 0 = without end
	Every quantity.Duration // from one drop to the next; 0 = 20 s
	Lead  quantity.Duration // quiet before the first
	// ByHand lets the mass go each time Release is called, once the mass of the drop before is off, instead of after
	// Every and Lead.
	ByHand bool
	Hangs  quantity.Duration // how long the mass is watched after it comes taut; 0 = 3 s
	Seed   uint64
	Cell   Cell // zero = InventedCell
	// Falls are dropped in turn; empty = the invented scenario's.
	Falls []arrest.Case
}

// InventedCell is the load cell of the tower: 50 kN, 2 mV/V.
var InventedCell = Cell{Capacity: 50000, Sensitivity: 0.002, Bits: 24, Noise: 6, Hum: 4, Offset: 35}

// Scenario tells what the tower plays.
const Scenario = "Invented scenario: 100 kg fall 0.9 m onto lanyards that do not exist; every third parts. No number here describes a real product."

const (
	lowering = 1.5 // s in which the mass is taken off after a drop
	quietFor = 0.4 // s of a record before the release
)

// Stream is the force that the tower's amplifier shows, sample by sample.
type Stream struct {
	t       Tower
	rate    float64
	period  int64
	lead    int64
	records [][]float64 // of the drops, N; they follow each other in turn
	rng     *rand.Rand
	next    int64

	asked atomic.Int64 // drops asked for by hand and not over
	done  int64        // drops by hand that are over
	begun int64        // first sample of the one by hand that is played, -1 = none
}

// Start simulates the drops that are played in turn.
func (t Tower) Start(ctx context.Context) (*Stream, error) {
	if t.Every == 0 {
		t.Every = 20
	}
	if t.Cell.Capacity == 0 {
		t.Cell = InventedCell
	}
	if t.Hangs == 0 {
		t.Hangs = 3
	}
	if !t.ByHand && t.Every < 6 {
		return nil, fmt.Errorf("simulated rig: a drop every %s leaves no time to take the mass off; at least 6 s are needed", t.Every)
	}
	s := &Stream{t: t, rate: t.Rate.SI(), period: int64(math.Round(t.Every.SI() * t.Rate.SI())), lead: int64(t.Lead.SI() * t.Rate.SI()), rng: rand.New(rand.NewPCG(t.Seed, 77)), begun: -1}
	falls := t.Falls
	if len(falls) == 0 {
		var err error
		if falls, err = inventedFalls(); err != nil {
			return nil, err
		}
	}
	for i, c := range falls {
		c.Until, c.AtLeast = t.Hangs, false
		r, err := t.Cell.Take(ctx, Drop{Rate: t.Rate, Before: quietFor, Seed: t.Seed + uint64(i), Case: c})
		if err != nil {
			return nil, err
		}
		v := make([]float64, len(r.Counts))
		for k := range v {
			v[k] = r.ForceAt(k).SI()
		}
		s.records = append(s.records, v)
	}
	return s, nil
}

// inventedFalls are two lanyards that hold and one that parts.
func inventedFalls() ([]arrest.Case, error) {
	var out []arrest.Case
	for i := range 3 {
		x, ok := arrest.StartingSet("polyester-webbing")
		if !ok {
			return nil, fmt.Errorf("simulated rig: there are no starting values for polyester-webbing")
		}
		x.Length, x.BreakRamp, x.Friction = 0.9, 0.0006, 0.25
		if x.Strength = 0; i == 2 {
			x.Strength = 13000
		}
		out = append(out, arrest.Case{Mass: 100, Fall: 0.9, Chain: []arrest.Element{
			{Kind: arrest.KindRig, Rig: &arrest.Rig{Stiffness: 2e6, NodeMass: 0.5, DampingRatio: 0.03}},
			{Kind: arrest.KindTextile, Name: "lanyard", Textile: &x},
		}})
	}
	return out, nil
}

// Release lets the mass go where that is done by hand. It may be called from another goroutine.
func (s *Stream) Release() { s.asked.Add(1) }

// Busy tells that a mass let go by hand is falling, hangs, or is being taken off.
func (s *Stream) Busy() bool { return s.asked.Load() > 0 }

// Drop tells which drop, from 0, is being played at the next sample; ok is false after the last.
func (s *Stream) Drop() (n int64, ok bool) {
	if n = s.done; !s.t.ByHand {
		n = max(0, s.next-s.lead) / s.period
	}
	return n, s.t.Drops == 0 || n < int64(s.t.Drops)
}

// Next is the number of the next sample.
func (s *Stream) Next() int64 { return s.next }

// Read fills v with the next forces, in N.
func (s *Stream) Read(v []float64) {
	for i := range v {
		k := s.place()
		n, ok := s.Drop()
		r := s.records[n%int64(len(s.records))]
		switch {
		case ok && k >= 0 && k < int64(len(r)):
			v[i] = r[k]
		default:
			hum := s.t.Cell.Hum.SI() * math.Sin(2*math.Pi*50*float64(s.next)/s.rate)
			v[i] = s.t.Cell.Offset.SI() + hum + s.t.Cell.Noise.SI()*s.rng.NormFloat64()
			if since := float64(k-int64(len(r))) / s.rate; ok && since >= 0 && since < lowering {
				v[i] += (r[len(r)-1] - s.t.Cell.Offset.SI()) * (1 - since/lowering)
			}
		}
		s.next++
	}
}

// place is where in the record of the present drop the next sample lies; negative before it.
func (s *Stream) place() int64 {
	if !s.t.ByHand {
		// A second of quiet comes before each record.
		return (s.next-s.lead)%s.period - int64(s.rate)
	}
	if s.begun >= 0 {
		hung := s.next - s.begun - int64(len(s.records[s.done%int64(len(s.records))]))
		if float64(hung) >= lowering*s.rate {
			s.begun, s.done = -1, s.done+1
			s.asked.Add(-1)
		}
	}
	if s.begun < 0 {
		if s.asked.Load() == 0 {
			return -1
		}
		s.begun = s.next
	}
	return s.next - s.begun
}
