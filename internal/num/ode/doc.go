// Package ode integrates ordinary differential equations: truncated Taylor series, an explicit
// embedded pair, a stiffly accurate implicit method, and the search for events on their dense output.
//
// Every method is held to the exact answers of package odeproblem and to its order of convergence.
package ode
