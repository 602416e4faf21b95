package cli

import (
	"path/filepath"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/day"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

// triggerFlags say when a drop of a live source begins and ends.
type triggerFlags struct {
	Level   string            `placeholder:"VALUE" help:"Level that triggers. In a campaign a force, 500 N when neither it nor a slope is given, 0 N to trigger by hand alone; else in the channel's unit."`
	Slope   float64           `placeholder:"NUMBER" help:"Slope that triggers, in the channel's unit per second."`
	Falling bool              `help:"Trigger on a falling signal."`
	Channel string            `help:"Channel that triggers; the first when not given."`
	Pre     quantity.Duration `default:"1 s" help:"Time kept before the trigger."`
	Post    quantity.Duration `default:"5 s" help:"Longest time recorded after the trigger."`
	Quiet   quantity.Duration `default:"0 s" help:"End earlier, when the signal was back before the level for so long; 0 s never."`
	Spool   string            `type:"path" placeholder:"DIR" help:"Folder to which every sample goes first; FILE.spool when not given."`
}

// options are the flags as the capture takes them; the spool stands beside a file when none is given.
func (f *triggerFlags) options(beside string) day.TriggerOptions {
	spool := f.Spool
	if spool == "" {
		spool = beside + ".spool"
	}
	return day.TriggerOptions{Trigger: acquire.Trigger{Channel: f.Channel, Slope: f.Slope, Falling: f.Falling, Pre: f.Pre, Post: f.Post, Quiet: f.Quiet}, Level: f.Level, Spool: spool}
}

// liveFlags say how a live source is captured into a campaign.
type liveFlags struct {
	triggerFlags
	Filter reduce.Filter `default:"cfc60" help:"Low-pass: cfc60, cfc180-iso, a 3 dB frequency such as '250 Hz', or none."`
	By     string        `help:"Who takes the drops: initials or role."`
}

// usualLevel triggers in a campaign where nothing else is said.
const usualLevel = "500 N"

// watch opens the source for a campaign and tells the folder of its spool.
func (f *liveFlags) watch(b *day.Bench, s *streams, campaign, source string) (live day.Live, spool string, err error) {
	text, err := s.readInput(source)
	if err != nil {
		return nil, "", err
	}
	o := f.options(campaign)
	if o.Level == "" && o.Slope == 0 {
		o.Level = usualLevel
	}
	live, err = day.Watch(s.ctx, b, campaign, filepath.Base(source), text, o)
	return live, o.Spool, err
}
