package delimited

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func check(t interface {
	Helper()
	Errorf(string, ...any)
}, text string, mark byte) {
	t.Helper()
	want, err := strconv.ParseFloat(strings.Replace(text, string(mark), ".", 1), 64)
	if err != nil && !math.IsInf(want, 0) {
		return
	}
	got, next, ok := number([]byte(text+";"), 0, mark)
	if !ok || next != len(text) || math.Float64bits(got) != math.Float64bits(want) {
		t.Errorf("%q: %v (next %d, ok %v), want %v", text, got, next, ok, want)
	}
}

func TestNumbersAreCorrectlyRounded(t *testing.T) {
	for _, s := range []string{"0", "-0", "1", "0.1", "-12.345", "+7", ".5", "5.", "1e3", "1E-3", "1e+22", "1e23", "9007199254740993", "123456789012345678901234567890",
		"1.7976931348623157e308", "1e400", "4.9e-324", "2.4703282292062327e-324", "2.4703282292062328e-324", "0.000000000000000000000000000001", "8.5e22", "1e-22", "3e-23",
		"12345678.12345678", "9223372036854775808", "18446744073709551616.5", "0.30000000000000004", "000000000000000000000001.5"} {
		check(t, s, '.')
		check(t, strings.Replace(s, ".", ",", 1), ',')
	}
	for _, s := range []string{"", "-", ".", "e5", "abc", "+.e3"} {
		if v, next, ok := number([]byte(s), 0, '.'); ok || next != 0 {
			t.Errorf("%q is read as %v", s, v)
		}
	}
	if v, next, ok := number([]byte("5e;"), 0, '.'); !ok || v != 5 || next != 1 {
		t.Errorf("an e without digits is not an exponent: %v %d", v, next)
	}
}

func TestNumberAgainstStandardLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64().Draw(t, "v")
		for _, format := range []byte{'f', 'e', 'g'} {
			prec := rapid.IntRange(-1, 25).Draw(t, "prec")
			check(t, strconv.FormatFloat(v, format, prec, 64), '.')
		}
		check(t, rapid.StringMatching(`[+-]?[0-9]{1,25}(\.[0-9]{0,25})?([eE][+-]?[0-9]{1,4})?`).Draw(t, "text"), '.')
	})
}

func FuzzNumber(f *testing.F) {
	f.Add("1.5e3")
	f.Add("-0,25")
	f.Fuzz(func(t *testing.T, s string) {
		v, next, ok := number([]byte(s), 0, '.')
		if !ok {
			return
		}
		want, err := strconv.ParseFloat(s[:next], 64)
		if err != nil && !math.IsInf(want, 0) {
			t.Fatalf("%q read as %v, but the standard library refuses %q: %v", s, v, s[:next], err)
		}
		if math.Float64bits(v) != math.Float64bits(want) {
			t.Fatalf("%q: %v, want %v", s[:next], v, want)
		}
	})
}
