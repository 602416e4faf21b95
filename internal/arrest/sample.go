package arrest

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// sampler writes even samples as the run passes their times.
type sampler struct {
	on    bool
	rate  float64
	start float64
	next  int
	count int // of all samples
	out   *Samples
	cell  []float64 // instead of out: what the load cell shows, N
}

// begin makes room and fills in the time before first taut.
func (p *sampler) begin(m *solver, s *Sampling) {
	*p = sampler{}
	if s == nil {
		return
	}
	p.on, p.rate = true, s.Rate.SI()
	p.start = -math.Round(s.Before.SI()*p.rate) / p.rate
	p.extend(m)
	count := p.count
	p.out = &Samples{
		Rate: s.Rate, Start: quantity.Duration(p.start),
		Cell: make([]quantity.Force, 0, count), Chain: make([]quantity.Force, 0, count),
		Position: make([]quantity.Length, 0, count), Velocity: make([]quantity.Speed, 0, count),
	}
	for t := p.time(); t < 0; t = p.time() {
		x, v := m.falling(t)
		p.add(0, 0, x, v)
	}
}

// extend counts the samples up to the end of the run.
func (p *sampler) extend(m *solver) {
	if p.on {
		p.count = int(math.Floor((m.until-p.start)*p.rate+1e-9)) + 1
	}
}

// falling is position and speed at t < 0; before the release the mass hangs still.
func (m *solver) falling(t float64) (x, v float64) {
	if m.g > 0 && t < -m.speed/m.g {
		t = -m.speed / m.g
	}
	return t * (m.speed + m.g*t/2), m.speed + m.g*t
}

func (p *sampler) time() float64 { return p.start + float64(p.next)/p.rate }

func (p *sampler) add(cell, chain, x, v float64) {
	if p.next++; p.cell != nil {
		p.cell[p.next-1] = cell
		return
	}
	p.out.Cell = append(p.out.Cell, quantity.Force(cell))
	p.out.Chain = append(p.out.Chain, quantity.Force(chain))
	p.out.Position = append(p.out.Position, quantity.Length(x))
	p.out.Velocity = append(p.out.Velocity, quantity.Speed(v))
}

// pass writes the samples of the stretch of h; last includes its end.
func (p *sampler) pass(m *solver, h float64, last bool) {
	if !p.on {
		return
	}
	for {
		tau := p.time() - m.t
		if tau > h+1e-12 || !last && tau >= h || p.next >= p.count {
			return
		}
		tau = min(max(tau, 0), h)
		chain := m.value(&m.f, tau)
		cell := m.value(m.anchorForce(), tau)
		if m.node == nodeMassive {
			xc, vc := m.nodeAt(tau)
			cell = m.kr*xc + m.cr*vc
		}
		p.add(cell, chain, m.value(&m.x, tau), m.value(&m.v, tau))
	}
}

// rest writes what is left of the samples as the present state, which changes no more.
func (p *sampler) rest(m *solver) {
	for p.on && p.next < p.count {
		p.add(m.cell(), m.f[0], m.x[0], m.v[0])
	}
}

// nodeAt is position and velocity of the massive node tau after the present moment.
func (m *solver) nodeAt(tau float64) (x, v float64) {
	if m.loose {
		return m.free.at(tau)
	}
	return m.value(&m.xc, tau), m.value(&m.vc, tau)
}
