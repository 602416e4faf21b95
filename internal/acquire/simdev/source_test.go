package simdev

import (
	"math"
	"testing"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/acquiretest"
)

func TestSource(t *testing.T) {
	acquiretest.Run(t, func(t *testing.T) *acquiretest.Bench {
		d := acquiretest.Describe(t, acquire.Description{Kind: acquire.Simulated, Rate: 2000, Channels: []acquire.Channel{{Name: "force", Unit: "kN", Scale: 0.001}, {Name: "spare", Unit: "V"}}})
		return &acquiretest.Bench{Source: NewSource(d, acquire.WallClock{})}
	})
}

// Each period of the tower holds one drop: quiet before, a peak, the weight at the end of a held one, quiet again.
func TestTowerDropsAgainAndAgain(t *testing.T) {
	s, err := Tower{Rate: 2000, Drops: 3, Every: 8, Seed: 4}.Start(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	v := make([]float64, 4*16000)
	s.Read(v)
	peak := func(from, to int) (high float64) {
		for _, x := range v[from:to] {
			high = math.Max(high, x)
		}
		return high
	}
	for i := range 3 {
		at := i * 16000
		if q := peak(at, at+2000); q > 100 {
			t.Errorf("drop %d: %g N before the release", i, q)
		}
		if p := peak(at+2000, at+16000); p < 9000 {
			t.Errorf("drop %d: peak %g N", i, p)
		}
		if q := peak(at+14000, at+16000); q > 100 {
			t.Errorf("drop %d: %g N after the mass was taken off", i, q)
		}
	}
	if q := peak(3*16000, 4*16000); q > 100 {
		t.Errorf("%g N after the last drop", q)
	}
}

// By hand, nothing falls until it is let go; what is asked for meanwhile follows when the mass is off.
func TestTowerByHand(t *testing.T) {
	s, err := Tower{Rate: 2000, Drops: 2, ByHand: true, Hangs: 1.5, Seed: 4}.Start(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	read := func(n int) (high float64) {
		v := make([]float64, n)
		s.Read(v)
		for _, x := range v {
			high = math.Max(high, x)
		}
		return high
	}
	if p := read(20000); p > 100 {
		t.Errorf("%g N before anything was let go", p)
	}
	s.Release()
	s.Release()
	// 0.4 s of quiet, sqrt(2 x 0.9 m / g) = 0.43 s of fall, 1.5 s at the rope, 1.5 s of lowering: 3.83 s.
	if p := read(7000); p < 9000 {
		t.Errorf("peak %g N of the first", p)
	}
	if n, _ := s.Drop(); n != 0 {
		t.Errorf("drop %d is played", n)
	}
	if p := read(2000); p > 1000 { // at 4.5 s the second falls
		t.Errorf("%g N between the drops", p)
	}
	if n, _ := s.Drop(); n != 1 {
		t.Errorf("drop %d is played", n)
	}
	if p := read(7000); p < 9000 {
		t.Errorf("peak %g N of the second", p)
	}
	if _, more := s.Drop(); more {
		t.Error("there are more than two drops")
	}
	s.Release()
	if p := read(9000); p > 100 {
		t.Errorf("%g N after the last drop", p)
	}
}
