// Package rehearsal plays the simulated rig as a stream of lines with faults on demand.
package rehearsal

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/simdev"
	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Settings say what is played.
type Settings struct {
	Rate      quantity.Frequency `json:"rate_Hz"`  // 1 Hz to 50 kHz
	Channels  int                `json:"channels"` // the force, and spare channels that show noise
	Drops     int                `json:"drops"`    // 0 = without end
	Every     quantity.Duration  `json:"every_s"`
	Lead      quantity.Duration  `json:"lead_s"`                // quiet before the first drop
	ByHand    bool               `json:"by_hand,omitempty"`     // a drop each time Release is called, instead of by Lead and Every
	Hangs     quantity.Duration  `json:"hangs_s,omitempty"`     // how long the mass is watched after it comes taut; 0 = 3 s
	Lose      quantity.Ratio     `json:"lose,omitempty"`        // share of lines that are not sent
	Garbage   quantity.Ratio     `json:"garbage,omitempty"`     // share of lines that arrive damaged
	Reconnect quantity.Duration  `json:"reconnect_s,omitempty"` // the connection is cut for a second each time; 0 = never
	Saturate  quantity.Force     `json:"saturate_N,omitempty"`  // the range of the amplifier; 0 = wide enough
	Drift     quantity.ForceRate `json:"drift_Npers,omitempty"`
	Seed      uint64             `json:"seed"`
	// Falls are dropped in turn; empty = the invented scenario's.
	Falls []arrest.Case `json:"-"`
}

// Modulus is where the counter of the lines starts again.
const Modulus = 1 << 32

// cutFor is how long a connection is gone.
const cutFor = time.Second

// Outlet is the device's end of a connection.
type Outlet interface {
	// Kind and Address are for the description of the source; Topic is "" but for MQTT.
	Kind() acquire.Kind
	Address() string
	Topic() string
	// Ready waits until somebody listens, where that can be known.
	Ready(ctx context.Context) error
	// Write sends whole lines. Lines for which there is no room are lost, as with a real device.
	Write(lines []byte) (int, error)
	// Cut ends the connection; the next Write may begin a new one.
	Cut() error
	Close() error
}

// Tally counts what was sent, and what was not on purpose.
type Tally struct {
	Samples int64 `json:"samples"` // of each channel, made by the rig
	Sent    int64 `json:"sent"`    // lines handed to the connection, damaged ones too
	Lost    int64 `json:"lost"`    // lines left out
	Garbage int64 `json:"garbage"` // lines damaged
	Cut     int64 `json:"cut"`     // lines made while the connection was cut
	Cuts    int64 `json:"cuts"`
	Drops   int64 `json:"drops"`
}

// Check reports settings that cannot be played.
func (s Settings) Check() error {
	switch {
	case !(s.Rate >= 1 && s.Rate <= 50000):
		return fmt.Errorf("a rate of %s cannot be played; it lies from 1 Hz to 50 kHz", s.Rate)
	case s.Channels < 1 || s.Channels > acquire.MaxChannels:
		return fmt.Errorf("%d channels cannot be played; it is 1 to %d", s.Channels, acquire.MaxChannels)
	case !(s.Lose >= 0 && s.Lose <= 1) || !(s.Garbage >= 0 && s.Garbage <= 1):
		return fmt.Errorf("shares of lost and damaged lines lie from 0 to 1")
	case s.Drops < 0 || s.Lead < 0 || s.Reconnect < 0 || s.Saturate < 0 || s.Hangs < 0:
		return fmt.Errorf("drops, lead, reconnect, saturate and the time a mass hangs may not be negative")
	case s.Reconnect > 0 && s.Reconnect < 3:
		return fmt.Errorf("a cut every %s leaves no time to come back; at least 3 s are needed", s.Reconnect)
	}
	return nil
}

// Description is how a source file describes the stream.
func (s Settings) Description(o Outlet) acquire.Description {
	d := acquire.Description{Name: "rehearsal", Kind: o.Kind(), Address: o.Address(), Topic: o.Topic(), Rate: s.Rate, Lines: s.lines(), Modulus: Modulus, Invented: true}
	if d.Kind == acquire.Serial {
		d.Baud = 115200
	}
	return d
}

func (s Settings) lines() string {
	var b strings.Builder
	b.WriteString("{counter},{force N}")
	for c := 2; c <= s.Channels; c++ {
		fmt.Fprintf(&b, ",{spare%d V}", c)
	}
	return b.String()
}

// Scenario says what is played.
func (s Settings) Scenario() string {
	if len(s.Falls) > 0 {
		return "Invented: planned drops, played by the model of the plan. No number here was measured."
	}
	return simdev.Scenario
}

