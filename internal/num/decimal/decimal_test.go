package decimal

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Against strconv.ParseFloat of the same number, bit for bit.
func TestAgainstStrconv(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.Uint64().Draw(t, "mantissa") >> rapid.IntRange(0, 63).Draw(t, "shorter")
		e := rapid.IntRange(-400, 400).Draw(t, "exponent")
		negative := rapid.Bool().Draw(t, "negative")
		text := strconv.FormatUint(m, 10)
		if negative {
			text = "-" + text
		}
		want, err := strconv.ParseFloat(text+"e"+strconv.Itoa(e), 64)
		if err != nil && !math.IsInf(want, 0) {
			t.Fatal(err)
		}
		same := func(name string, v float64) {
			if math.Float64bits(v) != math.Float64bits(want) {
				t.Fatalf("%s of %se%d is %v, want %v", name, text, e, v, want)
			}
		}
		if v, ok := Exact(m, e, negative); ok {
			same("Exact", v)
		} else if m < 1<<53 && e >= -22 && e <= 22 {
			t.Fatalf("Exact does not know %se%d", text, e)
		}
		same("Rounded", Rounded([]byte(text+"e"+strconv.Itoa(e)), '.', 0))
		shift := rapid.IntRange(-12, 12).Draw(t, "shift")
		same("Rounded with a shift", Rounded([]byte(text+"E"+strconv.Itoa(e-shift)), ',', shift))
	})
}

func TestRoundedReadsItsMark(t *testing.T) {
	if v := Rounded([]byte("1,5e3"), ',', 0); v != 1500 {
		t.Error(v)
	}
	if v := Rounded([]byte("1"+strings.Repeat("0", 400)), '.', 0); !math.IsInf(v, 1) {
		t.Error(v)
	}
	if v := Rounded([]byte("x"), '.', 0); !math.IsNaN(v) {
		t.Error(v)
	}
}

func TestExponent(t *testing.T) {
	for text, want := range map[string][2]int{"12": {12, 2}, "-7,": {-7, 2}, "+3": {3, 2}, "": {0, -1}, "-": {0, -1}, "x": {0, -1}, "123456789": {9999, 9}, "-123456789": {-9999, 10}} {
		if e, after := Exponent([]byte(text), 0); e != want[0] || after != want[1] {
			t.Errorf("%q: %d, %d, want %v", text, e, after, want)
		}
	}
}
