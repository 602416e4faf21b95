// Package reduce turns a trace into measures by numbered, repeatable steps.
package reduce

import (
	"encoding/json"
	"fmt"
	"strconv"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/dsp"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Version names the generation of the whole reduction. It changes whenever the same record and settings
// would give other bits.
const Version = "reduce/2"

// Settings are everything a reduction depends on beside the trace. Two reductions of one trace with
// equal settings and Version give the same bits on the same processor architecture.
type Settings struct {
	Channel string `json:"channel,omitempty"` // force channel; empty = the one that fits
	Filter  Filter `json:"filter"`

	Mass    quantity.Mass         `json:"mass_kg"`
	MassU   quantity.Mass         `json:"mass_u_kg"`
	Fall    quantity.Length       `json:"fall_m"`
	FallU   quantity.Length       `json:"fall_u_m"`
	Gravity quantity.Acceleration `json:"gravity_mps2"` // 0 = standard

	RigFrequency quantity.Frequency `json:"rig_frequency_Hz,omitempty"` // of the load cell's node, 0 = not known
	RigDamping   quantity.Ratio     `json:"rig_damping,omitempty"`
	AntiAlias    quantity.Frequency `json:"antialias_Hz,omitempty"`
	Resolution   quantity.Force     `json:"resolution_N,omitempty"` // 0 = from the record
	Capacity     quantity.Force     `json:"capacity_N,omitempty"`   // of the load cell, 0 = not stated
	SpeedMethod  string             `json:"speed_method,omitempty"`

	Calibration drop.CalibrationData `json:"calibration,omitzero"`
	GainU       quantity.Ratio       `json:"gain_u,omitempty"` // relative standard uncertainty of the force when no calibration readings are given
	Taken       string               `json:"taken,omitempty"`  // date of the drop, for the certificate's expiry

	Coverage float64 `json:"coverage"` // 0 = 0.95

	Hand *EventsByHand `json:"hand,omitempty"` // events that a person set, nil = all are found from the record
}

// FromRig fills the settings that a rig and a drop determine.
func FromRig(r drop.Rig, d drop.Drop, f Filter) Settings {
	g, _ := r.G()
	s := Settings{
		Channel: d.Channel, Filter: f, Mass: r.Mass, MassU: r.MassU, Fall: d.Fall, FallU: r.FallU, Gravity: g,
		RigFrequency: r.NodeFrequency(), RigDamping: r.Damping, AntiAlias: r.AntiAlias, Resolution: r.Resolution,
		Capacity: r.LoadCell.Capacity, SpeedMethod: r.SpeedMethod, Calibration: r.LoadCell.Calibration, Taken: d.Taken,
	}
	if d.Mass > 0 {
		s.Mass = d.Mass
	}
	return s
}

func (s Settings) withDefaults() Settings {
	if s.Gravity == 0 {
		s.Gravity = quantity.StandardGravity
	}
	if s.Coverage == 0 {
		s.Coverage = 0.95
	}
	if s.SpeedMethod == "" {
		s.SpeedMethod = "from the stated fall height"
	}
	return s
}

// Check reports settings that cannot be used.
func (s Settings) Check() error {
	switch {
	case s.Mass <= 0:
		return fmt.Errorf("settings: the mass is missing; give it, for example 100 kg")
	case s.Fall < 0 || s.MassU < 0 || s.FallU < 0 || s.GainU < 0:
		return fmt.Errorf("settings: fall height and uncertainties may not be negative")
	case s.Coverage != 0 && !(s.Coverage > 0.5 && s.Coverage < 1):
		return fmt.Errorf("settings: a coverage of %g is outside 0.5 to 1; 0.95 is usual", s.Coverage)
	}
	return nil
}

// Filter is the low-pass that a force record goes through, forward and backward.
type Filter struct {
	Class  float64            `json:"class,omitempty"`  // channel frequency class, 0 = not by class
	Factor string             `json:"factor,omitempty"` // "sae" or "iso"
	Cutoff quantity.Frequency `json:"cutoff_Hz,omitempty"`
}

// DefaultFilter is channel class 60 (3 dB at 100 Hz) with the SAE factor.
var DefaultFilter = Filter{Class: 60, Factor: "sae"}

// None tells that no filter is applied.
func (f Filter) None() bool { return f.Class == 0 && f.Cutoff == 0 }

// ParseFilter reads "cfc60", "cfc180-iso", "250 Hz" or "none".
func ParseFilter(text string) (Filter, error) {
	t := strings.ToLower(strings.ReplaceAll(strings.TrimSpace(text), " ", ""))
	if t == "none" || t == "off" {
		return Filter{}, nil
	}
	if rest, ok := strings.CutPrefix(t, "cfc"); ok {
		f := Filter{Factor: "sae"}
		for _, name := range []string{"sae", "iso"} {
			if r, found := strings.CutSuffix(rest, "-"+name); found {
				rest, f.Factor = r, name
			}
		}
		v, err := strconv.ParseFloat(rest, 64)
		if err != nil || !(v > 0) || v > 1e6 {
			return Filter{}, fmt.Errorf("filter %q: the channel class is not a positive number; write for example cfc60 or cfc180-iso", text)
		}
		f.Class = v
		return f, nil
	}
	f3, err := quantity.ParseFrequency(text)
	if err != nil || f3 <= 0 {
		return Filter{}, fmt.Errorf("filter %q is not known; write cfc60, cfc180-iso, a 3 dB frequency such as \"250 Hz\", or none", text)
	}
	return Filter{Cutoff: f3}, nil
}

// UnmarshalText reads what ParseFilter reads.
func (f *Filter) UnmarshalText(text []byte) (err error) {
	*f, err = ParseFilter(string(text))
	return err
}

// UnmarshalJSON reads the object that json.Marshal writes, or a string as ParseFilter reads it.
func (f *Filter) UnmarshalJSON(text []byte) error {
	if len(text) > 0 && text[0] == '"' {
		var s string
		if err := json.Unmarshal(text, &s); err != nil {
			return fmt.Errorf("filter: %w", err)
		}
		return f.UnmarshalText([]byte(s))
	}
	type plain Filter
	if err := json.Unmarshal(text, (*plain)(f)); err != nil {
		return fmt.Errorf("filter: %w", err)
	}
	return nil
}

// String names the filter with its 3 dB frequency.
func (f Filter) String() string {
	switch {
	case f.None():
		return "none"
	case f.Class > 0:
		return fmt.Sprintf("CFC %g (%s factor, 3 dB at about %s), zero phase", f.Class, strings.ToUpper(f.Factor), f.Cut3dB().Text(3))
	}
	return fmt.Sprintf("low-pass, 3 dB at %s, zero phase", f.Cutoff.Text(3))
}

// Cut3dB is the 3 dB frequency of both passes together, 0 without a filter.
func (f Filter) Cut3dB() quantity.Frequency {
	if f.Class > 0 {
		// Both passes of a 2-pole Butterworth are 3 dB down at (sqrt2-1)^(1/4) of a pass's corner.
		return quantity.Frequency(f.Class * float64(f.factor()) * 0.8022452)
	}
	return f.Cutoff
}

func (f Filter) factor() dsp.Factor {
	if f.Factor == "iso" {
		return dsp.ISO
	}
	return dsp.SAE
}

func (f Filter) biquad(rate quantity.Frequency) (dsp.Biquad, error) {
	if f.Class > 0 {
		return dsp.ChannelClass(f.Class, rate.SI(), f.factor())
	}
	return dsp.LowPass3dB(f.Cutoff.SI(), rate.SI())
}
