// Command large writes the files of a large invented campaign: rig.yaml, drops.csv and many small records of a simulated rig, by which
// entering, comparing and printing are measured.
//
//	go run ./bench/large -drops 5000 -out FOLDER
package main

import (
	"context"
	"encoding/csv"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"

	"github.com/hardcatch/hardcatch/internal/acquire/simdev"
	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/jobs"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// rate makes a record of 3 s about 45 kB of text.
const rate = quantity.Frequency(1000)

var cell = simdev.Cell{Capacity: 50000, Sensitivity: 0.002, Curve: 0.0006, Bits: 24, Noise: 6, Hum: 4, Offset: 35, Drift: 1.5}

// kinds are what the specimens differ in: the starting set, the share of its strength that is left, and a knot.
var kinds = []struct {
	material, set, condition, knot string
	left, efficiency               float64
}{
	{"polyester", "polyester-webbing", "new", "sewn eyes", 1, 1},
	{"polyester", "polyester-webbing", "four winters", "sewn eyes", 0.45, 1},
	{"polyester", "polyester-webbing", "new", "figure-eight", 1, 0.45},
	{"aramid", "aramid-cord", "new", "sewn eyes", 1, 1},
	{"aramid", "aramid-cord", "four winters", "sewn eyes", 0.6, 1},
}

var falls = []quantity.Length{0.3, 0.45, 0.6, 0.9}

func main() {
	drops := flag.Int("drops", 5000, "how many")
	out := flag.String("out", "large", "folder to write")
	flag.Parse()
	if err := write(context.Background(), *drops, *out); err != nil {
		fmt.Fprintln(os.Stderr, "large:", err)
		os.Exit(1)
	}
}

func write(ctx context.Context, drops int, out string) error {
	if err := os.MkdirAll(filepath.Join(out, "records"), 0o755); err != nil {
		return err
	}
	demo, err := app.MakeDemoFiles(ctx, &look.Access{})
	if err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(out, "rig.yaml"), demo["rig.yaml"], 0o644); err != nil {
		return err
	}
	rows := make([][]string, drops)
	err = jobs.Local(ctx, drops, func() func(context.Context, int) error {
		return func(ctx context.Context, i int) error {
			text, err := one(ctx, i, rows)
			if err != nil {
				return err
			}
			return os.WriteFile(filepath.Join(out, "records", rows[i][9]), text, 0o644)
		}
	}, nil)
	if err != nil {
		return err
	}
	list, err := os.Create(filepath.Join(out, "drops.csv"))
	if err != nil {
		return err
	}
	w := csv.NewWriter(list)
	head := []string{"drop", "specimen", "role", "material", "length [mm]", "knot", "conditioning", "fall", "taken", "record", "scenario"}
	if err := w.WriteAll(append([][]string{head}, rows...)); err != nil {
		return err
	}
	return list.Close()
}

// one is a drop: its record, and its row of the list.
func one(ctx context.Context, i int, rows [][]string) ([]byte, error) {
	rng := rand.New(rand.NewPCG(uint64(i), 5))
	k, fall := kinds[i%len(kinds)], falls[i/len(kinds)%len(falls)]
	t, ok := arrest.StartingSet(k.set)
	if !ok {
		return nil, fmt.Errorf("there is no starting set %q", k.set)
	}
	t.Length, t.BreakRamp, t.Friction = 0.9, 0.0006, 0.25
	t.Strength *= quantity.Force(k.efficiency * (1 + 0.06*rng.NormFloat64()))
	t.Degradation = quantity.Ratio(min(1, k.left*(1+0.06*rng.NormFloat64())))
	r, err := cell.Take(ctx, simdev.Drop{
		Case: arrest.Case{Mass: 100, Fall: fall, Until: 2.5, Chain: []arrest.Element{
			{Kind: arrest.KindRig, Rig: &arrest.Rig{Stiffness: 2e6, NodeMass: 0.5, DampingRatio: 0.03}}, {Kind: arrest.KindTextile, Name: "lanyard", Textile: &t},
		}},
		Rate: rate, Before: 0.3, Seed: uint64(i),
	})
	id := fmt.Sprintf("d%05d", i+1)
	if err != nil {
		return nil, fmt.Errorf("drop %s: %w", id, err)
	}
	rows[i] = []string{id, fmt.Sprintf("s%05d", i+1), "trial", k.material, "900", k.knot, k.condition, strconv.FormatFloat(fall.SI(), 'f', -1, 64) + " m", fmt.Sprintf("2026-%02d-%02d", 3+i/250%9, 1+i/10%25), id + ".csv", "invented"}
	return r.Text(simdev.Dialect(i%simdev.Dialects), id+", invented scenario"), nil
}
