package cli

import (
	"path/filepath"

	"github.com/hardcatch/hardcatch/internal/day"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

// liveFlags say how a live source is captured into a campaign.
type liveFlags struct {
	Level   quantity.Force    `default:"500 N" help:"Force that triggers; 0 N to trigger by hand alone."`
	Channel string            `help:"Channel that is the force; the first when not given."`
	Pre     quantity.Duration `default:"1 s" help:"Time kept before the trigger."`
	Post    quantity.Duration `default:"5 s" help:"Longest time recorded after the trigger."`
	Quiet   quantity.Duration `default:"0 s" help:"End earlier when the force is back below the level for so long; 0 s never."`
	Spool   string            `type:"path" placeholder:"DIR" help:"Folder to which every sample goes first; FILE.spool when not given."`
	Filter  reduce.Filter     `default:"cfc60" help:"Low-pass: cfc60, cfc180-iso, a 3 dB frequency such as '250 Hz', or none."`
	By      string            `help:"Who takes the drops: initials or role."`
}

// watch opens the source for a campaign and tells the folder of its spool.
func (f *liveFlags) watch(b *day.Bench, s *streams, campaign, source string) (live day.Live, spool string, err error) {
	text, err := s.readInput(source)
	if err != nil {
		return nil, "", err
	}
	if spool = f.Spool; spool == "" {
		spool = campaign + ".spool"
	}
	live, err = day.Watch(s.ctx, b, campaign, filepath.Base(source), text, day.LiveOptions{Channel: f.Channel, Level: f.Level, Pre: f.Pre, Post: f.Post, Quiet: f.Quiet, Spool: spool})
	return live, spool, err
}
