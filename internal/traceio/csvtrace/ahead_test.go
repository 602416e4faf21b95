package csvtrace

import (
	"bytes"
	"context"
	"fmt"
	"math/rand/v2"
	"reflect"
	"runtime"
	"strconv"
	"testing"

	"github.com/hardcatch/hardcatch/internal/traceio"
)

// A record read on two cores is the same as one read on one, findings with their lines included: rows of other kinds
// anywhere, times whose digits grow late, times of day, short rows that overfill what another core may hold.
func TestTwoCoresReadTheSame(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(2))
	rng := rand.New(rand.NewPCG(3, 1))
	const rows = 60000
	long := func(line func(i int) string) []byte {
		b := []byte("time [s];force [N]\n")
		for i := range rows {
			b = append(b, line(i)...)
		}
		return b
	}
	plain := func(i int) string { return fmt.Sprintf("%.5f;%.1f\n", float64(i)/1e4, 100*rng.Float64()) }
	cases := map[string][]byte{
		"plain": long(plain),
		"odd rows": long(func(i int) string {
			switch rng.IntN(900) {
			case 0:
				return plain(i) + "\n# a remark\n"
			case 1:
				return fmt.Sprintf("%.5f\n", float64(i)/1e4)
			case 2:
				return fmt.Sprintf("%.5f;overload\n", float64(i)/1e4)
			case 3:
				return fmt.Sprintf("%.5f;\"12.5\"\n", float64(i)/1e4)
			}
			return plain(i)
		}),
		"digits grow": long(func(i int) string {
			return strconv.FormatFloat(float64(i/40000*(i-40000))/1e5+float64(i)/1e3, 'g', -1, 64) + ";5.5\n"
		}),
		// One row among those that the other core reads has more digits: all times must then be held to them.
		"one finer row": long(func(i int) string {
			if i == 15000 {
				return fmt.Sprintf("%.6f;105.5\n", float64(i)*0.00125)
			}
			return fmt.Sprintf("%.3f;105.5\n", float64(i)*0.00125)
		}),
		"clock": long(func(i int) string { return fmt.Sprintf("10:%02d:%06.3f;1.5\n", i/60000, float64(i%60000)/1e3) }),
		"short rows after long": long(func(i int) string {
			if i < 3000 {
				return fmt.Sprintf("%.5f;1000000.00000000000\n", float64(i)/1e4)
			}
			return fmt.Sprintf("%.4f;1\n", float64(i)/1e4)
		}),
	}
	for name, text := range cases {
		one, errOne := Format{}.Read(context.Background(), "r.csv", bytes.NewReader(text), traceio.Options{})
		two, errTwo := Format{}.Read(context.Background(), "r.csv", bytes.NewReader(text), traceio.Options{Size: int64(len(text))})
		if fmt.Sprint(errOne) != fmt.Sprint(errTwo) {
			t.Errorf("%s: %v on one core, %v on two", name, errOne, errTwo)
			continue
		}
		if one == nil || one.Len() < rows/2 {
			t.Errorf("%s: %v", name, errOne)
			continue
		}
		for c := range one.Channels {
			// Missing values are not equal to themselves.
			if a, b := fmt.Sprint(one.Channels[c].Values), fmt.Sprint(two.Channels[c].Values); a != b {
				t.Errorf("%s: channel %d differs", name, c)
			}
			one.Channels[c].Values, two.Channels[c].Values = nil, nil
		}
		if !reflect.DeepEqual(one, two) {
			t.Errorf("%s:\n%+v\n%+v", name, one, two)
		}
	}
}
