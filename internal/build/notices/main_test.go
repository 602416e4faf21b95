package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// The notices in the program are those of what it is linked from now.
func TestNoticesAreUpToDate(t *testing.T) {
	top := filepath.Join("..", "..", "..")
	want, err := Notices(top)
	if err != nil {
		t.Fatal(err)
	}
	got, err := os.ReadFile(filepath.Join(top, File))
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(bytes.ReplaceAll(got, []byte("\r\n"), []byte("\n")), want) {
		t.Errorf("%s does not fit what the program is linked from; run go run ./internal/build/notices and read what changed", File)
	}
	// What only tests need is no part of the program; what a folder carries under its own licence is.
	for _, no := range []string{"chromedp", "go-internal", "pgregory.net/rapid", "go-cmp"} {
		if bytes.Contains(want, []byte("\n"+no)) || bytes.Contains(want, []byte("/"+no)) {
			t.Errorf("%s is needed by tests only and is listed", no)
		}
	}
	for _, yes := range []string{"github.com/eclipse/paho.mqtt.golang v", "    licence  EPL-2.0 OR BSD-3-Clause", "uplot 1.", "golang.org/x/sys v", "Go, LICENSE", "THIRD_PARTY_LICENSES/Cephes-LICENSE", "github.com/charmbracelet/x/windows v"} {
		if !bytes.Contains(want, []byte(yes)) {
			t.Errorf("%q is missing", yes)
		}
	}
}

// Phrases as in the texts that the Open Source Initiative publishes.
func TestLicencesAreTold(t *testing.T) {
	for text, want := range map[string]string{
		"Permission is hereby granted, free of charge,\n   to any person obtaining a copy of this software":       "MIT",
		"Redistribution and use in source and binary forms, with or without modification, are permitted provided": "BSD-2-Clause",
		"Redistribution and use in source and binary forms, with or without modification, are permitted provided that ... Neither the name of the copyright holder nor the names of its contributors may be used to endorse or promote products derived from this software without specific prior written permission.": "BSD-3-Clause",
		"Eclipse Public License - v 2.0 THE ACCOMPANYING PROGRAM":                                         "EPL-2.0",
		"                              Apache License\n                        Version 2.0, January 2004": "Apache-2.0",
	} {
		m := part{name: "x", files: map[string]string{"LICENSE": text}}
		if got, err := m.licence(); err != nil || got != want {
			t.Errorf("%q: %q %v, want %s", text, got, err, want)
		}
	}
	m := part{name: "x", version: "v1", files: map[string]string{"LICENSE": "All rights reserved."}}
	if got, err := m.licence(); err == nil || !strings.Contains(err.Error(), "x v1") {
		t.Errorf("%q %v", got, err)
	}
	m.files = map[string]string{"LICENSE": "by MIT or by", "sub/LICENSE": "Permission is hereby granted, free of charge, to any person obtaining a copy"}
	if got, err := m.licence(); err == nil {
		t.Errorf("the licence of a folder, %s, stands for the whole", got)
	}
}

// A file of others among ours needs its licence and its version.
func TestAssetsNeedTheirLicence(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "chart-LICENSE.txt"), []byte("Permission is hereby granted, free of charge, to any person obtaining a copy"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		files []string
		fails bool
		parts int
	}{
		{[]string{"chart-1.2.3.min.js", "chart-LICENSE.txt", "ours.js", "page.css"}, false, 1},
		{[]string{"chart-1.2.3.min.js"}, true, 0},
		{[]string{"other-1.2.3.min.js", "chart-LICENSE.txt"}, true, 0},
		{[]string{"chart.min.js", "chart-LICENSE.txt"}, true, 0},
		{[]string{"letters.woff2"}, true, 0},
		{[]string{"ours.js"}, false, 0},
	} {
		parts := map[string]*part{}
		err := assets(parts, listed{Dir: dir, ImportPath: "x", EmbedFiles: c.files})
		if (err != nil) != c.fails || len(parts) != c.parts {
			t.Errorf("%v: %v, %d parts", c.files, err, len(parts))
		}
		if p := parts["chart"]; p != nil && p.version != "1.2.3" {
			t.Errorf("version %s", p.version)
		}
	}
}
