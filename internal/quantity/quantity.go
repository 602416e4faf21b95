// Package quantity holds scalars in SI units whose dimension is part of their type.
//
// Text is converted to SI where it is read ("22 kN" becomes Force(22000)) and back where it is
// written; everything between computes in SI. A bare number is taken as SI.
package quantity

import (
	"encoding/json"
	"fmt"
)

// Of is a scalar in the SI unit of dimension D. Of[force](22000) is 22 kN.
type Of[D dimension] float64

// The quantities of the trade. Values are in the SI unit named.
type (
	Force        = Of[force]        // N
	Mass         = Of[mass]         // kg
	Length       = Of[length]       // m
	Duration     = Of[duration]     // s
	Frequency    = Of[frequency]    // Hz
	Stiffness    = Of[stiffness]    // N/m
	Damping      = Of[damping]      // N s/m
	Speed        = Of[speed]        // m/s
	Acceleration = Of[acceleration] // m/s2
	Energy       = Of[energy]       // J
	Impulse      = Of[impulse]      // N s
	ForceRate    = Of[forceRate]    // N/s
	Angle        = Of[angle]        // rad
	Ratio        = Of[ratio]        // 1
)

// SI returns the value in the SI unit as a bare number.
func (q Of[D]) SI() float64 { return float64(q) }

// String prints with a metric prefix and four significant digits: "22.00 kN".
func (q Of[D]) String() string { return q.Text(4) }

// Text prints with a metric prefix and the given number of significant digits.
func (q Of[D]) Text(digits int) string {
	var d D
	return format(float64(q), d.dim(), digits)
}

// UnmarshalText parses a number with a unit, or a bare SI number.
func (q *Of[D]) UnmarshalText(text []byte) error {
	v, err := Parse[D](string(text))
	if err != nil {
		return err
	}
	*q = v
	return nil
}

// UnmarshalJSON accepts an SI number (what MarshalJSON's default writes) or a string with a unit.
func (q *Of[D]) UnmarshalJSON(text []byte) error {
	if len(text) > 0 && text[0] == '"' {
		var s string
		if err := json.Unmarshal(text, &s); err != nil {
			return fmt.Errorf("quantity: %w", err)
		}
		return q.UnmarshalText([]byte(s))
	}
	var v float64
	if err := json.Unmarshal(text, &v); err != nil {
		return fmt.Errorf("quantity: %w", err)
	}
	*q = Of[D](v)
	return nil
}
