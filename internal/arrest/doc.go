// Package arrest computes the arrest of a falling mass by a chain of elements in series: rig,
// textiles, knots, absorber, body.
//
// Coordinates point down and times count from the first moment the chain is taut. One force runs
// through the whole chain. Between events the equations are smooth and are integrated by Taylor
// series (see Result.Method); at an event (taut, slack, slip, lock, break, ...) the equations change.
// Every joule is booked: a run whose ledger does not close is an error.
package arrest
