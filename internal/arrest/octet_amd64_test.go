//go:build !purego

package arrest

import (
	"testing"

	"pgregory.net/rapid"
)

// Four lanes at a time give what eight at a time give, to the last bit.
func TestLanesOfEveryWidthAgree(t *testing.T) {
	if !wideWorks {
		return // there is one width only
	}
	defer func() { wideWorks = true }()
	cases := make([]Case, 64)
	wide, narrow := make([]Summary, len(cases)), make([]Summary, len(cases))
	for i := range cases {
		cases[i] = rapid.Custom(drawFull).Example(i)
	}
	var e Engine
	if err := e.Batch(cases, wide); err != nil {
		t.Fatal(err)
	}
	wideWorks = false
	if err := e.Batch(cases, narrow); err != nil {
		t.Fatal(err)
	}
	for i := range cases {
		if wide[i] != narrow[i] {
			t.Errorf("case %d: %+v\n%+v", i, wide[i], narrow[i])
		}
	}
}
