package web_test

import (
	"os"
	"regexp"
	"slices"
	"testing"

	"github.com/hardcatch/hardcatch/internal/day"
)

// The page's keys are those of the terminal: no other is on it, and none is left out.
func TestKeysOfTheDay(t *testing.T) {
	t.Parallel()
	page, err := os.ReadFile("templates/live.html")
	if err != nil {
		t.Fatal(err)
	}
	script, err := os.ReadFile("assets/live.js")
	if err != nil {
		t.Fatal(err)
	}
	found := map[string]bool{}
	for _, m := range regexp.MustCompile(`data-(?:press|also)="(\w+)`).FindAllSubmatch(page, -1) {
		found[string(m[1])] = true
	}
	fields := regexp.MustCompile(`const field = \{([^}]*)\}`).FindSubmatch(script)
	if fields == nil {
		t.Fatal("live.js names no keys of fields")
	}
	for _, m := range regexp.MustCompile(`(\w+): "`).FindAllSubmatch(fields[1], -1) {
		found[string(m[1])] = true
	}
	known := []string{"p"} // photos are attached on the page of a drop, which a terminal has not
	for _, k := range day.Keys() {
		for _, name := range []string{k.Key, k.Also} {
			if name == "" {
				continue
			}
			known = append(known, name)
			if !found[name] {
				t.Errorf("the page has no key %s, which is to %s", name, k.Does)
			}
		}
	}
	for name := range found {
		if !slices.Contains(known, name) {
			t.Errorf("the page has the key %s, which the terminal does not know", name)
		}
	}
}
