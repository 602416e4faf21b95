package arrest

import (
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
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
	T       quantity.Duration `json:"t_s"`
	Kind    EventKind         `json:"kind"`
	Element string            `json:"element"`
}

// Peak is the largest force that the load cell feels in one arrest (from taut to slack); without a
// node mass that is the chain force.
type Peak struct {
	T     quantity.Duration `json:"t_s"`
	Force quantity.Force    `json:"force_N"`
}

// Break says what parted.
type Break struct {
	Element string            `json:"element"`
	T       quantity.Duration `json:"t_s"`
	Force   quantity.Force    `json:"force_N"`
	place   int               // in the chain
}

// ElementResult is what one element went through.
type ElementResult struct {
	Name        string          `json:"name"`
	Kind        Kind            `json:"kind"`
	StartingSet string          `json:"starting_values,omitempty"` // name of the starting set its values come from, if any
	Peak        quantity.Force  `json:"peak_N"`                    // largest force; for the rig what the load cell feels, else the chain force
	Elongation  quantity.Length `json:"elongation_m"`              // largest elongation, slip included
	Slip        quantity.Length `json:"slip_m"`                    // at the end, for knots and absorbers; permanent elongation for textiles
}

// Ledger is where the energy went, from release to the end of the run. Residual is what does not add
// up: In - Kinetic - Stored - Viscous - Friction - Slip - Break.
type Ledger struct {
	In       quantity.Energy `json:"in_J"` // work of gravity, and of the speed given
	Kinetic  quantity.Energy `json:"kinetic_J"`
	Stored   quantity.Energy `json:"stored_J"`   // beyond what was stored at first taut
	Viscous  quantity.Energy `json:"viscous_J"`  // Maxwell branches and dampers
	Friction quantity.Energy `json:"friction_J"` // friction branches and permanent set
	Slip     quantity.Energy `json:"slip_J"`     // knots and absorbers
	Break    quantity.Energy `json:"break_J"`    // released by what parted
	Residual quantity.Energy `json:"residual_J"`
}

// Result is what came of the last drop of the case; Earlier holds those before it. The JSON names are stable: names are
// added, never changed. Times count from the first taut. Lists are never nil.
type Result struct {
	PeakForce quantity.Force    `json:"peak_force_N"` // largest force that the load cell feels
	PeakTime  quantity.Duration `json:"peak_time_s"`
	PeakChain quantity.Force    `json:"peak_chain_N"` // largest chain force; differs from PeakForce where the rig has a node mass
	// largest reading of the load cell through the filter that limits of arrest force are stated for
	PeakFiltered quantity.Force     `json:"peak_filtered_N"`
	Certainty    Certainty          `json:"certainty"` // whether these are the largest forces that the fall asks for
	Peaks        []Peak             `json:"peaks"`
	Events       []Event            `json:"events"`
	Outcome      drop.Outcome       `json:"outcome"`
	Reason       string             `json:"reason,omitempty"` // of a void outcome
	Broke        *Break             `json:"broke"`
	Lowest       quantity.Length    `json:"lowest_m"` // deepest position of the mass below first taut
	End          MassState          `json:"-"`
	Elements     []ElementResult    `json:"elements"`
	Energy       Ledger             `json:"energy"`
	Wear         []Wear             `json:"wear,omitempty"`   // of the textiles with a law of damage
	Series       *Series            `json:"series,omitempty"` // of several drops on one specimen; null of one
	Body         *BodyResult        `json:"body"`
	Method       Method             `json:"method"`
	Steps        int                `json:"steps"`
	Warnings     []message.Sentence `json:"warnings"`
	Implausible  []message.Sentence `json:"-"` // those of the warnings that doubt values of the case
	Samples      *Samples           `json:"-"`
	Earlier      []*Result          `json:"-"`
}

// MassState is position and velocity of the mass.
type MassState struct {
	T        quantity.Duration
	Position quantity.Length
	Velocity quantity.Speed
}

// BodyResult is what the torso feels, in multiples of standard gravity.
type BodyResult struct {
	PeakG    quantity.Ratio    `json:"peak_g"`
	PeakTime quantity.Duration `json:"peak_time_s"`
	Above    []GDuration       `json:"above"` // longest unbroken time above each level reached
}

// GDuration is the longest unbroken time for which the torso felt more than G.
type GDuration struct {
	G        quantity.Ratio    `json:"g"`
	Duration quantity.Duration `json:"duration_s"`
}
