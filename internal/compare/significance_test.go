package compare

import (
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

type cellData struct {
	knot  string
	fall  quantity.Length
	held  []float64
	broke []float64
}

func cellsOf(t *testing.T, data ...cellData) []Cell {
	t.Helper()
	cells, err := Cells(entriesOf(data...), 0.95)
	if err != nil {
		t.Fatal(err)
	}
	return cells
}

// Three against three, all of one side above all of the other: 2 of the 20 splits are as extreme, p = 0.1, and no
// split of six can give less. None of 3 broke against 3 of 3: the table 0 3 | 3 0 and its mirror, 2/20 likewise.
func TestThreeAgainstThreeByHand(t *testing.T) {
	held := cellsOf(t, cellData{"overhand", 0.9, []float64{9000, 9100, 9200}, nil}, cellData{"sewn", 0.9, []float64{12000, 12100, 12200}, nil})
	k, err := Contrasts(held, Against{}, 1)
	if err != nil || len(k) != 1 {
		t.Fatal(k, err)
	}
	if p := k[0].Peak; p == nil || math.Abs(p.P-0.1) > 1e-12 || math.Abs(p.SmallestP-0.1) > 1e-12 || !p.Exact || !strings.Contains(p.Statement.String(), "could not have shown a difference") {
		t.Errorf("%+v", p)
	}
	if k[0].Break != nil || k[0].Strength != nil || len(k[0].Untested) != 2 {
		t.Errorf("a test without a single break: %+v", k[0])
	}
	broke := cellsOf(t, cellData{"overhand", 0.9, nil, []float64{9000, 9100, 9200}}, cellData{"sewn", 0.9, []float64{12000, 12100, 12200}, nil})
	k, err = Contrasts(broke, Against{}, 1)
	if err != nil {
		t.Fatal(err)
	}
	if b := k[0].Break; b == nil || math.Abs(b.P-0.1) > 1e-12 || math.Abs(b.SmallestP-0.1) > 1e-12 {
		t.Errorf("%+v", b)
	}
	if k[0].Peak != nil || k[0].Strength == nil || math.Abs(k[0].Strength.P-0.1) > 1e-12 {
		t.Errorf("%+v", k[0])
	}
}

// Two pairs of 4 against 4, every overhand broken and no sewn one: one split of 70 x 70 on either side is as
// extreme, p = 2/4900.
func TestPairsAreTestedWithinThemselves(t *testing.T) {
	nine, twelve := []float64{9000, 9100, 9200, 9300}, []float64{12000, 12100, 12200, 12300}
	cells := cellsOf(t,
		cellData{"overhand", 0.45, nil, nine}, cellData{"sewn", 0.45, twelve, nil},
		cellData{"overhand", 0.9, nil, nine}, cellData{"sewn", 0.9, twelve, nil})
	all, err := Contrasts(cells, Against{}, 1)
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range all {
		switch k.Factor {
		case "knot":
			if b := k.Break; b == nil || math.Abs(b.P-2.0/4900) > 1e-12 || b.Pairs != 2 || !strings.Contains(b.Statement.String(), "more than chance would explain") {
				t.Errorf("%+v", b)
			}
		case "fall":
			// Within each knot all ended alike, whatever the fall.
			if k.Break != nil || len(k.Untested) == 0 {
				t.Errorf("%+v %v", k.Break, k.Untested)
			}
		}
	}
}

// Holm over two tests of p = 0.01 and 0.04: 0.02 and 0.04.
func TestAdjustByHand(t *testing.T) {
	a, b := &ExactTest{P: 0.04, SmallestP: 0.001}, &ExactTest{P: 0.01, SmallestP: 0.001}
	if err := adjust("Peaks", []*ExactTest{a, b}); err != nil {
		t.Fatal(err)
	}
	if math.Abs(a.PHolm-0.04) > 1e-15 || math.Abs(b.PHolm-0.02) > 1e-15 || a.Tests != 2 || !strings.Contains(a.Statement.String(), "0.040 after Holm's adjustment over 2 tests") {
		t.Errorf("%+v %+v", a, b)
	}
}
