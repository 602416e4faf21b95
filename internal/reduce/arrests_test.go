package reduce

import (
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// ramp is a record of 100 samples at 1 kHz from 2 s on that count themselves, of which 20 to 29 and 80 to 89 were lost; its second channel has no values.
func ramp() *drop.Trace {
	v := make([]float64, 100)
	for i := range v {
		v[i] = float64(i)
	}
	mask := drop.Mask{{From: 20, To: 30, Is: drop.Lost}, {From: 80, To: 90, Is: drop.Lost}}
	return &drop.Trace{Name: "ramp", Rate: 1000, Start: 2, Channels: []drop.Channel{{Name: "force", Values: v, Mask: mask}, {Name: "empty"}}}
}

// From 2.025 s to 2.085 s lie the samples 25 to 85, both of them; between two samples only what is inside.
func TestPartOfARecord(t *testing.T) {
	for _, c := range []struct {
		from, to    float64 // 0 = not said
		first, last float64
	}{{2.025, 2.085, 25, 85}, {2.0246, 2.0854, 25, 85}, {2.0251, 2.0849, 26, 84}, {0, 2.085, 0, 85}, {2.025, 0, 25, 99}, {1, 9, 0, 99}} {
		h := &EventsByHand{}
		if c.from > 0 {
			h.From = seconds(c.from)
		}
		if c.to > 0 {
			h.To = seconds(c.to)
		}
		cut, n, err := window(ramp(), h)
		if err != nil {
			t.Fatal(err)
		}
		v := cut.Channels[0].Values
		if v[0] != c.first || v[len(v)-1] != c.last || len(cut.Channels[1].Values) != 0 {
			t.Errorf("%+v: from %g to %g", c, v[0], v[len(v)-1])
		}
		near(t, "start", cut.Start.SI(), 2+c.first*1e-3, 1e-12, 0)
		if len(n.Warnings) != 1 || len(n.Steps) != 1 {
			t.Errorf("%+v: %+v", c, n)
		}
		for i := range v {
			number := i + int(c.first)
			if want := number/10 == 2 || number/10 == 8; (cut.Channels[0].Mask.At(i) == drop.Lost) != want {
				t.Errorf("%+v: sample %d is %v", c, number, cut.Channels[0].Mask.At(i))
			}
		}
	}
	_, n, err := window(ramp(), &EventsByHand{From: seconds(2.025), To: seconds(2.085)})
	if err != nil || !strings.Contains(n.Warnings[0], "from 2.0250 s to 2.0850 s is reduced, as a person said; the whole goes from 2.0000 s to 2.0990 s") {
		t.Errorf("%v %v", n.Warnings, err)
	}
	// Eight samples are the fewest.
	for to, ok := range map[float64]bool{2.0271: true, 2.0269: false} {
		if _, _, err := window(ramp(), &EventsByHand{From: seconds(2.02), To: seconds(to)}); (err == nil) != ok || err != nil && !strings.Contains(err.Error(), "ramp: no 8 samples lie in the part that was named; the record goes from 2.0000 s to 2.0990 s") {
			t.Errorf("to %g: %v", to, err)
		}
	}
	for from, ok := range map[float64]bool{2.0919: true, 2.0921: false} {
		if _, _, err := window(ramp(), &EventsByHand{From: seconds(from)}); (err == nil) != ok {
			t.Errorf("from %g: %v", from, err)
		}
	}
	whole := ramp()
	for _, h := range []*EventsByHand{nil, {}, {Peak: seconds(2.05)}} {
		if cut, n, err := window(whole, h); err != nil || cut != whole || n.Warnings != nil || n.Steps != nil {
			t.Errorf("%+v: %+v %v", h, n, err)
		}
	}
}

// boxes are forces in turn, each over 100 samples, the first from sample 100 on, with the gaps given between them. 80 kg at 2 m/s, g = 10: 160 N s
// beyond the weight of 800 N are one momentum, so that a force F over 0.1 s takes (F - 800)/1600 of it. Without loss a rebound flies 2 v0/g = 0.4 s,
// and what comes within 1.25 of it and 0.05 s, 0.55 s, may be one.
func boxes(gaps []int, forces ...float64) (w *told, first arrest, later []arrest) {
	x := make([]float64, 5000)
	at := 100
	var all []arrest
	for k, f := range forces {
		for i := range 100 {
			x[at+i] = f
		}
		all = append(all, arrest{from: at, to: at + 100, peakN: f})
		if k < len(gaps) {
			at += 100 + gaps[k]
		}
	}
	return eventWork(x), all[0], all[1:]
}

func TestWhichArrestIsTheDrops(t *testing.T) {
	lost := func(from, to int) func(*told) {
		return func(w *told) { w.mask = drop.Mask{{From: from, To: to, Is: drop.Lost}} }
	}
	for _, c := range []struct {
		what   string
		gaps   []int
		forces []float64
		set    func(*told)
		left   int    // later arrests that remain
		refuse string // or why it is refused
		warn   string
	}{
		{"as hard as 1.05 of the first", []int{300}, []float64{2000, 2099.9}, nil, 1, "", ""},
		{"harder", []int{300}, []float64{2000, 2100.1}, nil, 0, "a rebound cannot be harder than the first arrest", ""},
		{"harder by eight times the noise", []int{300}, []float64{2000, 2179.9}, func(w *told) { w.noiseN = 10 }, 1, "", ""},
		{"harder by more", []int{300}, []float64{2000, 2180.1}, func(w *told) { w.noiseN = 10 }, 0, "a rebound cannot be harder", ""},
		{"the first may have been harder than what was measured", []int{300}, []float64{2000, 2100.1}, lost(150, 151), 1, "", ""},
		{"something lost before it", []int{300}, []float64{2000, 2100.1}, lost(99, 100), 0, "a rebound cannot be harder", ""},
		{"without a fall no flight is known", []int{3000}, []float64{2000, 1500}, func(w *told) { w.set.Fall = 0 }, 1, "", ""},
		{"in flight for 0.55 s", []int{549}, []float64{2000, 1500}, nil, 1, "", ""},
		{"for longer, and more than half as hard", []int{551}, []float64{2000, 1001}, nil, 0, "the force is gone for 551 ms, longer than any rebound from this height flies, and then comes back: two drops in one record", ""},
		{"for longer, and half as hard", []int{551}, []float64{2000, 1000}, nil, 0, "", "the force is gone for 551 ms"},
		{"the rebound after that goes too", []int{551, 100}, []float64{2000, 900, 900}, nil, 0, "", "what comes from there on was left out"},
		{"the first rebound stays", []int{300, 551}, []float64{2000, 900, 900}, nil, 1, "", "551 ms"},
		{"harder than 1.2 of the rebound before", []int{300, 300}, []float64{2000, 800, 961}, nil, 1, "", "the force rises again to more than in the rebound before"},
		{"as hard as 1.2 of it", []int{300, 300}, []float64{2000, 800, 959}, nil, 2, "", ""},
		{"and eight times the noise", []int{300, 300}, []float64{2000, 800, 1039}, func(w *told) { w.noiseN = 10 }, 2, "", ""},
		{"and more than that", []int{300, 300}, []float64{2000, 800, 961 + 81}, func(w *told) { w.noiseN = 10 }, 0, "two drops in one record", ""},
		{"of the rebound before something was lost", []int{300, 300}, []float64{2000, 800, 961}, lost(510, 511), 2, "", ""},
		// A first that takes 4 momenta and more is a pull where the next could be the drop: 0.6 to 2.4 of one.
		{"a pull of 4.01 momenta before a drop of 0.7", []int{300}, []float64{800 + 1600*4.01, 800 + 1600*0.7}, nil, 0, "the first takes 4.0 times the momentum that the mass has, as a pull does, and the next 0.7 times, as a drop does", ""},
		{"3.99 momenta", []int{300}, []float64{800 + 1600*3.99, 800 + 1600*0.7}, nil, 1, "", ""},
		{"a next of 0.59", []int{300}, []float64{800 + 1600*4.5, 800 + 1600*0.59}, nil, 1, "", ""},
		{"a next of 0.61", []int{300}, []float64{800 + 1600*4.5, 800 + 1600*0.61}, nil, 0, "as a pull does", ""},
		{"a next of 2.39", []int{300}, []float64{800 + 1600*4.5, 800 + 1600*2.39}, nil, 0, "as a pull does", ""},
		{"a next of 2.41", []int{300}, []float64{800 + 1600*4.5, 800 + 1600*2.41}, nil, 1, "", ""},
		// Too late, half as hard at most, and yet a drop where the first is none.
		{"a late drop after a pull", []int{600}, []float64{800 + 1600*2.6, 800 + 1600*0.7}, nil, 0, "two drops in one record, or a pull before the drop", ""},
		{"a late rise after a drop", []int{600}, []float64{800 + 1600*2.3, 800 + 1600*0.7}, nil, 0, "", "is no rebound"},
		{"late, and no drop either", []int{600}, []float64{800 + 1600*2.6, 800 + 1600*0.5}, nil, 0, "", "is no rebound"},
	} {
		w, first, later := boxes(c.gaps, c.forces...)
		if c.set != nil {
			c.set(w)
		}
		left, err := w.whichArrest(&first, later)
		switch {
		case c.refuse != "":
			if err == nil || !strings.Contains(err.Error(), c.refuse) {
				t.Errorf("%s: %v", c.what, err)
			}
		case err != nil || len(left) != c.left:
			t.Errorf("%s: %d left, %v", c.what, len(left), err)
		case (c.warn == "") != (len(w.Warnings) == 0) || !strings.Contains(strings.Join(w.Warnings, "\n"), c.warn):
			t.Errorf("%s: %v", c.what, w.Warnings)
		}
	}
	// The part that is proposed begins 0.3 s before the last of them, but not before the record, and ends a second after it.
	w, first, later := boxes([]int{300}, 2000, 3000)
	if _, err := w.whichArrest(&first, later); err == nil || !strings.Contains(err.Error(), "2.000 kN at 0.1000 s, 3.000 kN at 0.5000 s") || !strings.Contains(err.Error(), "--from 0.20s --to 1.60s") {
		t.Error(err)
	}
	w.trace.Start = quantity.Duration(3)
	later[0].from, first.to = 200, 190
	if _, err := w.whichArrest(&first, later); err == nil || !strings.Contains(err.Error(), "--from 3.00s --to 4.60s") {
		t.Error(err)
	}
	if left, err := w.whichArrest(nil, later); err != nil || len(left) != 1 {
		t.Errorf("%v %v", left, err)
	}
}
