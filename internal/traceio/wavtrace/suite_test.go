package wavtrace_test

import (
	"bytes"
	"context"
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/traceio"
	"github.com/hardcatch/hardcatch/internal/traceio/traceiotest"
	"github.com/hardcatch/hardcatch/internal/traceio/wav/wavtest"
	"github.com/hardcatch/hardcatch/internal/traceio/wavtrace"
)

func waves(channels, n int, top float64) []float64 {
	var s []float64
	for i := range n {
		for c := range channels {
			s = append(s, math.Round(top*math.Sin(float64(i)/50)/float64(c+1)))
		}
	}
	return s
}

// The suite is mandatory because it holds what the rest of the program takes for granted of every format.
func TestSuite(t *testing.T) {
	kN := traceio.Options{Reading: traceio.Reading{FullScale: "50 kN"}}
	traceiotest.Run(t, wavtrace.Format{},
		traceiotest.Example{Name: "short.wav", Data: wavtest.File{Channels: 1, Rate: 8000, Bits: 16}.Bytes(waves(1, 300, 30000)), Options: kN, Rate: 8000, Samples: 300, Channels: []string{"channel 1"}},
		traceiotest.Example{Name: "long.wav", Data: wavtest.File{Channels: 2, Rate: 96000, Bits: 24, Extensible: true}.Bytes(waves(2, 20000, 8e6)), Rate: 96000, Samples: 20000, Channels: []string{"channel 1", "channel 2"}},
		traceiotest.Example{Name: "float.wav", Data: wavtest.File{Channels: 1, Rate: 8000, Bits: 64, Float: true}.Bytes(waves(1, 200, 9000)), Options: traceio.Options{Reading: traceio.Reading{ForceUnit: "N"}}, Rate: 8000, Samples: 200, Channels: []string{"channel 1"}},
	)
}

func read(data []byte, o traceio.Options) (*drop.Trace, error) {
	return wavtrace.Format{}.Read(context.Background(), "x.wav", bytes.NewReader(data), o)
}

func finding(tr *drop.Trace, kind string) (found drop.Finding, n int) {
	for _, f := range tr.Findings {
		if f.Kind == kind {
			found = f
			n++
		}
	}
	return found, n
}

func TestUnits(t *testing.T) {
	data := wavtest.File{Channels: 2, Rate: 8000, Bits: 16}.Bytes([]float64{0, 0, 16384, -8192}) // shares 0.5 and -0.25
	for _, c := range []struct {
		o                   traceio.Options
		unit, kind, finding string
		dim                 quantity.Dim
		first, second       float64
	}{
		{traceio.Options{}, "share of full scale", "counts", "no-unit", quantity.Dim{}, 0.5, -0.25},
		{traceio.Options{Reading: traceio.Reading{FullScale: "50 kN"}}, "kN", "", "", quantity.DimForce, 25000, -12500},
		{traceio.Options{Reading: traceio.Reading{FullScale: "2 mV/V"}}, "mV/V", "ratio", "", quantity.DimRatio, 0.001, -0.0005},
		{traceio.Options{Reading: traceio.Reading{FullScale: "10 gn"}}, "gn", "acceleration", "", quantity.DimAcceleration, 49.03325, -24.516625},
		{traceio.Options{Reading: traceio.Reading{FullScale: "10 gn", Mass: 100}}, "gn", "acceleration", traceio.AcceleratedKind, quantity.DimForce, 4903.325, -2451.6625},
		{traceio.Options{Reading: traceio.Reading{ForceUnit: "kg"}}, "kg", "", "mass-unit", quantity.DimForce, 4.903325, -0.25},
		{traceio.Options{Reading: traceio.Reading{Units: map[string]string{"channel 1": "kN", "2": "V"}}}, "kN", "", "", quantity.DimForce, 500, -0.25},
	} {
		tr, err := read(data, c.o)
		if err != nil {
			t.Errorf("%+v: %v", c.o, err)
			continue
		}
		a := tr.Channels[0]
		if a.Unit != c.unit || a.Kind != c.kind || a.Dim != c.dim || math.Abs(a.Values[1]-c.first) > 1e-12*math.Abs(c.first) || math.Abs(tr.Channels[1].Values[1]-c.second) > 1e-12*math.Abs(c.second) {
			t.Errorf("%+v: %+v, %v", c.o, a, tr.Channels[1].Values)
		}
		if _, n := finding(tr, c.finding); n == 0 && c.finding != "" || c.finding == "" && len(tr.Findings) != 0 {
			t.Errorf("%+v: findings %v", c.o, tr.Findings)
		}
	}
	for want, o := range map[string]traceio.Reading{
		"is no number with a unit": {FullScale: "50"}, "full scale \"-5 V\"": {FullScale: "-5 V"}, "has a unit already": {FullScale: "5 V", ForceUnit: "N"},
		"the unit \"furlong\"": {ForceUnit: "furlong"}, "leave the rate out": {Rate: 9000},
	} {
		if _, err := read(data, traceio.Options{Reading: o}); err == nil || !strings.Contains(err.Error(), want) || !strings.HasPrefix(err.Error(), "x.wav: ") {
			t.Errorf("%+v: %v", o, err)
		}
	}
}

