package web_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"io/fs"
	"math"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strconv"
	"testing"
	"testing/fstest"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/web"
)

// pulses are records of a half-sine arrest that ends at rest, small enough to make many of them.
type pulses struct {
	peak    map[string]float64 // N, by file name
	rate    int                // Hz
	seconds float64
}

func (p pulses) Open(name string) (fs.File, error) {
	data, err := p.ReadFile(name)
	if err != nil {
		return nil, err
	}
	return fstest.MapFS{name: {Data: data}}.Open(name)
}

func (p pulses) ReadFile(name string) ([]byte, error) {
	peak, ok := p.peak[name]
	if !ok {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	var b bytes.Buffer
	b.WriteString("time [s],force [N]\n")
	var line []byte
	for i := range int(p.seconds * float64(p.rate)) {
		t := float64(i) / float64(p.rate)
		f := 3 * math.Sin(1e4*t*t) // stands for noise, the same each time
		if at := (t - 0.3) / 0.08; at > 0 && at < 1 {
			f += peak * math.Sin(math.Pi*at)
		}
		if t > 0.3+0.08+0.4 {
			f += 981 * (1 - math.Exp(-(t-0.78)/0.05))
		}
		line = strconv.AppendFloat(line[:0], t, 'f', 6, 64)
		line = append(line, ',')
		line = strconv.AppendFloat(line, f, 'f', 1, 64)
		b.Write(append(line, '\n'))
	}
	return b.Bytes(), nil
}

// campaignOf makes a campaign of n drops in 50 cells.
func campaignOf(b *testing.B, n int, records pulses) string {
	b.Helper()
	a := newApp()
	ctx := context.Background()
	path := filepath.Join(b.TempDir(), "large.hardcatch")
	st, err := a.Files.Create(ctx, path, store.Campaign{Name: "large (invented)", Question: "how fast are the pages?", Invented: true})
	if err != nil {
		b.Fatal(err)
	}
	if _, err := st.SetRig(ctx, drop.Rig{Name: "rig", Mass: 100}); err != nil {
		b.Fatal(err)
	}
	if err := st.Close(); err != nil {
		b.Fatal(err)
	}
	var list bytes.Buffer
	w := csv.NewWriter(&list)
	rows := [][]string{{"drop", "specimen", "material", "knot", "conditioning", "length", "fall", "record", "taken"}}
	records.peak = map[string]float64{}
	for i := range n {
		name := fmt.Sprintf("r%03d.csv", i)
		records.peak[name] = 8000 + 37*float64(i%100)
		rows = append(rows, []string{fmt.Sprintf("d%03d", i+1), fmt.Sprintf("s%03d", i+1), []string{"polyamide", "polyester", "aramid", "HMPE", "blend"}[i%5], []string{"sewn", "overhand", "figure-eight", "girth", "bowline"}[i/5%5], []string{"new", "wet"}[i/25%2], "0.9 m", "0.9 m", name, "2026-11-25"})
	}
	if err := w.WriteAll(rows); err != nil {
		b.Fatal(err)
	}
	res, err := app.Enter(ctx, a, path, "drops.csv", &list, records, app.EnterOptions{Filter: reduce.DefaultFilter})
	if err != nil || res.Reduced != n {
		b.Fatal(err, res)
	}
	return path
}

// BenchmarkPage makes pages of a campaign of 500 drops: "warm" as somebody looks at one page after another, "changed"
// the first page after a decision, when everything that hangs on the head of the logbook is worked out again.
func BenchmarkPage(b *testing.B) {
	s := start(b, campaignOf(b, 500, pulses{rate: 2000, seconds: 1.5}))
	get := func(b *testing.B, path string) {
		res, err := http.Get(s.url + path)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := io.Copy(io.Discard, res.Body); err != nil || res.StatusCode != 200 {
			b.Fatal(path, res.StatusCode, err)
		}
		if err := res.Body.Close(); err != nil {
			b.Fatal(err)
		}
	}
	for _, path := range []string{"/", "/drops", "/drops/d250", "/cells/7", "/comparison", "/checks", "/limits", "/model", "/map", "/rig", "/logbook", "/report", "/help", "/api/comparison", "/api/drops", "/api/results"} {
		b.Run("warm"+path, func(b *testing.B) {
			get(b, path)
			for b.Loop() {
				get(b, path)
			}
		})
	}
	for _, path := range []string{"/", "/drops", "/drops/d250", "/cells/7", "/comparison", "/checks", "/map", "/logbook"} {
		b.Run("changed"+path, func(b *testing.B) {
			for b.Loop() {
				b.StopTimer()
				if _, err := app.Decide(context.Background(), s.app, s.path, drop.Decision{Drop: "d007", Outcome: drop.Held, Reason: "looked at", By: "bench"}); err != nil {
					b.Fatal(err)
				}
				b.StartTimer()
				get(b, path)
			}
		})
	}
}

// BenchmarkTrace gives stretches of a record of a million samples: "first" reads and reduces it, "next" is what
// zoom and pan ask for, "page" is the page of its drop that nobody has looked at, and "drawing" what the page then shows of the record.
func BenchmarkTrace(b *testing.B) {
	path := campaignOf(b, 1, pulses{rate: 250000, seconds: 4})
	a := newApp()
	ctx := context.Background()
	open := func() *look.Campaign {
		s, err := a.Open(ctx, path)
		if err != nil {
			b.Fatal(err)
		}
		return s
	}
	window := func(s *look.Campaign) {
		w, err := s.Window(ctx, "d001", 0, 0, 2000)
		if err != nil || w.Samples != 1e6 {
			b.Fatal(err)
		}
		if _, err := w.Raw.MarshalJSON(); err != nil {
			b.Fatal(err)
		}
	}
	b.Run("first", func(b *testing.B) {
		for b.Loop() {
			s := open()
			window(s)
			if err := s.Close(); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("next", func(b *testing.B) {
		s := open()
		window(s)
		for b.Loop() {
			window(s)
		}
		if err := s.Close(); err != nil {
			b.Fatal(err)
		}
	})
	asked := func(b *testing.B, path, want string) {
		for b.Loop() {
			b.StopTimer()
			s := open()
			srv, err := web.New(a, s, web.Options{})
			if err != nil {
				b.Fatal(err)
			}
			server := httptest.NewServer(srv.Handler())
			b.StartTimer()
			res, err := server.Client().Get(server.URL + path)
			if err != nil {
				b.Fatal(err)
			}
			text, err := io.ReadAll(res.Body)
			b.StopTimer()
			if err != nil || res.StatusCode != http.StatusOK || !bytes.Contains(text, []byte(want)) {
				b.Fatal(res.StatusCode, err)
			}
			if err := res.Body.Close(); err != nil {
				b.Fatal(err)
			}
			server.Close()
			if err := s.Close(); err != nil {
				b.Fatal(err)
			}
			b.StartTimer()
		}
	}
	b.Run("page", func(b *testing.B) { asked(b, "/drops/d001", "loop.svg") })
	b.Run("drawing", func(b *testing.B) { asked(b, "/drops/d001/drawings/loop.svg", "<svg") })
}
