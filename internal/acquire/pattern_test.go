package acquire

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"
)

func TestParseLines(t *testing.T) {
	const no = math.MaxFloat64
	for _, c := range []struct {
		pattern, line string
		tick          float64
		values        []float64 // nil: the line is garbage
		blank         uint32
	}{
		{"{counter},{force mV/V}", "17,1.25", 17, []float64{1.25}, 0},
		{"{counter},{force mV/V}", "  17 ,1.25", 0, nil, 0},
		{"{counter},{force mV/V}", " 17,  1.25 \r", 17, []float64{1.25}, 0},
		{"{counter},{force mV/V}", "17,1.25,3", 0, nil, 0},
		{"{counter},{force mV/V}", "17", 0, nil, 0},
		{"{counter},{force mV/V}", "", 0, nil, 0},
		{"{counter},{force mV/V}", "17,", 0, nil, 0},
		{"{counter},{force mV/V}", "a,1", 0, nil, 0},
		{"{time us} {ch1}", "100\t  -3", 100, []float64{-3}, 0},
		{"{time us} {ch1}", "100,-3", 0, nil, 0},
		{"#{counter};{skip};{a N};{b V}", "#9;any thing;+1e3;-.5", 9, []float64{1000, -0.5}, 0},
		{"{a} {b}", "1 2", 0, []float64{1, 2}, 0},
		{"{a hex},{b}", "fFa0,2", 0, []float64{0xffa0, 2}, 0},
		{"{a hex},{b}", "xyz,2", 0, nil, 0},
		{"{a},{b}", "OL,2", 0, []float64{math.NaN(), 2}, 1},
		{"{a},{b}", "1,-OVL", 0, []float64{1, math.NaN()}, 2},
		{"{a},{b}", "--,nan", 0, []float64{math.NaN(), math.NaN()}, 3},
		{"{a},{b}", "-,2", 0, nil, 0},
		{"F={a}N", "F=12.5N", 0, []float64{12.5}, 0},
		{"F={a}N", "F=12.5", 0, nil, 0},
		{"{counter},{time ms},{a}", "5,9.5,1", 5, []float64{1}, 0},
		{"{time ms},{counter},{a}", "9.5,5,1", 5, []float64{1}, 0},
		{"{a}", "123456789012345678901234567890", 0, []float64{123456789012345678901234567890}, 0},
		{"{a}", "1e400", 0, nil, 0},
		{"{a}", "0.1234567890123456789", 0, []float64{0.1234567890123456789}, 0},
		{"{a}", strings.Repeat("9", 80), 0, nil, 0},
	} {
		p, err := ParsePattern(c.pattern)
		if err != nil {
			t.Fatal(err)
		}
		v := []float64{no, no, no}
		tick, blank, ok := p.Parse([]byte(c.line), v)
		if ok != (c.values != nil) {
			t.Errorf("%q of %q: readable %v", c.line, c.pattern, ok)
			continue
		}
		if !ok {
			continue
		}
		for i, want := range c.values {
			if v[i] != want && !(math.IsNaN(v[i]) && math.IsNaN(want)) {
				t.Errorf("%q of %q: channel %d is %v, want %v", c.line, c.pattern, i, v[i], want)
			}
		}
		if tick != c.tick || blank != c.blank {
			t.Errorf("%q of %q: tick %v, blank %b", c.line, c.pattern, tick, blank)
		}
	}
}

func TestPatternsThatCannotBe(t *testing.T) {
	for _, bad := range []string{"", "x", "{", "{a", "{}", "{counter}", "{a}{b}", "{a}5{b}", "{a}}{b}", "{counter},{counter},{a}", "{time},{a}", "{time kg},{a}", "{counter N},{a}", "{a}x{b}"} {
		if p, err := ParsePattern(bad); err == nil {
			t.Errorf("%q was taken as %+v", bad, p)
		} else if !strings.HasPrefix(err.Error(), "lines: ") {
			t.Errorf("%q: %v", bad, err)
		}
	}
}

