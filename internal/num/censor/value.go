package censor

import (
	"fmt"
	"math"
)

// Value is one observation of which it is known that it lies from Lo to Hi, both included.
//
//	Lo = Hi             exact
//	Hi = +Inf           right-censored: at least Lo (it held)
//	Lo = -Inf           left-censored: at most Hi
//	otherwise           interval-censored
//
// Count is how many observations are alike; 0 counts as 1.
type Value struct {
	Lo, Hi float64
	Count  int
}

// Exact is a value that was seen.
func Exact(x float64) Value { return Value{Lo: x, Hi: x} }

// AtLeast is a right-censored value.
func AtLeast(x float64) Value { return Value{Lo: x, Hi: math.Inf(1)} }

// AtMost is a left-censored value.
func AtMost(x float64) Value { return Value{Lo: math.Inf(-1), Hi: x} }

// Between is an interval-censored value.
func Between(lo, hi float64) Value { return Value{Lo: lo, Hi: hi} }

// Kind tells how much is known of a value.
type Kind int

// The kinds.
const (
	Observed Kind = iota // exact
	RightCensored
	LeftCensored
	IntervalCensored
)

// Kind is how much is known of v.
func (v Value) Kind() Kind {
	switch {
	case v.Lo == v.Hi:
		return Observed
	case math.IsInf(v.Hi, 1):
		return RightCensored
	case math.IsInf(v.Lo, -1):
		return LeftCensored
	}
	return IntervalCensored
}

// N is how many observations v stands for.
func (v Value) N() int {
	if v.Count == 0 {
		return 1
	}
	return v.Count
}

// Check reports a value that says nothing or contradicts itself.
func (v Value) Check() error {
	switch {
	case math.IsNaN(v.Lo) || math.IsNaN(v.Hi):
		return fmt.Errorf("a bound is not a number")
	case v.Lo > v.Hi:
		return fmt.Errorf("the lower bound %g lies above the upper bound %g", v.Lo, v.Hi)
	case math.IsInf(v.Lo, 1) || math.IsInf(v.Hi, -1):
		return fmt.Errorf("a value at infinity is no observation")
	case math.IsInf(v.Lo, -1) && math.IsInf(v.Hi, 1):
		return fmt.Errorf("without any bound nothing is known; leave it out")
	case v.Count < 0:
		return fmt.Errorf("a count of %d", v.Count)
	}
	return nil
}
