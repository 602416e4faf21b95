package acquire

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Trigger says when a drop begins and ends in a stream. Level, Hysteresis and Slope are in the unit of the
// channel. Without level and slope only a person triggers.
type Trigger struct {
	Channel    string            `json:"channel,omitempty"` // "" = the first
	Level      *float64          `json:"level,omitempty"`
	Hysteresis float64           `json:"hysteresis,omitempty"` // the signal must have been so far before the level; 0 = a tenth of it
	Falling    bool              `json:"falling,omitempty"`    // through the level downwards
	Slope      float64           `json:"slope,omitempty"`      // per second, positive; 0 = none
	Over       quantity.Duration `json:"over_s,omitempty"`     // time over which the slope is taken; 0 = 1 ms
	Pre        quantity.Duration `json:"pre_s"`
	Post       quantity.Duration `json:"post_s"`            // after the trigger, at most
	Quiet      quantity.Duration `json:"quiet_s,omitempty"` // the drop ends when the signal was back before the level for so long; 0 = only by Post
	HoldOff    quantity.Duration `json:"holdoff_s,omitempty"`
	Again      bool              `json:"again,omitempty"` // arm by itself after each drop
}

// maxSamples bounds a drop, pre-trigger included: 2^28 numbers, 2 GiB.
const maxSamples = 1 << 28

// plan is a trigger in samples.
type plan struct {
	Trigger
	channel                         int
	low, high                       float64 // with the sign turned for a falling edge
	sign                            float64
	pre, post, quiet, holdOff, over int64
	rise                            float64 // over `over` samples
}

// plan checks a trigger against a source.
func (t Trigger) plan(d *Description) (*plan, error) {
	c, err := d.ChannelAt(t.Channel)
	if err != nil {
		return nil, fmt.Errorf("trigger: %w", err)
	}
	rate := d.Rate.SI()
	p := &plan{Trigger: t, channel: c, sign: 1, low: math.Inf(-1), high: math.Inf(1), rise: math.Inf(1)}
	for _, v := range []struct {
		name string
		v    quantity.Duration
		to   *int64
	}{{"pre", t.Pre, &p.pre}, {"post", t.Post, &p.post}, {"quiet", t.Quiet, &p.quiet}, {"hold-off", t.HoldOff, &p.holdOff}, {"slope time", t.Over, &p.over}} {
		if !(v.v >= 0 && v.v <= 3600) {
			return nil, fmt.Errorf("trigger: a %s of %s is not believed; it lies from 0 s to 3600 s", v.name, v.v)
		}
		*v.to = int64(math.Round(v.v.SI() * rate))
	}
	if p.post < 1 && rate > 0 { // without a rate it gives finished records only
		return nil, fmt.Errorf("trigger: nothing would be recorded after the trigger; give a longest time, for example 5 s")
	}
	if n := (p.pre + p.post) * int64(len(d.Channels)); n > maxSamples {
		return nil, fmt.Errorf("trigger: a drop of %d numbers is too long; shorten pre or post", n)
	}
	if math.IsNaN(t.Slope) || t.Slope < 0 || math.IsNaN(t.Hysteresis) || t.Hysteresis < 0 {
		return nil, fmt.Errorf("trigger: slope and hysteresis are positive numbers; a falling signal is asked for by its own word")
	}
	if t.Falling {
		p.sign = -1
	}
	if t.Level != nil {
		if math.IsNaN(*t.Level) || math.IsInf(*t.Level, 0) {
			return nil, fmt.Errorf("trigger: the level is no number")
		}
		h := t.Hysteresis
		if h == 0 {
			h = math.Abs(*t.Level) / 10
		}
		p.high = p.sign * *t.Level
		p.low = p.high - h
	}
	if p.over < 1 {
		p.over = max(1, int64(math.Round(1e-3*rate)))
	}
	if t.Slope > 0 {
		p.rise = t.Slope * float64(p.over) / rate
	}
	return p, nil
}
