package quantity

// Dim is a dimension: exponents of metre, kilogram, second, ampere, and of the plane angle. The
// angle is kept apart so that degrees are not taken for a ratio.
type Dim struct {
	M, Kg, S, A, Rad int8
}

// The dimensions that have a name here.
var (
	DimForce        = Dim{M: 1, Kg: 1, S: -2}
	DimMass         = Dim{Kg: 1}
	DimLength       = Dim{M: 1}
	DimDuration     = Dim{S: 1}
	DimFrequency    = Dim{S: -1}
	DimStiffness    = Dim{Kg: 1, S: -2}
	DimDamping      = Dim{Kg: 1, S: -1}
	DimSpeed        = Dim{M: 1, S: -1}
	DimAcceleration = Dim{M: 1, S: -2}
	DimEnergy       = Dim{M: 2, Kg: 1, S: -2}
	DimImpulse      = Dim{M: 1, Kg: 1, S: -1}
	DimForceRate    = Dim{M: 1, Kg: 1, S: -3}
	DimVoltage      = Dim{M: 2, Kg: 1, S: -3, A: -1}
	DimAngle        = Dim{Rad: 1}
	DimRatio        = Dim{}
)

// dimension is a phantom type that fixes the dimension of an Of.
type dimension interface{ dim() Dim }

type (
	force        struct{}
	mass         struct{}
	length       struct{}
	duration     struct{}
	frequency    struct{}
	stiffness    struct{}
	damping      struct{}
	speed        struct{}
	acceleration struct{}
	energy       struct{}
	impulse      struct{}
	forceRate    struct{}
	angle        struct{}
	ratio        struct{}
)

func (force) dim() Dim        { return DimForce }
func (mass) dim() Dim         { return DimMass }
func (length) dim() Dim       { return DimLength }
func (duration) dim() Dim     { return DimDuration }
func (frequency) dim() Dim    { return DimFrequency }
func (stiffness) dim() Dim    { return DimStiffness }
func (damping) dim() Dim      { return DimDamping }
func (speed) dim() Dim        { return DimSpeed }
func (acceleration) dim() Dim { return DimAcceleration }
func (energy) dim() Dim       { return DimEnergy }
func (impulse) dim() Dim      { return DimImpulse }
func (forceRate) dim() Dim    { return DimForceRate }
func (angle) dim() Dim        { return DimAngle }
func (ratio) dim() Dim        { return DimRatio }

// names gives each named dimension its word and the SI unit it is printed in.
var names = map[Dim]struct{ word, unit string }{
	DimForce:        {"a force", "N"},
	DimMass:         {"a mass", "kg"},
	DimLength:       {"a length", "m"},
	DimDuration:     {"a time", "s"},
	DimFrequency:    {"a frequency", "Hz"},
	DimStiffness:    {"a stiffness", "N/m"},
	DimDamping:      {"a damping coefficient", "N s/m"},
	DimSpeed:        {"a speed", "m/s"},
	DimAcceleration: {"an acceleration", "m/s2"},
	DimEnergy:       {"an energy", "J"},
	DimImpulse:      {"an impulse", "N s"},
	DimForceRate:    {"a force rate", "N/s"},
	DimVoltage:      {"a voltage", "V"},
	DimAngle:        {"an angle", "rad"},
	DimRatio:        {"a plain ratio", ""},
}

// String names the dimension with its article: "a force".
func (d Dim) String() string {
	if n, ok := names[d]; ok {
		return n.word
	}
	return "a quantity without a name here"
}

// Unit is the SI unit the dimension is printed in, "" for a ratio.
func (d Dim) Unit() string { return names[d].unit }

func (d Dim) add(e Dim, sign int8) Dim {
	return Dim{d.M + sign*e.M, d.Kg + sign*e.Kg, d.S + sign*e.S, d.A + sign*e.A, d.Rad + sign*e.Rad}
}
