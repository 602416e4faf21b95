package rehearsal

import (
	"context"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire"
)

func play(t *testing.T, s Settings, n int) (*Player, [][]string) {
	t.Helper()
	p, err := NewPlayer(t.Context(), s)
	if err != nil {
		t.Fatal(err)
	}
	var rows [][]string
	for _, line := range strings.Split(strings.TrimSpace(string(p.Append(nil, n, false))), "\r\n") {
		rows = append(rows, strings.Split(line, ","))
	}
	return p, rows
}

func TestFaults(t *testing.T) {
	plain := Settings{Rate: 2000, Channels: 2, Every: 8, Seed: 5}
	_, clean := play(t, plain, 8000)
	if len(clean) != 8000 || len(clean[0]) != 3 || clean[7999][0] != "7999" {
		t.Fatalf("%d lines, first %v", len(clean), clean[0])
	}
	top := func(rows [][]string) (high float64) {
		for _, r := range rows {
			v, err := strconv.ParseFloat(r[1], 64)
			if err != nil {
				t.Fatal(err)
			}
			high = max(high, v)
		}
		return high
	}
	if h := top(clean); h < 9000 {
		t.Errorf("peak %g N", h)
	}
	s := plain
	s.Saturate = 9000
	if _, rows := play(t, s, 8000); top(rows) > 9000 || top(rows) < 8990 {
		t.Errorf("peak %g N at a range of 9 kN", top(rows))
	}
	s = plain
	s.Drift = 50
	_, rows := play(t, s, 2000)
	a, _ := strconv.ParseFloat(clean[1990][1], 64)
	if b, _ := strconv.ParseFloat(rows[1990][1], 64); b-a < 49.7 || b-a > 49.8 { // 50 N/s x 0.995 s
		t.Errorf("drifted by %g N", b-a)
	}
	s = plain
	s.Lose, s.Garbage = 0.1, 0.1
	p, rows := play(t, s, 8000)
	g := int64(0)
	for _, r := range rows {
		if strings.Contains(strings.Join(r, ","), "?") {
			g++
		}
	}
	if k := p.Tally(); k.Samples != 8000 || k.Sent != int64(len(rows)) || k.Lost+k.Sent != 8000 || k.Garbage != g || k.Lost < 700 || k.Lost > 900 || g < 600 || g > 850 {
		t.Errorf("%+v with %d lines, %d damaged", k, len(rows), g)
	}
}

func TestSettingsThatCannotBePlayed(t *testing.T) {
	good := Settings{Rate: 1000, Channels: 1, Every: 8}
	for name, alter := range map[string]func(*Settings){
		"rate": func(s *Settings) { s.Rate = 60000 }, "no rate": func(s *Settings) { s.Rate = 0 }, "channels": func(s *Settings) { s.Channels = 0 },
		"lose": func(s *Settings) { s.Lose = 1.5 }, "reconnect": func(s *Settings) { s.Reconnect = 1 }, "every": func(s *Settings) { s.Every = 2 },
	} {
		s := good
		alter(&s)
		if _, err := NewPlayer(t.Context(), s); err == nil {
			t.Errorf("%s: %+v is played", name, s)
		}
	}
}

// stepped is a clock that only Sleep moves.
type stepped struct{ now time.Time }

func (c *stepped) Now() time.Time { return c.now }
func (c *stepped) Sleep(ctx context.Context, d time.Duration) error {
	c.now = c.now.Add(d)
	return ctx.Err()
}
func (c *stepped) Tick(time.Duration) (<-chan time.Time, func()) { return nil, func() {} }

// sink is an outlet that counts.
type sink struct{ lines, cuts int }

func (*sink) Kind() acquire.Kind          { return acquire.TCP }
func (*sink) Address() string             { return "nowhere:1" }
func (*sink) Topic() string               { return "" }
func (*sink) Ready(context.Context) error { return nil }
func (o *sink) Cut() error                { o.cuts++; return nil }
func (*sink) Close() error                { return nil }
func (o *sink) Write(b []byte) (int, error) {
	o.lines += strings.Count(string(b), "\n")
	return len(b), nil
}

// Two drops of 8 s at 1 kHz with a cut of one second every 5 s: three cuts, at 5, 10 and 15 s.
func TestRun(t *testing.T) {
	set := Settings{Rate: 1000, Channels: 1, Drops: 2, Every: 8, Reconnect: 5}
	p, err := NewPlayer(t.Context(), set)
	if err != nil {
		t.Fatal(err)
	}
	o := &sink{}
	k, err := Run(t.Context(), p, o, &stepped{time.Unix(0, 0)})
	if err != nil || o.cuts != 3 || k.Cuts != 3 || k.Drops != 2 || k.Samples < 16000 || k.Samples > 16100 || k.Cut < 2900 || k.Cut > 3100 || int64(o.lines) != k.Sent || k.Sent+k.Cut != k.Samples {
		t.Errorf("%+v, %d cuts, %d lines, %v", k, o.cuts, o.lines, err)
	}
	if y := set.YAML(o); !strings.Contains(y, "kind: tcp") || !strings.Contains(y, "Invented") {
		t.Error(y)
	}
}
