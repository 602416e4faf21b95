package csvtrace

import (
	"context"
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"
	"testing/iotest"

	"pgregory.net/rapid"

	"github.com/hardcatch/hardcatch/internal/traceio"
)

// Random values in random dialects come back bit for bit, in the unit's power of ten too, however the bytes
// arrive.
func TestValuesComeBack(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		d := rapid.SampledFrom([]struct{ sep, mark string }{{",", "."}, {";", ","}, {";", "."}, {"\t", "."}, {"\t", ","}, {" ", "."}, {"   ", ","}}).Draw(rt, "dialect")
		end := rapid.SampledFrom([]string{"\n", "\r\n", "\r"}).Draw(rt, "line end")
		quote := rapid.SampledFrom([]string{"", `"`}).Draw(rt, "quote")
		trail := rapid.Bool().Draw(rt, "trailing separator") && d.sep != " " && d.sep != "   "
		kilo := rapid.Bool().Draw(rt, "kilo")
		rate := rapid.SampledFrom([]int{50, 1000, 2000, 10000, 12500}).Draw(rt, "rate")
		values := rapid.SliceOfN(rapid.Float64Range(-1e9, 1e9), fewest, 300).Draw(rt, "values")
		style := rapid.SampledFrom([]byte{'g', 'e', 'f'}).Draw(rt, "style")

		unit, shift := "N", 0
		if kilo {
			unit, shift = "kN", 3
		}
		var b strings.Builder
		write := func(cells ...string) {
			for i, c := range cells {
				if i > 0 {
					b.WriteString(d.sep)
				}
				b.WriteString(quote + strings.ReplaceAll(c, ".", d.mark) + quote)
			}
			if trail {
				b.WriteString(d.sep)
			}
			b.WriteString(end)
		}
		write("t_s", "F_"+unit)
		want := make([]float64, len(values))
		for i, v := range values {
			text := strconv.FormatFloat(v, style, -1, 64)
			mant, exp, _ := strings.Cut(text, "e")
			e, _ := strconv.Atoi(exp)
			want[i], _ = strconv.ParseFloat(mant+"e"+strconv.Itoa(e+shift), 64)
			write(fmt.Sprintf("%.5f", float64(i)/float64(rate)), text)
		}
		tr, err := Format{}.Read(context.Background(), "x.csv", iotest.HalfReader(strings.NewReader(b.String())), traceio.Options{})
		if err != nil {
			rt.Fatalf("%v\n%s", err, b.String())
		}
		if tr.Len() != len(values) || math.Abs(tr.Rate.SI()/float64(rate)-1) > 1e-12 {
			rt.Fatalf("%d samples at %v: %v", tr.Len(), tr.Rate.SI(), tr.Findings)
		}
		for i, v := range tr.Channels[0].Values {
			if math.Float64bits(v) != math.Float64bits(want[i]) {
				rt.Fatalf("sample %d: %v, want %v", i, v, want[i])
			}
		}
	})
}

// Whatever the rate and the digits of the times, as long as two digits change between samples, the rate comes
// back within its uncertainty and nothing is left out.
func TestRatesComeBack(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		rate := rapid.Float64Range(10, 1e5).Draw(rt, "rate")
		digits := rapid.IntRange(int(math.Ceil(math.Log10(rate)))+1, 9).Draw(rt, "digits")
		start := rapid.Float64Range(-10, 1000).Draw(rt, "start")
		n := rapid.IntRange(50, 3000).Draw(rt, "n")
		var b strings.Builder
		b.WriteString("t_s,F_N\n")
		for i := range n {
			fmt.Fprintf(&b, "%.*f,%d\n", digits, start+float64(i)/rate, i*i%101)
		}
		tr, err := read(b.String(), traceio.Options{})
		if err != nil {
			rt.Fatal(err)
		}
		// Times off by up to q/2 put a least-squares slope off by up to the sum of |x| q/2 over the sum of x^2,
		// x = i - n/2: (n^2/4)(q/2)/(n^3/12) = 1.5 q/n. Rounding the rate adds as much.
		q := math.Pow(10, -float64(digits))
		u := 1e-9 + 3*q*rate/float64(n)
		if tr.Len() != n || tr.Resampled || math.Abs(tr.Rate.SI()/rate-1) > u {
			rt.Fatalf("%d of %d samples at %v (want %v within %.2g), resampled %v: %v", tr.Len(), n, tr.Rate.SI(), rate, u, tr.Resampled, tr.Findings)
		}
		for i, v := range tr.Channels[0].Values {
			if v != float64(i*i%101) {
				rt.Fatalf("sample %d is %v", i, v)
			}
		}
	})
}
