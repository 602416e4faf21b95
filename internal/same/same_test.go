package same

import (
	"runtime"
	"strings"
	"testing"
)

func TestSame(t *testing.T) {
	kept := `{"a": 1.5, "b": [1, {"c": 0.1}], "s": "x", "t": true, "n": null}`
	for _, c := range []struct {
		found string
		rel   float64
		want  string // "" = the same
	}{
		{kept, 0, ""},
		{`{"a": 15e-1, "b": [1.0, {"c": 1e-1}], "s": "x", "t": true, "n": null}`, 0, ""}, // the same numbers, written otherwise
		{`{"b": [1, {"c": 0.1}], "a": 1.5, "s": "x", "t": true, "n": null}`, 0, `: expected names in the order ["a" "b" "s" "t" "n"], found ["b" "a" "s" "t" "n"]`},
		{strings.Replace(kept, "1.5", "1.5000000000000002", 1), 0, "a: expected 1.5, found 1.5000000000000002"},
		{strings.Replace(kept, "1.5", "1.5000000000000002", 1), 1e-12, ""},
		{strings.Replace(kept, "1.5", "1.500000000002", 1), 1e-12, "a: expected 1.5, found 1.500000000002"},          // 1.33e-12 off
		{strings.Replace(kept, "0.1", "0.10000000000011", 1), 1e-12, "b[1].c: expected 0.1, found 0.10000000000011"}, // 1.1e-13, allowed 1.01e-13
		{strings.Replace(kept, "1.5", "1.500000000001", 1), 1e-12, ""},                                               // 0.67e-12 off
		{strings.Replace(kept, `"x"`, `"x 12.5"`, 1), 1e-7, `s: expected "x", found "x 12.5"`},
		{strings.Replace(kept, "1.5", `"1.5"`, 1), 0, `a: expected 1.5, found "1.5"`},
		{strings.Replace(kept, "0.1", "0.2", 1), 0, "b[1].c: expected 0.1, found 0.2"},
		{strings.Replace(kept, "0.1", "-0.1", 1), 0, "b[1].c: expected 0.1, found -0.1"},
		{strings.Replace(kept, `[1, `, `[1, 2, `, 1), 0, "b: expected a list of 2, found a list of 3"},
		{strings.Replace(kept, `"s": "x", `, ``, 1), 0, `s: expected "x", found nothing`},
		{strings.Replace(kept, `"s": "x"`, `"s": "x", "new": 3`, 1), 0, `new: expected nothing, found 3`},
		{strings.Replace(kept, `"x"`, `"y"`, 1), 0, `s: expected "x", found "y"`},
		{strings.Replace(kept, `"x"`, `[]`, 1), 0, `s: expected "x", found a list of 0`},
		{strings.Replace(kept, `"x"`, `{}`, 1), 0, `s: expected "x", found an object of 0 names`},
		{strings.Replace(kept, `true`, `false`, 1), 0, `t: expected true, found false`},
		{strings.Replace(kept, `null`, `0`, 1), 0, `n: expected nothing, found 0`},
		{strings.Replace(kept, `{"c": 0.1}`, `7`, 1), 0, `b[1]: expected an object of 1 names, found 7`},
	} {
		r, err := JSON([]byte(kept), []byte(c.found), c.rel)
		if err != nil {
			t.Fatal(err)
		}
		got := ""
		for _, d := range r.Differ {
			got += d.String()
		}
		if got != c.want {
			t.Errorf("%s: %q, want %q", c.found, got, c.want)
		}
	}
	if r, _ := JSON([]byte(kept), []byte(kept), 0); r.Numbers != 3 || r.Texts != 2 {
		t.Errorf("%+v", r)
	}
	// A zero below zero has other bits than zero.
	if r, _ := JSON([]byte("0"), []byte("-0"), 0); len(r.Differ) != 1 {
		t.Errorf("%+v", r)
	}
	// A number within a text is rounded, and may fall the other way where numbers may lie off.
	if r, _ := JSON([]byte(`"in 1.33 s"`), []byte(`"in 1.32 s"`), 1e-7); len(r.Differ) != 0 {
		t.Errorf("%+v", r)
	}
	if r, _ := JSON([]byte(`"in 1.33 s"`), []byte(`"in 1.32 s"`), 0); len(r.Differ) != 1 {
		t.Errorf("%+v", r)
	}
	for _, bad := range []string{"", "{", "[1", "1 2", `{"a"}`} {
		if _, err := JSON([]byte(bad), []byte("1"), 0); err == nil || !strings.Contains(err.Error(), "kept") {
			t.Errorf("%q: %v", bad, err)
		}
		if _, err := JSON([]byte("1"), []byte(bad), 0); err == nil || !strings.Contains(err.Error(), "found") {
			t.Errorf("%q: %v", bad, err)
		}
	}
}

func TestTolerance(t *testing.T) {
	// fused is 0 where the product is rounded before the sum: (1+e)(1-e) rounds to 1.
	e := 1.0 / (1 << 30)
	a, b, c := 1+e, 1-e, -1.0
	if runtime.NumCPU() < 0 { // so that the compiler cannot know the values
		a, b, c = 0, 0, 0
	}
	fused := a*b + c
	if (fused == 0) != (Tolerance() == 0) {
		t.Errorf("a*b + c is %g, yet the tolerance is %g", fused, Tolerance())
	}
}

// Machines round alike when kind and fusing are the same, whatever compiler; the words name what differs.
func TestMachines(t *testing.T) {
	a := Machine{"amd64", true, "go1.26.8"}
	for _, c := range []struct {
		m     Machine
		alike bool
		words string
	}{{a, true, "amd64, go1.26.8"}, {Machine{"amd64", true, "go1.25.0"}, true, "amd64, go1.25.0"}, {Machine{"amd64", false, "go1.26.8"}, false, "amd64 (fused), go1.26.8"}, {Machine{"arm64", false, "go1.26.8"}, false, "arm64, go1.26.8"}} {
		if got := a.RoundsAs(c.m); got != c.alike || c.m.String() != c.words {
			t.Errorf("%s: %v", c.m, got)
		}
	}
	if h := Here(); !h.RoundsAs(Here()) || h.Arch == "" || h.Go == "" || h.Exact != (Tolerance() == 0) {
		t.Errorf("%+v", h)
	}
}
