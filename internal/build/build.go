// Package build says from what the running program was built, and carries the notices of what is in it.
package build

import (
	_ "embed"
	"regexp"
	"runtime"
	"runtime/debug"
)

// Notices are the licences of everything that the program contains and that others wrote.
//
//go:embed THIRD-PARTY-NOTICES
var Notices string

// Info says from what a program was built.
type Info struct {
	Commit   string `json:"commit,omitempty"`      // "" = not known
	Time     string `json:"commit_time,omitempty"` // of the commit, RFC 3339
	Modified *bool  `json:"modified,omitempty"`    // the source had changes that are in no commit; nil = not known
	Go       string `json:"go"`                    // version of the Go toolchain
	Platform string `json:"platform"`              // operating system and architecture, "linux/amd64"
}

// Read is the running program's.
func Read() Info {
	b, ok := debug.ReadBuildInfo()
	if !ok {
		b = &debug.BuildInfo{}
	}
	return read(b)
}

// pseudo is a module version that go install makes of a commit without a tag; its end is the commit.
// Source: Go Modules Reference, "Pseudo-versions".
var pseudo = regexp.MustCompile(`^v.*[-.]\d{14}-([0-9a-f]{12})$`)

func read(b *debug.BuildInfo) Info {
	i := Info{Go: runtime.Version(), Platform: runtime.GOOS + "/" + runtime.GOARCH}
	for _, s := range b.Settings {
		switch s.Key {
		case "vcs.revision":
			i.Commit = s.Value
		case "vcs.time":
			i.Time = s.Value
		case "vcs.modified":
			changed := s.Value == "true"
			i.Modified = &changed
		}
	}
	if m := pseudo.FindStringSubmatch(b.Main.Version); i.Commit == "" && m != nil {
		i.Commit = m[1]
	}
	return i
}
