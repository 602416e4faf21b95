package simdev

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Dialect is a way in which a logger writes a record.
type Dialect int

// The dialects of the simulated loggers.
const (
	// KilonewtonComma writes time in ms and force in kN with decimal commas, separated by semicolons,
	// below a preamble.
	KilonewtonComma Dialect = iota
	// RatioNoTime writes one column in mV/V; the preamble gives the sample rate.
	RatioNoTime
	// NewtonTabs writes time in s and force in N with a line of units below the names, separated by tabs.
	NewtonTabs
)

// Dialects is their number.
const Dialects = 3

// Text writes the record.
func (r *Record) Text(d Dialect, title string) []byte {
	out := make([]byte, 0, 24*len(r.Counts)+400)
	rate := r.Rate.SI()
	switch d {
	case KilonewtonComma:
		out = fmt.Appendf(out, "Simulated record;%s\r\nLogger;A (invented)\r\n\r\nTime [ms];Force [kN]\r\n", strings.ReplaceAll(title, ";", ","))
		for i := range r.Counts {
			at := len(out)
			out = strconv.AppendFloat(out, float64(i)*1000/rate, 'f', 2, 64)
			out = append(out, ';')
			out = strconv.AppendFloat(out, r.ForceAt(i).SI()/1000, 'f', 5, 64)
			comma(out[at:])
			out = append(out, '\r', '\n')
		}
	case RatioNoTime:
		out = fmt.Appendf(out, "# simulated record: %s\n# logger B (invented)\n# Sample rate: %s Hz\nbridge (mV/V)\n", title, strconv.FormatFloat(rate, 'f', -1, 64))
		for _, n := range r.Counts {
			out = strconv.AppendFloat(out, float64(n)*r.PerCount*1000, 'f', 7, 64)
			out = append(out, '\n')
		}
	default:
		out = fmt.Appendf(out, "simulated record\t%s\ntime\tload\ns\tN\n", strings.ReplaceAll(title, "\t", " "))
		for i := range r.Counts {
			out = strconv.AppendFloat(out, float64(i)/rate, 'f', 5, 64)
			out = append(out, '\t')
			out = strconv.AppendFloat(out, r.ForceAt(i).SI(), 'f', 2, 64)
			out = append(out, '\n')
		}
	}
	return out
}

func comma(b []byte) {
	for i, c := range b {
		if c == '.' {
			b[i] = ','
		}
	}
}

// Readings is what a calibration of the cell at evenly spaced forces would show, in mV/V, without
// noise but rounded to the certificate's six decimals.
func (c Cell) Readings(steps int) (applied []quantity.Force, shown []float64) {
	for i := 0; i <= steps; i++ {
		f := c.Capacity * quantity.Force(i) / quantity.Force(steps)
		v, _ := strconv.ParseFloat(strconv.FormatFloat(c.Output(f)*1000, 'f', 6, 64), 64)
		applied = append(applied, f)
		shown = append(shown, v)
	}
	return applied, shown
}
