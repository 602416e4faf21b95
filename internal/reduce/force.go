package reduce

import (
	"fmt"
	"math"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/dsp"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// newtons are the force at each sample and what is known of each.
type newtons struct {
	cal     *Calibration // nil where none is given
	forceN  []float64    // calibrated; zeroed and of the right sign once zero is found
	mask    drop.Mask    // what was not measured, by the reader and by what cannot be a force
	clip    []dsp.Flat
	glitch  []dsp.Glitch
	extreme dsp.Extremes // of the force before its zero is taken off
}

// toForce picks the force channel and turns it into newtons. With consume the channel's own memory becomes forceN.
func (w *given) toForce(consume bool) (newtons, error) {
	var out newtons
	var warnings []string
	if len(w.set.Calibration.Readings) > 0 {
		cal, warns, err := FitCalibration(w.set.Calibration)
		if err != nil {
			return out, err
		}
		out.cal, warnings = cal, warns
	}
	at, err := channel(w.trace.Channels, w.set, out.cal)
	if err != nil {
		return out, err
	}
	ch := &w.trace.Channels[at]
	w.Warnings = append(w.Warnings, warnings...)
	apply := out.cal != nil && matches(ch, out.cal)
	if out.cal != nil && ch.Dim == quantity.DimForce && !apply {
		w.warn("the record is already in force: the readings of certificate %s (in %s) are used for its uncertainty and range only", out.cal.Data.Certificate, out.cal.Data.Input)
	}
	var x []float64
	if consume {
		x, ch.Values = ch.Values, nil
	} else {
		x = make([]float64, len(ch.Values))
		copy(x, ch.Values)
	}
	gaps := 0
	limit := wild
	if out.cal != nil {
		limit = math.MaxFloat64
	}
	mask, missing := maskWild(x, append(drop.Mask(nil), ch.Mask...), limit)
	if missing {
		gaps = fill(x)
	}
	if gaps == len(x) {
		return out, fmt.Errorf("channel %s holds no number; check the column and its decimal sign", ch.Name)
	}
	if gaps > 0 {
		w.warn("%d samples of channel %s are not numbers and were bridged by straight lines", gaps, ch.Name)
	}
	if apply {
		if lost := out.cal.apply(x); lost > 0 {
			mask = maskMissing(x, mask, drop.OutOfRange, "means no force by the calibration")
			fill(x)
			w.warn("%d samples lie where the calibration's curve turns back and means no force; they were bridged by straight lines: calibrate over the whole range that is used", lost)
			if lost == len(x) {
				return out, fmt.Errorf("the calibration means no force for any sample; are its readings in %s?", ch.Unit)
			}
		}
	}
	extreme := dsp.FindExtremes(x)
	out.clip = dsp.FlatTops(x, extreme)
	for _, c := range out.clip {
		mask = mask.With(drop.Stretch{From: c.From, To: c.To, Is: drop.Saturated, Why: "equal samples at the end of the range"})
	}
	out.glitch = w.spikes(x, extreme)
	if len(out.glitch) > 0 {
		mask = w.bridgeSpikes(x, mask, out.glitch)
		extreme = dsp.FindExtremes(x)
	}
	out.forceN, out.mask, out.extreme = x, mask, extreme
	args := map[string]any{"channel": ch.Name, "unit": ch.Unit, "applied": apply, "bridged": gaps}
	if out.cal != nil {
		args["certificate"], args["coefficients"], args["residual_sd"] = out.cal.Data.Certificate, out.cal.Fit.C, out.cal.Fit.ResidualSD
	}
	w.step("calibration", args)
	if expired, err := Expiry(w.set.Calibration, w.set.Taken); err != nil {
		return out, err
	} else if expired != "" {
		w.warn("%s", expired)
	}
	return out, nil
}

// wild is a force that nothing here can bear: what reads as more is no measurement (1 GN; common practice, no source).
const wild = 1e9

// maskWild turns what is no number, or beyond the limit, into NaN and masks it. Before a calibration the numbers of a force channel are
// forces; else anything that is a number passes.
func maskWild(x []float64, mask drop.Mask, limit float64) (_ drop.Mask, missing bool) {
	for i, v := range x {
		if math.Abs(v) <= limit {
			continue
		}
		missing = true
		if !math.IsNaN(v) {
			x[i] = math.NaN()
			mask = mask.With(drop.Stretch{From: i, To: i + 1, Is: drop.OutOfRange, Why: "is no force that could be"})
		}
	}
	if missing {
		mask = maskMissing(x, mask, drop.Lost, "holds no number")
	}
	return mask, missing
}

// maskMissing masks what is NaN.
func maskMissing(x []float64, mask drop.Mask, is drop.Evidence, why string) drop.Mask {
	for i := 0; i < len(x); {
		if !math.IsNaN(x[i]) {
			i++
			continue
		}
		j := i
		for j < len(x) && math.IsNaN(x[j]) {
			j++
		}
		mask = mask.With(drop.Stretch{From: i, To: j, Is: is, Why: why})
		i = j
	}
	return mask
}

// matches tells that the channel carries what the calibration's readings are written in.
func matches(ch *drop.Channel, c *Calibration) bool {
	if ch.Kind == "unitless" || ch.Kind == "other" {
		return false
	}
	if isCounts(c.Data.Input) {
		return ch.Kind == "counts"
	}
	return ch.Dim == c.Unit.Dim && ch.Kind != "counts"
}

// ForceChannel is the place of the channel that a reduction would take as the force, by names and units alone; -1 when it
// would take none.
func ForceChannel(channels []drop.Channel, s Settings) int {
	var cal *Calibration
	if len(s.Calibration.Readings) > 0 {
		var err error
		if cal, _, err = FitCalibration(s.Calibration); err != nil {
			return -1
		}
	}
	i, err := channel(channels, s, cal)
	if err != nil {
		return -1
	}
	return i
}

func channel(channels []drop.Channel, s Settings, cal *Calibration) (int, error) {
	var names []string
	force, fit := -1, -1
	for i := range channels {
		ch := &channels[i]
		names = append(names, fmt.Sprintf("%s [%s]", ch.Name, ch.Unit))
		usable := ch.Dim == quantity.DimForce || cal != nil && matches(ch, cal)
		if s.Channel != "" {
			if strings.EqualFold(ch.Name, s.Channel) {
				if !usable {
					return -1, fmt.Errorf("channel %s is in %q, which is not a force, and no calibration of that input is given; add readings in that unit to the rig's load cell", ch.Name, ch.Unit)
				}
				return i, nil
			}
			continue
		}
		if cal != nil && matches(ch, cal) && fit < 0 {
			fit = i
		}
		if ch.Dim == quantity.DimForce && force < 0 {
			force = i
		}
	}
	switch {
	case s.Channel != "":
		return -1, fmt.Errorf("there is no channel %q; the record has %s", s.Channel, strings.Join(names, ", "))
	case fit >= 0:
		return fit, nil
	case force >= 0:
		return force, nil
	}
	return -1, fmt.Errorf("no channel is a force (found: %s); name the unit of the column, or give a calibration with readings in that unit", strings.Join(names, ", "))
}

// fill bridges what is not a number by straight lines and returns how many samples were bridged.
func fill(dst []float64) (bad int) {
	last := -1
	for i, v := range dst {
		if !(math.Abs(v) <= math.MaxFloat64) {
			bad++
			continue
		}
		if i-last > 1 {
			from := v
			if last >= 0 {
				from = dst[last]
			}
			bridge(dst, last, i, from)
		}
		last = i
	}
	if last >= 0 {
		for j := last + 1; j < len(dst); j++ {
			dst[j] = dst[last]
		}
	}
	return bad
}

// bridge draws a straight line over x between a and b, from a level at a to x[b]; a may be -1.
func bridge(x []float64, a, b int, from float64) {
	for j := a + 1; j < b; j++ {
		x[j] = from + (x[b]-from)*float64(j-a)/float64(b-a)
	}
}