func TestDoubtIsSaid(t *testing.T) {
	s := make([]float64, 40)
	s[10], s[11], s[12], s[20] = 32767, 32767, 32767, -32768
	data := wavtest.File{Channels: 1, Rate: 8000, Bits: 16}.Bytes(s)
	tr, err := read(data[:len(data)-7], traceio.Options{Reading: traceio.Reading{FullScale: "50 kN"}})
	if err != nil {
		t.Fatal(err)
	}
	if f, n := finding(tr, "clipped"); n != 1 || f.Grade != drop.Fault || f.From != 10 || f.To != 13 || f.Count != 2 || f.Place != "x.wav, sample 10" {
		t.Errorf("clipped: %+v", tr.Findings)
	}
	if f, n := finding(tr, "unfinished"); n != 1 || f.Grade != drop.Warning || f.Fact != "the file says that it holds 40 samples and ends after 36" || tr.Len() != 36 {
		t.Errorf("unfinished: %+v", tr.Findings)
	}
	tr, err = read(wavtest.File{Channels: 1, Rate: 8000, Bits: 64, Float: true}.Bytes([]float64{1, math.NaN(), math.Inf(1), 1e308, 2}), traceio.Options{Reading: traceio.Reading{ForceUnit: "kN"}})
	if err != nil {
		t.Fatal(err)
	}
	if f, n := finding(tr, "no-number"); n != 1 || f.Grade != drop.Fault || f.From != 1 || f.To != 4 || f.Count != 1 {
		t.Errorf("no number: %+v", tr.Findings)
	}
	if err := traceiotest.Check(tr); err != nil {
		t.Error(err)
	}
	if _, err := read(wavtest.File{Channels: 1, Rate: 8000, Bits: 16, After: wavtest.Chunk("LIST", make([]byte, 8))}.Bytes(nil), traceio.Options{}); err == nil || !strings.Contains(err.Error(), "no samples") {
		t.Errorf("an empty file: %v", err)
	}
}

func TestOnlyTheChannelWantedKeepsItsValues(t *testing.T) {
	s := waves(2, 100, 30000)
	s[21] = 32767 // of channel 2
	o := traceio.Options{Reading: traceio.Reading{FullScale: "50 kN"}, Keep: func(c []drop.Channel) int {
		if len(c) != 2 || c[0].Unit != "kN" || c[0].Values != nil {
			t.Errorf("%+v", c)
		}
		return 0
	}}
	tr, err := read(wavtest.File{Channels: 2, Rate: 8000, Bits: 16}.Bytes(s), o)
	if err != nil || len(tr.Channels[0].Values) != 100 || tr.Channels[1].Values != nil {
		t.Fatalf("%v %v", tr, err)
	}
	if f, n := finding(tr, "clipped"); n != 1 || f.From != 10 {
		t.Errorf("the other channel is not checked: %v", tr.Findings)
	}
}

// FuzzRead: whatever the bytes, there is an error or a trace that does not contradict itself.
func FuzzRead(f *testing.F) {
	for _, x := range []wavtest.File{{Channels: 1, Rate: 8000, Bits: 16}, {Channels: 2, Rate: 96000, Bits: 24, Extensible: true}, {Channels: 1, Rate: 8000, Bits: 64, Float: true}} {
		f.Add(x.Bytes(waves(x.Channels, 20, 100)), byte(0))
		f.Add(x.Bytes(waves(x.Channels, 20, 100)), byte(7))
	}
	f.Fuzz(func(t *testing.T, data []byte, hints byte) {
		o := traceio.Options{MaxSamples: 1 << 16}
		if hints&1 != 0 {
			o.FullScale = "1e30 N"
		}
		if hints&2 != 0 {
			o.Channel = "2"
		}
		if hints&4 != 0 {
			o.Mass = 80
		}
		tr, err := read(data, o)
		if err != nil {
			if tr != nil || !strings.HasPrefix(err.Error(), "x.wav: ") {
				t.Errorf("%v %v", tr, err)
			}
			return
		}
		if err := traceiotest.Check(tr); err != nil {
			t.Error(err)
		}
	})
}
