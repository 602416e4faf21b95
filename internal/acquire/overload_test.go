package acquire

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/traceio"
	"github.com/hardcatch/hardcatch/internal/traceio/csvtrace"
)

// whole keeps all that a source says.
type whole struct {
	keep
	last int64
}

func (k *whole) Samples(b *Block) error {
	k.last = b.First + int64(b.Len())
	return k.keep.Samples(b)
}

// A mass of 100 kg on a spring of 60 kN/m falls 1 m: F = W (1 - cos wt) + k v0/w sin wt. The amplifier ends at 8 kN and hums there by a few
// newtons, so that no two samples are equal; the device says 8000 or more for its end. Forty samples of the rise get lost on the way. Both reach
// the mask of the reduction, and the peak is a bound.
func TestOverloadAndLossReachTheMask(t *testing.T) {
	const m, g, k, v0 = 100, 9.80665, 60000, 4.428690
	w := math.Sqrt(k / m)
	force := func(s float64) float64 { return m*g*(1-math.Cos(w*s)) + k*v0/w*math.Sin(w*s) }
	x, _ := decoder(t, Description{Lines: "{counter},{force N}", Rate: 10000})
	x.d.Channels[0].Limit = 8000
	all := &whole{keep: keep{values: map[int64]float64{}}}
	x.out = all
	var text bytes.Buffer
	from, to := -1, -1 // samples beyond the end
	for i := range 30000 {
		s, f := float64(i)*1e-4-0.5, 0.0
		if s > 0 && force(s) > 0 && s < 0.2 {
			f = force(s)
		}
		if f >= 8000 {
			f = 8000 + 5*(1+math.Sin(float64(i)))
			if from < 0 {
				from = i
			}
			to = i + 1
		} else {
			f += math.Round(30*math.Sin(float64(i)*1.7)) / 10
		}
		if i >= 5100 && i < 5140 {
			continue
		}
		fmt.Fprintf(&text, "%d,%.3f\n", i, f)
		if i%100 == 99 {
			if err := x.Write(text.Bytes(), began.Add(time.Duration(i)*100*time.Microsecond)); err != nil {
				t.Fatal(err)
			}
			text.Reset()
		}
	}
	if err := x.Close(began.Add(3 * time.Second)); err != nil {
		t.Fatal(err)
	}
	d := &Drop{ID: "r-0", Description: x.d, Trigger: 5000, Ended: "time", By: "level", Values: [][]float64{make([]float64, all.last)}}
	for i := range d.Values[0] {
		v, ok := all.values[int64(i)]
		if !ok {
			v = math.NaN()
		}
		d.Values[0][i] = v
	}
	for _, e := range all.events {
		d.note(e)
	}
	csv, err := d.CSV()
	if err != nil {
		t.Fatal(err)
	}
	if want := fmt.Sprintf("# saturated: channel 1, samples %d to %d\n", from, to-1); !strings.Contains(string(csv), want) {
		t.Errorf("%q does not stand in the record:\n%s", want, csv[:800])
	}
	tr, err := csvtrace.Format{}.Read(context.Background(), "r-0.csv", bytes.NewReader(csv), traceio.Options{})
	if err != nil {
		t.Fatal(err)
	}
	mask := tr.Channels[0].Mask
	if len(mask) != 2 || mask[0].From != 5100 || mask[0].To != 5140 || mask[0].Is != drop.Lost || mask[1].From != from || mask[1].To != to || mask[1].Is != drop.Saturated || mask[1].Why != "at the end of its range, as the source said" {
		t.Errorf("%+v", mask)
	}
	r, err := reduce.Reduce(tr, reduce.Settings{Mass: m, Fall: 1, Filter: reduce.DefaultFilter, GainU: 0.005})
	if err != nil {
		t.Fatal(err)
	}
	if !r.PeakHidden || !r.LowerBound || r.Mask.Saturated < to-from || r.Mask.Lost != 40 || r.Peak > 8011 {
		t.Errorf("peak %s, hidden %v, %+v, want %d saturated at least; %v", r.Peak, r.PeakHidden, r.Mask, to-from, r.Unmeasured)
	}
}

// Beyond the events that are kept one by one, the last overload of a channel reaches on: nothing between passes for measured. A flicker within a
// block is told stretch by stretch, up to a number.
func TestManyOverloads(t *testing.T) {
	d := &Drop{Description: &Description{Channels: []Channel{{Name: "a"}, {Name: "b"}}}, Values: [][]float64{make([]float64, 5000), make([]float64, 5000)}}
	for i := range maxEvents + 20 {
		d.note(Event{Kind: Overload, Channel: "a", From: int64(5 * i), Count: 2})
	}
	d.note(Event{Kind: Overload, Channel: "b", From: 4000, Count: 3})
	d.note(Event{Kind: Garbage, From: 10, Count: 1})
	last := fmt.Sprintf("%d to %d", 5*(maxEvents-1), 5*(maxEvents+19)+1)
	if s := d.saturated("a"); !strings.HasSuffix(s, last) || !strings.HasPrefix(s, "0 to 1, 5 to 6, ") {
		t.Errorf("%q does not end with %q", s[max(0, len(s)-60):], last)
	}
	if s := d.saturated("b"); s != "4000 to 4002" {
		t.Error(s)
	}
	if len(d.Events) != maxEvents+1 || d.Left != 1 {
		t.Errorf("%d events, %d left out", len(d.Events), d.Left)
	}
	x, k := decoder(t, Description{Lines: "{counter},{force N}", Rate: 10000})
	x.d.Channels[0].Limit = 100
	var text bytes.Buffer
	for i := range 190 {
		fmt.Fprintf(&text, "%d,%d\n", i, 100*(i%2))
	}
	if err := x.Write(text.Bytes(), began); err != nil {
		t.Fatal(err)
	}
	if err := x.Close(began); err != nil {
		t.Fatal(err)
	}
	if n := len(k.events); n != mostStretches+1 || k.events[0] != (Event{Kind: Overload, At: began, From: 1, Count: 1, Channel: "force"}) || k.events[n-1].From != 2*mostStretches+1 || k.events[n-1].From+k.events[n-1].Count != 190 {
		t.Errorf("%d: %s", n, k.say())
	}
}