func TestDecimalComma(t *testing.T) {
	p, err := ParsePattern("{counter};{a}")
	if err != nil {
		t.Fatal(err)
	}
	p.comma = true
	v := make([]float64, 1)
	if tick, _, ok := p.Parse([]byte("3;-1,25"), v); !ok || tick != 3 || v[0] != -1.25 {
		t.Error(tick, v, ok)
	}
}

// Whatever comes down the line, the parser takes it or refuses it; a number it takes is the one strconv reads.
func FuzzParse(f *testing.F) {
	for _, s := range []string{"1,2", "1,2.5e-3", "-7,+.5", "9,OL", "5,1e999", "18446744073709551616,1", "1,2,3", "\x00", "1,-", "1,1.", "1,0x1p3", "4,1e", "7,1_0"} {
		f.Add([]byte(s))
	}
	p, err := ParsePattern("{counter},{a}")
	if err != nil {
		f.Fatal(err)
	}
	v := make([]float64, 1)
	f.Fuzz(func(t *testing.T, line []byte) {
		tick, blank, ok := p.Parse(line, v)
		if !ok {
			return
		}
		left, right, found := strings.Cut(string(line), ",")
		want, err := strconv.ParseFloat(strings.Trim(left, " \t\r"), 64)
		if !found || err != nil || want != tick {
			t.Fatalf("%q: counter %v", line, tick)
		}
		if blank != 0 {
			if !math.IsNaN(v[0]) {
				t.Fatalf("%q: blank with %v", line, v[0])
			}
			return
		}
		if want, err := strconv.ParseFloat(strings.Trim(right, " \t\r"), 64); err != nil || want != v[0] {
			t.Fatalf("%q: %v, want %v", line, v[0], want)
		}
	})
}

type drain struct{ samples, events int64 }

func (d *drain) Samples(b *Block) error    { d.samples += int64(b.Len()); return nil }
func (d *drain) Event(Event) error         { d.events++; return nil }
func (d *drain) Record(LoggerRecord) error { return nil }

func BenchmarkParse(b *testing.B) {
	p, err := ParsePattern("{counter},{force N}")
	if err != nil {
		b.Fatal(err)
	}
	var all [][]byte
	for i := range 1024 {
		all = append(all, fmt.Appendf(nil, "%d,%.4f", 1000000+i, 9000*math.Sin(float64(i))))
	}
	v := make([]float64, 1)
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		if _, _, ok := p.Parse(all[i&1023], v); !ok {
			b.Fatal("garbage")
		}
		i++
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "lines/s")
}

func BenchmarkDecode(b *testing.B) {
	for _, channels := range []int{1, 4} {
		b.Run(fmt.Sprintf("%d channels", channels), func(b *testing.B) {
			d := &Description{Kind: TCP, Address: "x", Rate: 50000, Lines: "{counter}"}
			for c := range channels {
				d.Lines += fmt.Sprintf(",{ch%d N}", c)
			}
			d.Modulus = 1000 // so that the same text can be sent again
			if err := d.Complete(); err != nil {
				b.Fatal(err)
			}
			var text []byte
			for i := range 1000 {
				text = strconv.AppendInt(text, int64(i), 10)
				for range channels {
					text = fmt.Appendf(text, ",%.4f", 9000*math.Sin(float64(i)))
				}
				text = append(text, '\n')
			}
			var out drain
			x, err := NewDecoder(d, &out)
			if err != nil {
				b.Fatal(err)
			}
			at := WallClock{}.Now()
			b.ReportAllocs()
			b.SetBytes(int64(len(text)))
			for b.Loop() {
				if err := x.Write(text, at); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(out.samples)/b.Elapsed().Seconds(), "lines/s")
			b.ReportMetric(float64(out.samples)*float64(channels)/b.Elapsed().Seconds(), "samples/s")
			if out.events != 0 {
				b.Fatal(out.events, " events")
			}
		})
	}
}
