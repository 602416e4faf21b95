package ode

import "math"

// Control adapts the step: the weighted root mean square of the error estimate is held at 1.
type Control struct {
	Stepper
	Rel float64   // relative tolerance
	Abs []float64 // absolute tolerance of each variable, in its unit

	h                  float64
	y1, estimate       []float64
	Accepted, Rejected int
}

// NewControl wraps a stepper. first is the length of the first step tried.
func NewControl(s Stepper, rel float64, abs []float64, first float64) *Control {
	n := len(abs)
	return &Control{Stepper: s, Rel: rel, Abs: abs, h: first, y1: make([]float64, n), estimate: make([]float64, n)}
}

// Restart sets the length of the next step tried.
func (c *Control) Restart(h float64) { c.h = h }

// Advance makes one step from y at t, no longer than limit, and returns its length; y holds the new
// state. It returns 0 and leaves y alone when even a step at the last bit of t is not good enough.
func (c *Control) Advance(t float64, y []float64, limit float64) float64 {
	power := 1 / float64(c.EstimateOrder())
	h := math.Min(c.h, limit)
	for t+h > t {
		ok := c.Step(t, y, h, c.y1, c.estimate)
		size := math.Inf(1)
		if ok {
			size = c.norm(y)
		}
		if size <= 1 {
			grow := 5.0
			if size > 0 {
				grow = math.Min(5, 0.9*math.Pow(size, -power))
			}
			if h < limit || grow < 1 {
				c.h = h * grow
			}
			copy(y, c.y1)
			c.Accepted++
			return h
		}
		c.Rejected++
		if math.IsInf(size, 1) || math.IsNaN(size) {
			h *= 0.25
		} else {
			h *= math.Max(0.2, 0.9*math.Pow(size, -power))
		}
	}
	return 0
}

func (c *Control) norm(y []float64) float64 {
	s := 0.0
	for i, e := range c.estimate {
		r := e / (c.Abs[i] + c.Rel*math.Max(math.Abs(y[i]), math.Abs(c.y1[i])))
		s += r * r
	}
	return math.Sqrt(s / float64(len(y)))
}