// YAML is the description as a source file.
func (s Settings) YAML(o Outlet) string {
	d := s.Description(o)
	var b strings.Builder
	fmt.Fprintf(&b, "# %s\nname: %s\nkind: %s\naddress: %q\n", s.Scenario(), d.Name, d.Kind, d.Address)
	if d.Topic != "" {
		fmt.Fprintf(&b, "topic: %q\n", d.Topic)
	}
	fmt.Fprintf(&b, "rate: %s Hz\nlines: %q\nmodulus: %d\ninvented: true\n", strconv.FormatFloat(d.Rate.SI(), 'f', -1, 64), d.Lines, d.Modulus)
	return b.String()
}

// Player makes the lines.
type Player struct {
	s     Settings
	st    *simdev.Stream
	rng   *rand.Rand
	force []float64
	tally Tally
}

// NewPlayer simulates the drops that are played in turn.
func NewPlayer(ctx context.Context, s Settings) (*Player, error) {
	if err := s.Check(); err != nil {
		return nil, err
	}
	cell := simdev.InventedCell
	cell.Range = s.Saturate
	st, err := simdev.Tower{Rate: s.Rate, Drops: s.Drops, Every: s.Every, Lead: s.Lead, ByHand: s.ByHand, Hangs: s.Hangs, Seed: s.Seed, Cell: cell, Falls: s.Falls}.Start(ctx)
	if err != nil {
		return nil, err
	}
	return &Player{s: s, st: st, rng: rand.New(rand.NewPCG(s.Seed, 11))}, nil
}

// Done tells that the last drop was played.
func (p *Player) Done() bool {
	_, more := p.st.Drop()
	return !more
}

// Release lets the mass go where that is done by hand. It may be called from another goroutine than Run.
func (p *Player) Release() { p.st.Release() }

// Busy tells that a mass let go by hand is falling, hangs, or is being taken off.
func (p *Player) Busy() bool { return p.st.Busy() }

// Tally is what was played so far.
func (p *Player) Tally() Tally {
	n, _ := p.st.Drop()
	p.tally.Drops = n
	return p.tally
}

// Append adds the lines of the next n samples, without those that are to be lost; with silent all are.
func (p *Player) Append(out []byte, n int, silent bool) []byte {
	if cap(p.force) < n {
		p.force = make([]float64, n)
	}
	p.force = p.force[:n]
	first := p.st.Next()
	p.st.Read(p.force)
	for i, f := range p.force {
		p.tally.Samples++
		if silent {
			p.tally.Cut++
			continue
		}
		if p.s.Lose > 0 && p.rng.Float64() < p.s.Lose.SI() {
			p.tally.Lost++
			continue
		}
		number := first + int64(i)
		f += p.s.Drift.SI() * float64(number) / p.s.Rate.SI()
		if top := p.s.Saturate.SI(); top > 0 {
			f = math.Max(-top, math.Min(top, f))
		}
		from := len(out)
		out = strconv.AppendInt(out, number%Modulus, 10)
		out = append(out, ',')
		out = strconv.AppendFloat(out, f, 'f', 3, 64)
		for c := 2; c <= p.s.Channels; c++ {
			out = append(out, ',')
			out = strconv.AppendFloat(out, 0.001*p.rng.NormFloat64(), 'f', 5, 64)
		}
		if p.s.Garbage > 0 && p.rng.Float64() < p.s.Garbage.SI() {
			out[from+p.rng.IntN(len(out)-from)] = '?'
			p.tally.Garbage++
		}
		out = append(out, '\r', '\n')
		p.tally.Sent++
	}
	return out
}

// step is how often lines are sent.
const step = 10 * time.Millisecond

// Run plays in real time until the last drop is over or ctx ends, which is no error.
func Run(ctx context.Context, p *Player, o Outlet, clock acquire.Clock) (Tally, error) {
	if err := o.Ready(ctx); err != nil {
		return p.Tally(), err
	}
	start := clock.Now()
	cut := start
	var out []byte
	stopped := func() bool { return clock.Sleep(ctx, step) != nil }
	for !p.Done() && !stopped() {
		now := clock.Now()
		if r := p.s.Reconnect.SI(); r > 0 && now.Sub(cut).Seconds() >= r {
			cut = now
			p.tally.Cuts++
			if err := o.Cut(); err != nil {
				return p.Tally(), err
			}
		}
		due := int64(now.Sub(start).Seconds()*p.s.Rate.SI()) - p.st.Next()
		for due > 0 && !p.Done() {
			n := int(min(due, 4096))
			due -= int64(n)
			silent := p.tally.Cuts > 0 && now.Sub(cut) < cutFor
			if out = p.Append(out[:0], n, silent); len(out) == 0 {
				continue
			}
			if _, err := o.Write(out); err != nil {
				return p.Tally(), err
			}
		}
	}
	return p.Tally(), nil
}
