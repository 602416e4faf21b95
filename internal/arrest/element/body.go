package element

import "github.com/hardcatch/hardcatch/internal/quantity"

// Body makes the falling mass two masses: the torso, on which the chain acts, and the rest of the
// body on a spring and damper from it, c = 2 zeta sqrt(k m_rest).
type Body struct {
	Stiffness    quantity.Stiffness `yaml:"stiffness"`     // k > 0
	DampingRatio quantity.Ratio     `yaml:"damping_ratio"` // zeta >= 0
	TorsoShare   quantity.Ratio     `yaml:"torso_share"`   // share of the mass in the torso, 0 < share < 1; 0 = 0.85
}

func bodyOf(e *Element) *Body { return e.Body }

// torsoShare is the share of the mass in the torso where nothing is said: common practice, no source.
const torsoShare = 0.85

var body = Description{
	Kind:  KindBody,
	Law:   "a second mass on a spring and damper",
	Place: AtMass, Wrong: "the body is what falls; put it last",
	Keys: []Key{
		number("stiffness", quantity.DimStiffness, bodyOf, func(b *Body) *quantity.Stiffness { return &b.Stiffness }, above("it must be more than 0"), spreads),
		number("damping_ratio", quantity.DimRatio, bodyOf, func(b *Body) *quantity.Ratio { return &b.DampingRatio }, upTo(10, "it lies from 0 to 10"), all(spreads, zero("0", ""))),
		number("torso_share", quantity.DimRatio, bodyOf, func(b *Body) *quantity.Ratio { return &b.TorsoShare }, below(1, "it lies above 0 and below 1"), start(torsoShare, "0.85", common)),
	},
	given: func(e *Element) bool { return e.Body != nil },
	clone: func(e *Element) { x := *e.Body; e.Body = &x },
	gives: func(*Element) Gives { return Swings },
}

// Torso is the share of the mass on which the chain acts.
func (b *Body) Torso() float64 { return orDefault(b.TorsoShare.SI(), torsoShare) }
