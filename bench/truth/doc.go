// Package truth makes records of drops of which everything is known: a rigid mass falls onto a specimen at an anchor with a load cell,
// and a logger writes down what the load cell shows.
//
// It stands apart from what it tests: it has its own specimens, its own integrator (fixed steps of the classical Runge-Kutta rule of order
// four, events located by bisection), its own measuring chain, and imports nothing of the program. Drawn values are invented: no
// number describes a product.
//
// The true values are taken where docs/methods.md defines the measures:
//
//	taut        the moment at which the specimen first carries force: the mass has fallen freely from rest through the fall height
//	end         the first moment at which the force of the specimen is zero again; before a break, the moment at which it begins to collapse
//	peak        the largest force at the load cell (k x + c x' of the rig's node; the specimen's own force where the rig is rigid) from
//	            taut to the end, and through the collapse where it breaks; before amplifier, filter and logger
//	impulse     integral of the specimen's force over time from taut to the end
//	energy      integral of the specimen's force over the way of the mass from taut to its lowest point, or to the beginning of the
//	            collapse: what specimen, rig and anchor have taken from the mass
//	elongation  the way of the mass from taut to its lowest point, or to the beginning of the collapse: rig and anchor are in it
//	duration    end - taut
//
// Impulse and energy are integrated as states beside the motion, the lowest point and all moments are located by bisection within a step.
package truth
