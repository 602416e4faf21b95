package build

import (
	"runtime/debug"
	"strings"
	"testing"
)

func settings(pairs ...string) *debug.BuildInfo {
	b := &debug.BuildInfo{}
	for i := 0; i < len(pairs); i += 2 {
		b.Settings = append(b.Settings, debug.BuildSetting{Key: pairs[i], Value: pairs[i+1]})
	}
	return b
}

func TestInfo(t *testing.T) {
	i := read(settings("vcs.revision", "98305b7f", "vcs.time", "2026-03-02T10:00:00Z", "vcs.modified", "true"))
	if i.Commit != "98305b7f" || i.Time != "2026-03-02T10:00:00Z" || i.Modified == nil || !*i.Modified || !strings.HasPrefix(i.Go, "go") && !strings.HasPrefix(i.Go, "devel") || !strings.Contains(i.Platform, "/") {
		t.Errorf("%+v", i)
	}
	if i := read(settings("vcs.revision", "98305b7f", "vcs.modified", "false")); i.Modified == nil || *i.Modified {
		t.Error("a clean checkout counts as changed")
	}
	if i := read(&debug.BuildInfo{}); i.Commit != "" || i.Modified != nil {
		t.Errorf("%+v out of nothing", i)
	}
}

// Versions as the Go Modules Reference shows them under "Pseudo-versions".
func TestCommitOfAModuleVersion(t *testing.T) {
	for version, want := range map[string]string{
		"v0.0.0-20191109021931-daa7c04131f5":       "daa7c04131f5",
		"v1.2.4-0.20191109021931-daa7c04131f5":     "daa7c04131f5",
		"v1.2.3-pre.0.20191109021931-daa7c04131f5": "daa7c04131f5",
		"v0.1.0":                            "",
		"(devel)":                           "",
		"v0.1.0-2019110902193-daa7c04131f5": "",
		"v0.0.0-20191109021931-daa7c04131f5+changed": "",
	} {
		b := &debug.BuildInfo{}
		b.Main.Version = version
		if got := read(b).Commit; got != want {
			t.Errorf("%s: commit %q, want %q", version, got, want)
		}
	}
	b := settings("vcs.revision", "aaaa")
	b.Main.Version = "v0.0.0-20191109021931-daa7c04131f5"
	if got := read(b).Commit; got != "aaaa" {
		t.Errorf("the checkout says aaaa, not %s", got)
	}
}
