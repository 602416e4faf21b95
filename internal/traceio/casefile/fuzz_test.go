package casefile

import (
	"strings"
	"testing"
)

// FuzzRead: whatever the bytes, a case, its spread and its chain are read or refused with the place.
func FuzzRead(f *testing.F) {
	for _, s := range []string{whole, whole + "spread:\n  textile.E1: {normal: 10 %}\n", "mass: 1e400 kg\nfall: 1 m\n", "chain:\n  - textile: {length: 1 m, material: aramid}\n  - knot: {}\n", "chain: [[[[]]]]"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		_, err := Read("c.yaml", strings.NewReader(text))
		_, err2 := ReadPlan("c.yaml", strings.NewReader(text))
		_, _, err3 := ReadChain("c.yaml", strings.NewReader(text))
		for _, err := range []error{err, err2, err3} {
			if err != nil && !strings.HasPrefix(err.Error(), "c.yaml") {
				t.Fatalf("%v", err)
			}
		}
	})
}
