package decimal

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"
)

// Every power of the table, and products and quotients by it, as strconv has them; one power more on either side, and one mantissa more, are not known.
func TestPowersAndTheirEnds(t *testing.T) {
	for n := 0; n <= 22; n++ {
		want, err := strconv.ParseFloat("1e"+strconv.Itoa(n), 64)
		if err != nil || Pow10(n) != want {
			t.Errorf("10^%d: %g, %v", n, Pow10(n), err)
		}
	}
	for _, m := range []uint64{0, 1, 3, 1<<53 - 1} {
		for e := -22; e <= 22; e++ {
			want, err := strconv.ParseFloat(fmt.Sprintf("-%de%d", m, e), 64)
			if err != nil {
				t.Fatal(err)
			}
			if v, ok := Exact(m, e, true); !ok || math.Float64bits(v) != math.Float64bits(want) {
				t.Errorf("-%de%d: %g, %v", m, e, v, ok)
			}
		}
		for _, e := range []int{-23, 23} {
			if v, ok := Exact(m, e, false); ok || v != 0 {
				t.Errorf("%de%d: %g, %v", m, e, v, ok)
			}
		}
	}
	for _, m := range []uint64{1 << 53, 1<<53 + 1, math.MaxUint64} {
		if v, ok := Exact(m, 0, false); ok || v != 0 {
			t.Errorf("%d: %g, %v", m, v, ok)
		}
	}
	for text, want := range map[string][2]int{"9998": {9998, 4}, "9999": {9999, 4}, "10000": {9999, 5}, "99990": {9999, 5}, "7:": {7, 1}, "09": {9, 2}} {
		if e, after := Exponent([]byte(text), 0); e != want[0] || after != want[1] {
			t.Errorf("%q: %d, %d, want %v", text, e, after, want)
		}
	}
}

// Numbers without an exponent are shifted too, exponents beyond every number overflow or vanish with their sign, and no letter but e or E begins one.
func TestRoundedAtItsEnds(t *testing.T) {
	huge := strings.Repeat("9", 30)
	for _, c := range []struct {
		text  string
		shift int
		want  float64
	}{
		{"15", 2, 1500}, {"1.5", -1, 0.15}, {"15E-1", 1, 15}, {"1e" + huge, 1, math.Inf(1)}, {"-1e" + huge, -1, math.Inf(-1)}, {"1e-" + huge, 1, 0}, {"123e-" + huge, -3, 0},
		{"-1" + strings.Repeat("0", 400), 0, math.Inf(-1)}, {"1d5", 1, math.NaN()}, {"1" + strings.Repeat("0", 70), -70, 1},
	} {
		if v := Rounded([]byte(c.text), '.', c.shift); v != c.want && !(math.IsNaN(v) && math.IsNaN(c.want)) {
			t.Errorf("%.20s shifted by %d: %g, want %g", c.text, c.shift, v, c.want)
		}
	}
}
