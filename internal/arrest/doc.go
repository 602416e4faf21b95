// Package arrest computes the arrest of a falling mass by a chain of elements in series: rig,
// textiles, knots, absorber, body.
//
// Coordinates point down and times count from the first moment the chain is taut. One force runs
// through the whole chain. Between events the equations are smooth and are integrated by Taylor
// series (see Result.Method); at an event (taut, slack, slip, lock, break, ...) the equations change.
// Every joule is booked: a run whose ledger does not close is an error.
//
// The force in a chain of massless elements is algebraic: each element's unknown follows from the
// condition that all carry one force and that their elongations sum to the distance between node and
// mass. In a Taylor series that condition is linear at every order, so that a stiff spring in series,
// a plateau (zero stiffness) and a falling yield force (negative stiffness) are all exact. Where a
// yield force falls faster than the rest of the chain unloads, no equilibrium is near: the slip jumps
// at once to the next one (EventJump).
//
// Run is for one case and reports everything. Engine is for many cases and reports a Summary.
package arrest
