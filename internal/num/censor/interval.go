package censor

import "fmt"

// profileMethod names how the intervals of fits are made.
const profileMethod = "profile likelihood"

// Interval is a range for something estimated, at the confidence asked.
type Interval struct {
	Estimate   float64
	Lo, Hi     float64
	Confidence float64
	Method     string
	// Note is a sentence when the interval does not close: the data then give no bound on that side,
	// and Lo or Hi is the end of the possible range (0 or -Inf, 1 or +Inf).
	Note string
	// OpenLo and OpenHi tell on which side it does not close.
	OpenLo, OpenHi bool
	why            string // it does not close, where that is no matter of the profile
}

// turned exchanges the sides of an interval whose scale runs the other way.
func (v Interval) turned() Interval {
	v.Lo, v.Hi, v.OpenLo, v.OpenHi = v.Hi, v.Lo, v.OpenHi, v.OpenLo
	return v
}

// through takes every end through a function that rises.
func (v Interval) through(f func(float64) float64) Interval {
	v.Estimate, v.Lo, v.Hi = f(v.Estimate), f(v.Lo), f(v.Hi)
	return v
}

// settle writes the note; least and most are the ends of the possible range, what is the thing
// bounded.
func (v Interval) settle(what string, least, most float64) Interval {
	if v.OpenLo || v.Lo <= least {
		v.OpenLo, v.Lo = true, least
	}
	if v.OpenHi || v.Hi >= most {
		v.OpenHi, v.Hi = true, most
	}
	var side string
	switch {
	case v.OpenLo && v.OpenHi:
		side = "on either side"
	case v.OpenLo:
		side = "from below"
	case v.OpenHi:
		side = "from above"
	default:
		return v
	}
	why := v.why
	if why == "" {
		why = "its profile likelihood does not fall far enough"
	}
	v.Note = fmt.Sprintf("The data do not bound the %s %s at %.4g %% confidence: %s.", what, side, 100*v.Confidence, why)
	return v
}

// functional is a quantity that a linear constraint on phi holds at v:
//
//	ratio      (c.gamma + z)/theta = v      a quantile or, with z = 0, a linear combination of coefficients
//	tail       theta y - c.gamma = v        the standard value of y, thus its survival
//	precision  theta = v
//
// Each is a ratio of linear functions of phi with theta > 0, so that with a concave likelihood its profile
// has one peak and falls on either side.
type functional struct {
	kind functionalKind
	c    []float64 // orthogonal columns
	z, y float64   // y in units of the problem
}

type functionalKind int

const (
	ratio functionalKind = iota
	tail
	precision
)

// at is its value at phi.
func (f *functional) at(phi []float64) float64 {
	p := len(phi) - 1
	switch f.kind {
	case ratio:
		return (dot(f.c, phi) + f.z) / phi[p]
	case tail:
		return phi[p]*f.y - dot(f.c, phi)
	}
	return phi[p]
}

// slope sets g to its gradient at phi.
func (f *functional) slope(g, phi []float64) {
	p := len(phi) - 1
	switch f.kind {
	case ratio:
		for j, c := range f.c {
			g[j] = c / phi[p]
		}
		g[p] = -f.at(phi) / phi[p]
	case tail:
		for j, c := range f.c {
			g[j] = -c
		}
		g[p] = f.y
	default:
		clear(g)
		g[p] = 1
	}
}

// hold sets the plane on which the quantity is v.
func (f *functional) hold(on *plane, v float64) {
	p := len(on.a) - 1
	switch f.kind {
	case ratio:
		copy(on.a, f.c)
		on.a[p], on.d = -v, -f.z
	case tail:
		for j, c := range f.c {
			on.a[j] = -c
		}
		on.a[p], on.d = f.y, v
	default:
		clear(on.a)
		on.a[p], on.d = 1, v
	}
}

// constraintSlope is how a.phi - d changes with v.
func (f *functional) constraintSlope(phi []float64) float64 {
	if f.kind == ratio {
		return -phi[len(phi)-1]
	}
	return -1
}
