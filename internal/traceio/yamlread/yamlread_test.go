package yamlread

import (
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

type part struct {
	Force  quantity.Force  `yaml:"force"`
	Length quantity.Length `yaml:"length"`
}

type doc struct {
	Name  string            `yaml:"name"`
	Drops int               `yaml:"drops"`
	Share float64           `yaml:"share"`
	On    bool              `yaml:"on"`
	Seed  uint64            `yaml:"seed"`
	Parts []part            `yaml:"parts"`
	One   *part             `yaml:"one"`
	Tags  map[string]string `yaml:"tags"`
}

func TestDecode(t *testing.T) {
	var d doc
	places, err := Decode("a.yaml", strings.NewReader(`# comment
name: tower
drops: 3
share: 0.5
on: true
seed: 18446744073709551615
parts:
  - {force: 22 kN, length: 900 mm}
  - force: 5
one: {force: "1,5 kN"}
tags: {day: one}
`), &d)
	if err != nil {
		t.Fatal(err)
	}
	if d.Name != "tower" || d.Drops != 3 || d.Share != 0.5 || !d.On || d.Seed != 1<<64-1 || len(d.Parts) != 2 || d.Parts[0].Force != 22000 || d.Parts[0].Length != 0.9 || d.Parts[1].Force != 5 || d.One.Force != 1500 || d.Tags["day"] != "one" {
		t.Errorf("%+v", d)
	}
	if at := places.At("a.yaml", "parts[1].force"); at != "a.yaml:9:5" {
		t.Error(at)
	}
	if at := places.At("a.yaml", "parts[1].length"); at != "a.yaml:9:5" && at != "a.yaml:9:10" {
		t.Error(at)
	}
}

func TestRefusals(t *testing.T) {
	for text, want := range map[string]string{
		"":                                "the file is empty",
		"# nothing":                       "the file is empty",
		"name: a\nbogus: 1":               `a.yaml:2:1: key "bogus" is not known here; known are drops, name, on, one, parts, seed, share, tags`,
		"parts:\n  - {force: 5 mm}":       `a.yaml:2:13: "5 mm" is a length, but a force is wanted here`,
		"drops: many":                     `a.yaml:1:8: "many" is not a whole number`,
		"drops: 1.5":                      `a.yaml:1:8: "1.5" is not a whole number`,
		"share: .nan":                     "is not a number",
		"on: perhaps":                     "neither true nor false",
		"parts: 3":                        "a.yaml:1:8: a list is wanted here",
		"one: 3":                          "keys with values are wanted here: force, length",
		"one: {force: [1]}":               "a single value is wanted here",
		"name: a\nname: b":                "a.yaml:2:1",
		"name: &x a":                      "anchors",
		"name: [":                         "a.yaml:1:",
		"name: a\n---\nname: b":           "2 documents",
		"parts: [{force: 1 kg}, {x: 1}]":  `a.yaml:1:25: key "x" is not known`,
		"one: {force: 22 kN, length: kN}": "does not start with a number",
	} {
		var d doc
		_, err := Decode("a.yaml", strings.NewReader(text), &d)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}

func FuzzDecode(f *testing.F) {
	f.Add("name: a\nparts: [{force: 1 kN}]")
	f.Add("one: {force: [1]}")
	f.Add("? a\n: b")
	f.Fuzz(func(t *testing.T, text string) {
		var d doc
		_, _ = Decode("a.yaml", strings.NewReader(text), &d)
	})
}
