package cli

import (
	"fmt"
	"slices"
	"strings"

	"github.com/hardcatch/hardcatch/internal/build"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

type versionCmd struct {
	JSON    bool `help:"Print JSON."`
	Notices bool `help:"Print the licences of everything in this program that others wrote, and where its source is."`
}

// Help is shown below the usage.
func (versionCmd) Help() string {
	return `Example: hardcatch version
Example: hardcatch version --notices > THIRD-PARTY-NOTICES`
}

// versions is what the program says of itself.
type versions struct {
	Version    string   `json:"version"`
	Reductions []string `json:"reductions"` // that it knows, the one it makes first
	build.Info
}

func versionsOf(program string) versions {
	known := reduce.KnownGenerations().Versions()
	slices.Reverse(known)
	return versions{Version: program, Reductions: known, Info: build.Read()}
}

// String is the version with everything it was made from, one line each.
func (v versions) String() string {
	commit := "not known"
	if v.Commit != "" {
		commit = v.Commit
		if v.Time != "" {
			commit += " of " + v.Time
		}
		if v.Modified != nil && *v.Modified {
			commit += ", with changes that are in no commit"
		}
	}
	return fmt.Sprintf("hardcatch %s, %s\ncommit      %s\ngo          %s\nplatform    %s", v.Version, strings.Join(v.Reductions, ", "), commit, v.Go, v.Platform)
}

// Run prints the versions of program and reductions, and what the program was built from.
func (c versionCmd) Run(a *look.Access, s *streams) error {
	switch v := versionsOf(a.Version); {
	case c.Notices:
		fmt.Fprint(s.out, build.Notices)
		return nil
	case c.JSON:
		return s.json(v)
	default:
		s.say("%s", v)
		return nil
	}
}
