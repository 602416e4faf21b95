package reduce

import (
	"math"
	"reflect"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/dsp"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

func TestFill(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		x, want []float64
		bad     int
	}{
		{[]float64{1, nan, nan, 4}, []float64{1, 2, 3, 4}, 2},
		{[]float64{nan, nan, 4, 5}, []float64{4, 4, 4, 5}, 2},
		{[]float64{1, 3, inf, nan}, []float64{1, 3, 3, 3}, 2},
		{[]float64{1, -inf, 2, nan, 6}, []float64{1, 1.5, 2, 4, 6}, 2},
		{[]float64{math.MaxFloat64, 1}, []float64{math.MaxFloat64, 1}, 0},
	} {
		if bad := fill(c.x); bad != c.bad || !reflect.DeepEqual(c.x, c.want) {
			t.Errorf("%v (%d), want %v (%d)", c.x, bad, c.want, c.bad)
		}
	}
	if x := []float64{nan, nan}; fill(x) != 2 {
		t.Error(x)
	}
}

// A spike is bridged from 4 % of the span on, and from 20 times the noise on: 10 kN of span, 400 N; noise 1.0484 * 30, 629 N.
func TestGlitchLimits(t *testing.T) {
	at := func(spike, noise float64) *told {
		w := bare()
		w.forceN = make([]float64, 1000)
		for i := range w.forceN {
			w.forceN[i] = noise * float64(i%2)
			if i > 600 {
				w.forceN[i] = 5000 * (1 - math.Cos(math.Pi*float64(i-600)/200))
			}
		}
		w.forceN[300] += spike
		w.glitch = w.spikes(w.forceN, dsp.FindExtremes(w.forceN))
		w.mask = w.bridgeSpikes(w.forceN, nil, w.glitch)
		return w
	}
	for _, c := range []struct {
		spike, noise float64
		bridged      bool
	}{{399, 0, false}, {401, 0, true}, {20*30*1.04839 - 31, 30, false}, {20*30*1.04839 + 31, 30, true}} {
		w := at(c.spike, c.noise)
		if (len(w.glitch) == 1) != c.bridged || c.bridged != (w.forceN[300] < 60) {
			t.Errorf("%+v: %v, %g", c, w.glitch, w.forceN[300])
		}
	}
	w := at(30000, 0)
	if !strings.Contains(w.Warnings[0], "30.0 kN over 1 sample(s) at 0.3000 s") || len(w.mask) != 1 || w.forceN[300] != 0 {
		t.Errorf("%v %+v", w.Warnings, w.mask)
	}
}

func TestWhichChannel(t *testing.T) {
	counts := &Calibration{Data: drop.CalibrationData{Input: "counts"}}
	volts := &Calibration{Data: drop.CalibrationData{Input: "V"}, Unit: quantity.Unit{Dim: quantity.DimVoltage}}
	ratio := &Calibration{Data: drop.CalibrationData{Input: "mV/V"}, Unit: quantity.Unit{Dim: quantity.DimRatio}}
	force := drop.Channel{Name: "F", Dim: quantity.DimForce}
	second := drop.Channel{Name: "F2", Dim: quantity.DimForce}
	v, n, bare, r := drop.Channel{Name: "V", Dim: quantity.DimVoltage}, drop.Channel{Name: "N", Kind: "counts"}, drop.Channel{Name: "X", Kind: "unitless"}, drop.Channel{Name: "R", Kind: "ratio"}
	for _, c := range []struct {
		channels []drop.Channel
		named    string
		cal      *Calibration
		want     int
	}{
		{[]drop.Channel{v, force, second}, "", nil, 1},
		{[]drop.Channel{force, v, v}, "", volts, 1}, // what the certificate is for comes first
		{[]drop.Channel{force, n}, "", volts, 0},
		{[]drop.Channel{force, n, n}, "", counts, 1},
		{[]drop.Channel{v, n}, "", nil, -1},
		{[]drop.Channel{n}, "", ratio, -1},
		{[]drop.Channel{bare}, "", ratio, -1},
		{[]drop.Channel{r}, "", ratio, 0},
		{[]drop.Channel{r}, "", counts, -1},
		{[]drop.Channel{force, second}, "f2", nil, 1},
		{[]drop.Channel{force, v}, "V", nil, -1},
		{[]drop.Channel{force, v}, "V", volts, 1},
		{[]drop.Channel{force}, "G", nil, -1},
		{nil, "", nil, -1},
	} {
		if got, err := channel(c.channels, Settings{Channel: c.named}, c.cal); got != c.want || (err != nil) != (c.want < 0) {
			t.Errorf("%v, named %q: %d (%v), want %d", c.channels, c.named, got, err, c.want)
		}
	}
}
