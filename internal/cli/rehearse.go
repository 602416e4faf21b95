package cli

import (
	"bufio"
	"fmt"
	"os"
	"strings"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/rehearsal"
	"github.com/hardcatch/hardcatch/internal/day"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

type rehearseCmd struct {
	File      string             `arg:"" optional:"" help:"Campaign file: its planned drops are played in their order, on the planned rig."`
	Over      string             `enum:"tcp,serial,mqtt" default:"tcp" help:"Connection: tcp serves lines; serial makes a pair of ports (Linux); mqtt publishes to the broker given, or starts one."`
	Address   string             `placeholder:"ADDRESS" help:"Where to serve, or the broker; chosen when not given."`
	Topic     string             `placeholder:"TOPIC" help:"Topic to publish under."`
	Rate      quantity.Frequency `default:"10 kHz" help:"Sample rate, up to 50 kHz."`
	Channels  int                `default:"1" help:"The force, and spare channels that show noise."`
	Drops     int                `default:"0" help:"End after so many drops; 0 = when stopped."`
	Every     quantity.Duration  `default:"20 s" help:"Time from one drop to the next."`
	Lead      quantity.Duration  `default:"3 s" help:"Quiet time before the first drop."`
	ByHand    bool               `help:"Let the mass go each time Enter is pressed, instead of by --every and --lead."`
	Lose      quantity.Ratio     `placeholder:"SHARE" help:"Share of lines that are lost, for example 0.001."`
	Garbage   quantity.Ratio     `placeholder:"SHARE" help:"Share of lines that arrive damaged."`
	Reconnect quantity.Duration  `placeholder:"TIME" help:"Cut the connection for a second each time."`
	Saturate  quantity.Force     `placeholder:"FORCE" help:"Range of the amplifier, for example '9 kN': what lies beyond is cut off."`
	Drift     quantity.ForceRate `placeholder:"FORCE/TIME" help:"Drift of the zero, for example '5 N/s'."`
	Seed      uint64             `default:"1" help:"The same seed plays the same stream."`
	JSON      bool               `name:"json" help:"After the address, print JSON."`
}

// Help is shown below the usage.
func (rehearseCmd) Help() string {
	return `Example: hardcatch rehearse --drops 3 --every "20 s" --lose 0.001

The first line is the address to connect to; then comes the description of the source, to be saved as source.yaml. Over TCP the rehearsal begins when somebody connects.

With a campaign file (hardcatch rehearse day.hardcatch) mass, fall, specimen and rig are those of each planned drop that is still to be taken, drawn from the plan's spread. Without one the scenario is invented: 100 kg fall 0.9 m. Either way the stream comes from the simulated rig, and what is made of it is marked as invented.`
}

// Run plays until the last drop or an interrupt.
func (c *rehearseCmd) Run(b *day.Bench, s *streams) error {
	o := day.RehearseOptions{Over: acquire.Kind(c.Over), Address: c.Address, Topic: c.Topic, Settings: rehearsal.Settings{
		Rate: c.Rate, Channels: c.Channels, Drops: c.Drops, Every: c.Every, Lead: c.Lead, ByHand: c.ByHand, Lose: c.Lose, Garbage: c.Garbage,
		Reconnect: c.Reconnect, Saturate: c.Saturate, Drift: c.Drift, Seed: c.Seed}}
	if c.File != "" {
		drops, err := o.Planned(s.ctx, b.Access, c.File)
		if err != nil {
			return err
		}
		fmt.Fprintf(s.err, "played in this order: %s\n", look.Listed(drops, mostNamed))
	}
	t, err := day.Rehearse(s.ctx, b, o, func(r day.Rehearsal) {
		s.say("%s", r.Address)
		if !c.JSON {
			s.say("%s", strings.TrimSpace(r.Source))
		}
		if c.ByHand {
			go func() { // ends with the program
				for lines := bufio.NewScanner(os.Stdin); lines.Scan(); {
					r.Release()
				}
			}()
		}
	})
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(t)
	}
	s.say("\n%d {drop|drops}, %d {sample|samples} of each channel; %d {line|lines} sent, %d of them damaged; %d left out, %d made while the connection was cut (%d {time|times})", t.Drops, t.Samples, t.Sent, t.Garbage, t.Lost, t.Cut, t.Cuts)
	return nil
}
