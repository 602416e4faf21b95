package csvtrace

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"github.com/hardcatch/hardcatch/internal/num/decimal"
)

type reporter interface {
	Helper()
	Fatalf(string, ...any)
}

// sameAsStrconv checks scan, exact and parse on a text against strconv.ParseFloat, with the bytes that
// follow in a file.
func sameAsStrconv(t reporter, text string, mark byte) {
	t.Helper()
	want, err := strconv.ParseFloat(strings.Replace(text, string(mark), ".", 1), 64)
	if err != nil && !math.IsInf(want, 0) {
		t.Fatalf("%q is no number for the standard library either", text)
	}
	if n := parse([]byte(text), mark, 0); !n.ok || math.Float64bits(n.value) != math.Float64bits(want) {
		t.Fatalf("parse %q: %v %v, want %v", text, n.value, n.ok, want)
	}
	for _, tail := range []string{";", "\n", "\r\n9999999999", "\x00"} {
		b := append([]byte(text+tail), make([]byte, pad)...)
		m, exp, neg, end := scan(b, 0, mark)
		if end < 0 {
			if len(text) <= mostDigits {
				t.Fatalf("scan gave %q up", text)
			}
			continue
		}
		if end != len(text) {
			t.Fatalf("scan %q ends at %d", text, end)
		}
		if v, ok := decimal.Exact(m, exp, neg); ok && math.Float64bits(v) != math.Float64bits(want) {
			t.Fatalf("exact %q: %v, want %v", text, v, want)
		}
	}
}

func TestNumbersAreCorrectlyRounded(t *testing.T) {
	for _, s := range []string{"0", "-0", "1", "0.1", "-12.345", "+7", ".5", "5.", "1e3", "1E-3", "1e+22", "1e23", "9007199254740993", "9007199254740992",
		"123456789012345678901234567890", "1.7976931348623157e308", "1e400", "-1e400", "4.9e-324", "2.4703282292062327e-324", "2.4703282292062328e-324", "1e-99999",
		"0.000000000000000000000000000001", "8.5e22", "1e-22", "3e-23", "12345678", "123456789", "12345678.12345678", "1234567.87654321", "9223372036854775808",
		"18446744073709551616.5", "0.30000000000000004", "000000000000000000000001.5", "9999999999999999999", "99999999999999999999", "0.0000000001", "1234567890123456.7"} {
		sameAsStrconv(t, s, '.')
		sameAsStrconv(t, strings.Replace(s, ".", ",", 1), ',')
	}
}

func TestNotNumbers(t *testing.T) {
	for _, s := range []string{"", "-", ".", "e5", "abc", "+.e3", "5e", "5e+", "1 2", "1.2.3", "1,5", "0x10", "1_000", "NaN", "inf", "5kN", "٣"} {
		if n := parse([]byte(s), '.', 0); n.ok {
			t.Errorf("%q is read as %v", s, n.value)
		}
		if _, _, _, end := scan(append([]byte(s), make([]byte, pad)...), 0, '.'); end == len(s) {
			t.Errorf("%q is scanned to its end", s)
		}
	}
}

// The power of ten of a unit is part of the one rounding: 12.345 kN are the float64 nearest to 12345 N.
func TestShiftIsPartOfTheRounding(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`-?[0-9]{1,22}(\.[0-9]{0,22})?`).Draw(t, "text")
		if rapid.Bool().Draw(t, "with exponent") {
			text += "E" + strconv.Itoa(rapid.IntRange(-300, 300).Draw(t, "e"))
		}
		shift := rapid.IntRange(-9, 9).Draw(t, "shift")
		mant, e, _ := strings.Cut(text, "E")
		given, _ := strconv.Atoi(e)
		want, _ := strconv.ParseFloat(mant+"e"+strconv.Itoa(given+shift), 64)
		if got := parse([]byte(text), '.', shift); math.Float64bits(got.value) != math.Float64bits(want) {
			t.Fatalf("%s x 10^%d: %v, want %v", text, shift, got.value, want)
		}
	})
}

func TestNumberAgainstStandardLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64().Draw(t, "v")
		for _, format := range []byte{'f', 'e', 'g'} {
			sameAsStrconv(t, strconv.FormatFloat(v, format, rapid.IntRange(-1, 25).Draw(t, "prec"), 64), '.')
		}
		sameAsStrconv(t, rapid.StringMatching(`[+-]?[0-9]{1,25}(\.[0-9]{0,25})?([eE][+-]?[0-9]{1,4})?`).Draw(t, "text"), '.')
	})
}

func FuzzNumber(f *testing.F) {
	f.Add("1.5e3", byte('.'))
	f.Add("-0,25", byte(','))
	f.Add("12345678901234567890", byte('.'))
	f.Fuzz(func(t *testing.T, s string, m byte) {
		mark := byte('.')
		if m&1 == 1 {
			mark = ','
		}
		end, _ := grammar([]byte(s), mark)
		if end > 0 {
			sameAsStrconv(t, s[:end], mark)
		}
	})
}
