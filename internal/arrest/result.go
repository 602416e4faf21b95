package arrest

import (
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Options say how to run and what to return besides the peaks. The zero value is the default.
type Options struct {
	// Tolerance is the local error allowed per step, relative to the force scale; 0 = 1e-12.
	Tolerance float64
	// Method forces a method; "" chooses by the stiffness of the case.
	Method Method
	// Sample asks for evenly sampled channels.
	Sample *Sampling
}

// Method is how the smooth stretches between events are integrated.
type Method string

// The methods.
const (
	Auto   Method = ""
	Taylor Method = "taylor"
	Radau  Method = "radau"
	Dopri  Method = "dopri"
)

// Sampling asks for channels at t = -Before, -Before + 1/Rate, ... up to the end of the run.
type Sampling struct {
	Rate   quantity.Frequency // > 0
	Before quantity.Duration  // time shown before first taut, while the mass hangs and falls
}

// Samples are channels on one even time base, exact values of the model without noise or filter.
type Samples struct {
	Rate     quantity.Frequency
	Start    quantity.Duration // time of sample 0, from first taut
	Cell     []quantity.Force  // what the load cell feels: k_r x_c + c_r x_c', or the chain force without rig
	Chain    []quantity.Force  // force in the chain
	Position []quantity.Length // of the mass, down from the place of first taut
	Velocity []quantity.Speed  // of the mass, down
}

// EventKind names what happened at an event.
type EventKind string

// The kinds of event.
const (
	EventTaut      EventKind = "taut"
	EventPeak      EventKind = "peak"
	EventLowest    EventKind = "lowest"
	EventSlack     EventKind = "slack"
	EventSlipOn    EventKind = "slip on"
	EventSlipOff   EventKind = "slip off"
	EventJump      EventKind = "slip jump"
	EventLocked    EventKind = "knot locked"
	EventExhausted EventKind = "absorber exhausted"
	EventBreak     EventKind = "break"
	EventParted    EventKind = "parted"
	EventFloor     EventKind = "floor"
	EventEnd       EventKind = "end"
)

// Event is something that happened, at its time from first taut. Element is empty where no single
// element is concerned.
type Event struct {
	T       quantity.Duration
	Kind    EventKind
	Element string
}

// Peak is the largest force that the load cell feels in one arrest (from taut to slack); without a
// node mass that is the chain force.
type Peak struct {
	T     quantity.Duration
	Force quantity.Force
}

// Break says what parted.
type Break struct {
	Element string
	T       quantity.Duration
	Force   quantity.Force
	place   int // in the chain
}

// ElementResult is what one element went through.
type ElementResult struct {
	Name        string
	Kind        Kind
	StartingSet string          // name of the starting set its values come from, if any
	Peak        quantity.Force  // largest force; for the rig what the load cell feels, else the chain force
	Elongation  quantity.Length // largest elongation, slip included
	Slip        quantity.Length // at the end, for knots and absorbers; permanent elongation for textiles
}

// Ledger is where the energy went, from release to the end of the run. Residual is what does not add
// up: In - Kinetic - Stored - Viscous - Friction - Slip - Break.
type Ledger struct {
	In       quantity.Energy // work of gravity, and of the speed given
	Kinetic  quantity.Energy
	Stored   quantity.Energy // beyond what was stored at first taut
	Viscous  quantity.Energy // Maxwell branches and dampers
	Friction quantity.Energy // friction branches and permanent set
	Slip     quantity.Energy // knots and absorbers
	Break    quantity.Energy // released by what parted
	Residual quantity.Energy
}

// Result is what came of the last drop of the case; Earlier holds those before it.
type Result struct {
	PeakForce quantity.Force // largest force that the load cell feels
	PeakTime  quantity.Duration
	PeakChain quantity.Force // largest chain force; differs from PeakForce where the rig has a node mass
	Peaks     []Peak
	Events    []Event
	Outcome   drop.Outcome
	Reason    string // of a void outcome
	Broke     *Break
	Lowest    quantity.Length // deepest position of the mass below first taut
	End       State
	Elements  []ElementResult
	Energy    Ledger
	Body      *BodyResult
	Method    Method
	Steps     int
	Warnings  []string
	Samples   *Samples
	Earlier   []*Result
}

// State is position and velocity of the mass.
type State struct {
	T        quantity.Duration
	Position quantity.Length
	Velocity quantity.Speed
}

// BodyResult is what the torso feels, in multiples of standard gravity.
type BodyResult struct {
	PeakG    quantity.Ratio
	PeakTime quantity.Duration
	Above    []GDuration // longest unbroken time above each level reached
}

// GDuration is the longest unbroken time for which the torso felt more than G.
type GDuration struct {
	G        quantity.Ratio
	Duration quantity.Duration
}
