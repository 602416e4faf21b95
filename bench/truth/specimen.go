package truth

import "math"

// Specimen is a textile described per unit strain, so that its stiffness is E/Length. Its force is
//
//	T = E1 e + E2 e^2 + E3 e^3 + q + f + Dashpot s',  e = s/Length
//	q' = EM e' - q/Tau                  one Maxwell branch
//	f' = EF e', |f| <= Friction T_el    dry friction
//
// and never below zero: it cannot push.
type Specimen struct {
	Length     float64 // m
	E1, E2, E3 float64 // N
	EM         float64 // N, 0 = no Maxwell branch
	Tau        float64 // s
	Dashpot    float64 // N s/m, 0 = none
	Friction   float64 // share of the elastic force, 0 = none
	EF         float64 // N
	Strength   float64 // N, 0 = it never breaks
	Collapse   float64 // s from full force to none after the break
}

// elastic is the force of the elastic branch at an elongation s, and its slope in N/m. Below zero it goes on along its tangent, so that
// the moment at which a force ends can be located.
func (p *Specimen) elastic(s float64) (force, slope float64) {
	if s <= 0 {
		return p.E1 / p.Length * s, p.E1 / p.Length
	}
	e := s / p.Length
	return e * (p.E1 + e*(p.E2+e*p.E3)), (p.E1 + e*(2*p.E2+3*e*p.E3)) / p.Length
}

// stored is the energy in the elastic branch, J.
func (p *Specimen) stored(s float64) float64 {
	if s <= 0 {
		return 0
	}
	e := s / p.Length
	return p.Length * e * e * (p.E1/2 + e*(p.E2/3+e*p.E3/4))
}

// within holds the friction branch within what the elastic force allows.
func (p *Specimen) within(f, elastic float64) float64 {
	most := p.Friction * math.Max(elastic, 0)
	return math.Max(-most, math.Min(most, f))
}

// Rig is the anchor: rigid when NodeMass is 0, else a mass under the load cell on a spring and damper to ground. The load cell shows
// Stiffness x + Damper x'.
type Rig struct {
	Stiffness float64 // N/m
	NodeMass  float64 // kg
	Damping   float64 // ratio
}

// Frequency is that of the node, Hz; 0 for a rigid rig.
func (r Rig) Frequency() float64 {
	if r.NodeMass == 0 {
		return 0
	}
	return math.Sqrt(r.Stiffness/r.NodeMass) / (2 * math.Pi)
}

func (r Rig) damper() float64 { return 2 * r.Damping * math.Sqrt(r.Stiffness*r.NodeMass) }
