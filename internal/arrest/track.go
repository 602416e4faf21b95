package arrest

import (
	"cmp"
	"slices"

	"github.com/hardcatch/hardcatch/internal/num/ode"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// track gathers what is reported: events, peaks, extremes.
type track struct {
	events     []Event
	peaks      []Peak
	inArrest   bool
	peak       float64 // of the present arrest
	peakAt     float64
	chainPeak  float64 // of all arrests
	lowest     float64
	nodeMost   float64 // largest deflection of a node with mass
	limbsMost  float64 // largest elongation of the spring of a body, at the ends of steps
	broke      bool
	brokeAt    float64
	brokeForce float64
	floor      bool
	turned     bool // the mass has turned round, from sinking to rising
	body       felt
}

func (k *track) reset() {
	*k = track{events: k.events[:0], peaks: k.peaks[:0]}
}

// note records an event at the present moment; elem is a place in the chain or -1.
func (m *solver) note(kind EventKind, elem int) {
	m.noteAt(m.t, kind, elem)
}

func (m *solver) noteAt(t float64, kind EventKind, elem int) {
	name := ""
	if elem >= 0 {
		name = m.names[elem]
	}
	m.track.events = append(m.track.events, Event{T: quantity.Duration(t), Kind: kind, Element: name})
}

func (k *track) begin(m *solver, kind EventKind) {
	k.inArrest = true
	k.peak, k.peakAt = m.cell(), m.t
	m.note(kind, -1)
}

func (k *track) end(m *solver, kind EventKind) {
	if k.inArrest {
		k.inArrest = false
		k.peaks = append(k.peaks, Peak{T: quantity.Duration(k.peakAt), Force: quantity.Force(k.peak)})
		m.noteAt(k.peakAt, EventPeak, -1)
	}
	m.note(kind, -1)
}

// consider takes a force as the arrest's peak where it is larger.
func (k *track) consider(t, force float64) {
	if force > k.peak {
		k.peak, k.peakAt = force, t
	}
}

func (k *track) sorted() []Event {
	list := slices.Clone(k.events)
	slices.SortStableFunc(list, func(a, b Event) int { return cmp.Compare(a.T, b.T) })
	return list
}

// observe looks at the stretch of h that the series describe.
func (m *solver) observe(h float64) {
	k := &m.track
	if k.inArrest {
		if _, v, ok := m.highest(&m.f, h, k.chainPeak); ok {
			k.chainPeak = v
		}
		m.observeEdge(h)
		m.observeCell(h)
		if m.node == nodeMassive {
			if _, v, ok := m.highest(&m.xc, h, k.nodeMost); ok {
				k.nodeMost = v
			}
		}
	}
	for i := range m.links {
		if m.phase >= parted {
			break
		}
		l := &m.links[i]
		if !l.soft() {
			l.longest = max(l.longest, l.base)
			continue
		}
		if _, v, ok := m.highest(&l.u, h, (l.longest-l.base)/l.scale); ok {
			l.longest = v*l.scale + l.base
		}
	}
	if m.limbs > 0 {
		m.observeBody(h)
		k.limbsMost = max(k.limbsMost, m.value(&m.x2, h)-m.value(&m.x, h))
	}
	if v := m.value(&m.v, 0); v > 0 {
		if end := m.value(&m.v, h); end <= 0 {
			at := h
			if end < 0 {
				at = ode.Root(func(tau float64) float64 { return m.value(&m.v, tau) }, 0, h, v, end, 0)
			}
			if m.phase == taut {
				m.noteAt(m.t+at, EventLowest, -1)
			}
			k.lowest = max(k.lowest, m.value(&m.x, at))
		}
	}
	k.lowest = max(k.lowest, m.value(&m.x, h))
}

// observeCell looks for the arrest's peak at the load cell.
func (m *solver) observeCell(h float64) {
	n, felt := m.order, m.anchorForce()
	if m.node == nodeMassive {
		felt = &m.cellSeries
		if !m.pointwise {
			most := m.kr*(m.xc[0]+spread(&m.xc, &m.powers, n)) + m.cr*(abs(m.vc[0])+spread(&m.vc, &m.powers, n))
			if most <= m.track.peak {
				return
			}
			for i := 0; i <= n; i++ {
				m.cellSeries[i] = m.kr*m.xc[i] + m.cr*m.vc[i]
			}
		}
	}
	if at, v, ok := m.highest(felt, h, m.track.peak); ok {
		m.track.consider(m.t+at, v)
	}
}

// value and slope look at a series tau after the present moment, whichever method made it.
func (m *solver) value(s *series, tau float64) float64 {
	if m.pointwise {
		m.load(tau)
		return s[0]
	}
	return ode.Value(s[:], m.order, tau)
}

func (m *solver) slope(s *series, tau float64) float64 {
	if m.pointwise {
		m.load(tau)
		return s[1]
	}
	return ode.Slope(s[:], m.order, tau)
}

// highest finds the largest value of s within h where it exceeds floor.
func (m *solver) highest(s *series, h, floor float64) (at, value float64, ok bool) {
	if !m.pointwise {
		if s[0]+spread(s, &m.powers, m.order) <= floor {
			return 0, 0, false
		}
		if s[1] > slopeSpread(s, &m.powers, m.order) {
			v := m.value(s, h)
			return h, v, v > floor
		}
	}
	at, value = 0, floor
	var times, slopes [parts]float64
	for i := range times {
		times[i] = h * float64(i+1) / parts
	}
	if m.pointwise {
		for i, tau := range times {
			slopes[i] = m.slope(s, tau)
		}
	} else {
		eightSlopes(s, m.order, &times, &slopes)
	}
	before, slopeBefore := 0.0, m.slope(s, 0)
	if v := m.value(s, 0); v > value {
		at, value = 0, v
	}
	for i, slope := range slopes {
		if slopeBefore > 0 && slope < 0 {
			top := ode.Root(func(tau float64) float64 { return m.slope(s, tau) }, before, times[i], slopeBefore, slope, 1e-12*h)
			if v := m.value(s, top); v > value {
				at, value = top, v
			}
		}
		before, slopeBefore = times[i], slope
	}
	if v := m.value(s, h); v > value {
		at, value = h, v
	}
	return at, value, value > floor
}

func abs(v float64) float64 {
	if v < 0 {
		return -v
	}
	return v
}
