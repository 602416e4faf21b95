package reduce

import (
	"fmt"
	"math"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/dsp"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// toForce picks the force channel and turns it into newtons.
func (w *work) toForce() error {
	var warnings []string
	if len(w.set.Calibration.Readings) > 0 {
		cal, warns, err := FitCalibration(w.set.Calibration)
		if err != nil {
			return err
		}
		w.cal, warnings = cal, warns
	}
	at, err := channel(w.trace.Channels, w.set, w.cal)
	if err != nil {
		return err
	}
	ch := &w.trace.Channels[at]
	w.out.Warnings = append(w.out.Warnings, warnings...)
	apply := w.cal != nil && matches(ch, w.cal)
	if w.cal != nil && ch.Dim == quantity.DimForce && !apply {
		w.out.warn("the record is already in force: the readings of certificate %s (in %s) are used for its uncertainty and range only", w.cal.Data.Certificate, w.cal.Data.Input)
	}
	if w.consume {
		w.forceN, ch.Values = ch.Values, nil
	} else {
		w.forceN = make([]float64, len(ch.Values))
		copy(w.forceN, ch.Values)
	}
	w.mask = append(drop.Mask(nil), ch.Mask...)
	gaps := 0
	if w.maskWild() {
		gaps = fill(w.forceN)
	}
	if gaps == len(w.forceN) {
		return fmt.Errorf("channel %s holds no number; check the column and its decimal sign", ch.Name)
	}
	if gaps > 0 {
		w.out.warn("%d samples of channel %s are not numbers and were bridged by straight lines", gaps, ch.Name)
	}
	if apply {
		if lost := w.cal.apply(w.forceN); lost > 0 {
			w.maskMissing(drop.OutOfRange, "means no force by the calibration")
			fill(w.forceN)
			w.out.warn("%d samples lie where the calibration's curve turns back and means no force; they were bridged by straight lines: calibrate over the whole range that is used", lost)
			if lost == len(w.forceN) {
				return fmt.Errorf("the calibration means no force for any sample; are its readings in %s?", ch.Unit)
			}
		}
	}
	w.extreme = dsp.FindExtremes(w.forceN)
	w.clip = dsp.FlatTops(w.forceN, w.extreme)
	for _, c := range w.clip {
		w.mask = w.mask.With(drop.Stretch{From: c.From, To: c.To, Is: drop.Saturated, Why: "equal samples at the end of the range"})
	}
	w.bridgeSpikes()
	args := map[string]any{"channel": ch.Name, "unit": ch.Unit, "applied": apply, "bridged": gaps}
	if w.cal != nil {
		args["certificate"], args["coefficients"], args["residual_sd"] = w.cal.Data.Certificate, w.cal.Fit.C, w.cal.Fit.ResidualSD
	}
	w.out.step("calibration", args)
	if expired, err := Expiry(w.set.Calibration, w.set.Taken); err != nil {
		return err
	} else if expired != "" {
		w.out.warn("%s", expired)
	}
	return nil
}

// wild is a force that nothing here can bear: what reads as more is no measurement (1 GN; common practice, no source).
const wild = 1e9

// maskWild turns what is no number, or no force, into NaN and masks it. Before a calibration the numbers of a force channel are forces.
func (w *work) maskWild() (missing bool) {
	limit := wild
	if w.cal != nil {
		limit = math.MaxFloat64
	}
	for i, v := range w.forceN {
		if math.Abs(v) <= limit {
			continue
		}
		missing = true
		if !math.IsNaN(v) {
			w.forceN[i] = math.NaN()
			w.mask = w.mask.With(drop.Stretch{From: i, To: i + 1, Is: drop.OutOfRange, Why: "is no force that could be"})
		}
	}
	if missing {
		w.maskMissing(drop.Lost, "holds no number")
	}
	return missing
}

// maskMissing masks what is NaN.
func (w *work) maskMissing(is drop.Evidence, why string) {
	x := w.forceN
	for i := 0; i < len(x); {
		if !math.IsNaN(x[i]) {
			i++
			continue
		}
		j := i
		for j < len(x) && math.IsNaN(x[j]) {
			j++
		}
		w.mask = w.mask.With(drop.Stretch{From: i, To: j, Is: is, Why: why})
		i = j
	}
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
