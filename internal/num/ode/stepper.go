package ode

// Func writes the derivative of y at t into dydt. It must not keep or change y.
type Func func(t float64, y, dydt []float64)

// Stepper advances a system of equations by one step and interpolates within it.
type Stepper interface {
	// Step computes y1 at t+h from y at t and an estimate of its error. It reports false when no
	// solution of the step's equations was found; a shorter step may then do.
	Step(t float64, y []float64, h float64, y1, estimate []float64) bool
	// Dense writes the solution at the fraction theta (0 to 1) of the last step into y.
	Dense(theta float64, y []float64)
	// EstimateOrder is the power of h with which the error estimate shrinks.
	EstimateOrder() int
}
