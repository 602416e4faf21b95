package arrest

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/num/dsp"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Use is what a force is held against.
type Use string

// The uses. Everything that a fall is held against goes by one of them, in every command and on every page.
const (
	Strength    Use = "strength"     // of a component: the force in the chain, which all of them carry
	ArrestForce Use = "arrest force" // a limit of a standard's own test: the load cell's reading through the standard's filter
	Reading     Use = "reading"      // what the load cell itself bears and shows unfiltered, the ringing of its node with it
)

// Loads are the largest forces of a fall, one for each use. Where Certainty is not PeakPassed they are lower bounds.
type Loads struct {
	Chain     quantity.Force `json:"chain_N"`
	Filtered  quantity.Force `json:"filtered_N"`
	Cell      quantity.Force `json:"cell_N"`
	Certainty Certainty      `json:"certainty"`
}

// For is the force that counts for a use.
func (l Loads) For(u Use) quantity.Force {
	switch u {
	case Strength:
		return l.Chain
	case ArrestForce:
		return l.Filtered
	}
	return l.Cell
}

// Loads are the forces of the drop by use.
func (r *Result) Loads() Loads {
	return Loads{Chain: r.PeakChain, Filtered: r.PeakFiltered, Cell: r.PeakForce, Certainty: r.Certainty}
}

// FilterClass is the channel class of the filter through which a limit of arrest force looks at the load cell, zero phase
// (ISO 6487, SAE J211-1; that the tests of the trade use it is common practice, no source: some standards ask for another).
const FilterClass = 60

// reading samples what the load cell shows in the first arrest, for the filter.
type reading struct {
	rate   float64
	values []float64
	next   int
	over   float64 // when the arrest was over, NaN = not yet
}

const (
	readingRate  = 10e3 // Hz
	readingQuiet = 0.03 // s before first taut and after the arrest: longer than the filter remembers
)

func (p *reading) begin() {
	n := int(readingQuiet * readingRate)
	p.rate, p.next, p.over = readingRate, 0, math.NaN()
	p.values = append(p.values[:0], make([]float64, n)...)
}

// pass takes the samples of the stretch of h.
func (p *reading) pass(m *solver, h float64) {
	if m.t > p.over+readingQuiet {
		return
	}
	for {
		tau := float64(p.next)/p.rate - m.t
		if tau >= h {
			return
		}
		tau = max(tau, 0)
		v := 0.0
		if m.node == nodeMassive {
			x, speed := m.nodeAt(tau)
			v = m.kr*x + m.cr*speed
		} else if m.phase < parted {
			v = m.value(m.anchorForce(), tau)
		}
		p.values = append(p.values, v)
		p.next++
	}
}

// mark notes that the arrest is over.
func (p *reading) mark(m *solver) {
	if math.IsNaN(p.over) && (m.track.broke || m.arrestOver()) {
		p.over = m.t
	}
}

// peak is the largest force through the filter.
func (p *reading) peak() quantity.Force {
	q, err := dsp.ChannelClass(FilterClass, p.rate, dsp.SAE)
	if err != nil {
		panic(err) // class and rate are constants
	}
	q.FiltFilt(p.values, p.values, q.Settle())
	return quantity.Force(dsp.InterpolatePeak(p.values).Value)
}
