package cli

import (
	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

type versionCmd struct{}

// Help is shown below the usage.
func (versionCmd) Help() string { return `Example: hardcatch version` }

// Run prints the versions of program and reduction.
func (versionCmd) Run(a *app.App, s *streams) error {
	s.say("hardcatch %s, %s", a.Version, reduce.Version)
	return nil
}
