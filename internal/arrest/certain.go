package arrest

import "math"

// Certainty says whether the largest force that a run found is the largest that the fall asks for. Anything but
// PeakPassed makes the peak a lower bound.
type Certainty string

// The certainties.
const (
	PeakPassed  Certainty = "peak passed"   // the mass has turned, or the chain has parted
	FloorHit    Certainty = "floor reached" // the mass reached the floor before it turned
	RunTooShort Certainty = "run too short" // the run ended while the force could still rise
)

// longestRun is the time (s) up to which a run goes on by itself until the first arrest is over.
const longestRun = 120

// Passed tells that the peak is the largest force that the fall asks for.
func (c Certainty) Passed() bool { return c == PeakPassed }

// certainty is what the run, as far as it has come, says of its peak.
func (m *solver) certainty() Certainty {
	k := &m.track
	switch {
	case k.broke, m.arrestOver(), m.settled():
		return PeakPassed
	case k.turned && m.limbs == 0 && (m.node != nodeMassive || m.f[0] < 0.9*k.chainPeak): // without a node that rings the force falls from the turn on
		return PeakPassed
	case k.floor:
		return FloorHit
	}
	return RunTooShort
}

// arrestOver tells that the first arrest has ended: the mass has turned, and after that come free or turned again.
func (m *solver) arrestOver() bool {
	return m.track.turned && (m.phase != taut || m.together() >= 0)
}

// settled tells that the mass hardly sinks any more and the force stands at the weight: what is left adds next to nothing.
func (m *solver) settled() bool {
	const slow, near = 1e-3, 1e-3
	weight := (m.mass + m.limbs) * m.g
	return m.phase >= resting || m.phase == taut && m.t > 0 && math.Abs(m.together()) <= slow && m.f[0] >= (1-near)*weight && m.f[0] <= m.track.chainPeak+near*weight && math.Abs(m.f[0]-weight) <= near*weight
}

// together is the speed of all that falls.
func (m *solver) together() float64 {
	if m.limbs == 0 {
		return m.v[0]
	}
	return (m.mass*m.v[0] + m.limbs*m.v2[0]) / (m.mass + m.limbs)
}

// goesOn tells that a run whose end is a least is not over yet at that end, and moves the end on.
func (m *solver) goesOn() bool {
	if !m.atLeast || m.until >= longestRun || m.track.broke || m.arrestOver() || m.settled() {
		return false
	}
	m.extended = true
	m.until = min(1.5*m.until, longestRun)
	m.probe.extend(m)
	return true
}

// noteTurn notes that the mass has turned round within a step that began at speed v.
func (m *solver) noteTurn(v float64) {
	if m.limbs == 0 && v > 0 && m.v[0] <= 0 || m.limbs > 0 && m.together() <= 0 {
		m.track.turned = true
	}
}
