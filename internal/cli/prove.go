package cli

import (
	"fmt"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/look"
)

// mostNamed is how many of many are printed one by one.
const mostNamed = 8

type proveCmd struct {
	File   string   `arg:"" help:"Campaign file."`
	Hash   []string `help:"Logbook hash printed in a report; the file must hold it. May be repeated."`
	Repeat bool     `help:"Also make every reduction again from the original bytes and compare bit for bit."`
	JSON   bool     `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (proveCmd) Help() string {
	return `Example: hardcatch prove trial.hardcatch --repeat

Each logbook entry carries the hash of the one before, so that a change within the file is found. A file that was cut off at the end or rewritten whole is consistent too: only --hash with a hash kept elsewhere finds that. Nor does the chain show that the kept reductions are what the records give: only --repeat finds a number that was written over. Exit status 1 means that the proof failed.`
}

// Run proves the file.
func (c *proveCmd) Run(a *look.Access, s *streams) error {
	v, err := app.Prove(s.ctx, a, c.File, c.Repeat, c.Hash)
	if err != nil {
		return err
	}
	if c.JSON {
		if err := s.json(v); err != nil {
			return err
		}
	} else if v.Holds {
		s.say("%s is consistent in itself: %d {entry|entries}, %d {drop|drops}, %d {record|records} (%.1f MB) agree with their hashes", c.File, v.Entries, v.Drops, v.Traces, float64(v.TraceBytes)/1e6)
		if v.Planned > 0 {
			s.say("%d of the drops are planned and not taken", v.Planned)
		}
		if v.Photos > 0 {
			s.say("%d photos (%.1f MB) agree with their hashes", v.Photos, float64(v.PhotoBytes)/1e6)
		}
		if c.Repeat {
			s.say("%d of %d reductions came out to the same bits when they were repeated from their records", v.Repeated, v.Reductions)
		} else if v.Unchecked != "" {
			s.say("not checked: %s", v.Unchecked)
		}
		for _, line := range v.Readers() {
			s.say("%s", line)
		}
		for _, o := range v.Other {
			s.say("not repeated: %s", o)
		}
		s.say("logbook hash %s", v.Head.Hash)
		if len(c.Hash) > 0 {
			s.say("it holds the logbook hash that was printed earlier: nothing before that was cut off or rewritten")
		} else {
			s.say("Whether the end was cut off, or all of it rewritten, only a logbook hash kept elsewhere (a report, a notebook) can show: prove with --hash HASH.")
		}
	}
	switch {
	case v.Break != nil:
		return failedProof{fmt.Sprintf("%s does not hold: %s", c.File, v.Break)}
	case len(v.Differ) > 0:
		for i, d := range v.Differ {
			if i > 0 && i < mostNamed && !c.JSON {
				s.say("%s", d)
			}
		}
		if more := len(v.Differ) - mostNamed; more > 0 && !c.JSON {
			s.say("and %d more, which --json names", more)
		}
		return failedProof{fmt.Sprintf("%s: %d of %d reductions differ when repeated; first: %s", c.File, len(v.Differ), v.Reductions, v.Differ[0])}
	}
	return nil
}
