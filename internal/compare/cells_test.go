package compare

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

func entry(id, knot string, o drop.Outcome, peakN float64) Entry {
	return Entry{Drop: drop.Drop{ID: id, Fall: 0.9, Specimen: drop.Specimen{ID: "s" + id, Material: "polyester", Length: 0.9, Knot: knot}}, Outcome: o, Peak: quantity.Force(peakN), Expanded: 100, Audit: "agrees", Trusted: true}
}

// Held at 10, 12, 14 kN: mean 12, sd 2, t(2) = 4.303 (JCGM 100 table G.2): 12 +/- 4.303 x 2/sqrt3 = 7.031 to 16.969.
// 0 of 3 broke: Clopper-Pearson up to 0.7075982.
func TestCellByHand(t *testing.T) {
	cells, err := Cells([]Entry{entry("1", "sewn", drop.Held, 10000), entry("2", "sewn", drop.Held, 12000), entry("3", "sewn", drop.Held, 14000)}, 0.95)
	if err != nil || len(cells) != 1 {
		t.Fatal(cells, err)
	}
	c := cells[0]
	for _, v := range [][2]float64{{c.Mean.SI(), 12000}, {c.SD.SI(), 2000}, {c.Lo.SI(), 7031.7}, {c.Hi.SI(), 16968.3}, {*c.BreakLo, 0}, {*c.BreakHi, .7075982}} {
		if math.Abs(v[0]-v[1]) > 1e-4*v[1]+1e-9 {
			t.Errorf("got %v, want %v", v[0], v[1])
		}
	}
	if c.MeanIsLowerBound || !strings.Contains(c.Statement.String(), "up to 71 %") {
		t.Errorf("%v %s", c.MeanIsLowerBound, c.Statement)
	}
}

func TestBrokenPeaksAreNotAveragedIn(t *testing.T) {
	in := []Entry{
		entry("1", "sewn", drop.Held, 10000), entry("2", "sewn", drop.Held, 12000), entry("3", "sewn", drop.Broke, 20000), entry("4", "sewn", drop.Void, 1),
		entry("5", "figure-eight", drop.Broke, 9000), entry("6", "figure-eight", drop.Broke, 9400), entry("7", "figure-eight", drop.Broke, 9200),
	}
	in = append(in, Entry{Drop: drop.Drop{ID: "c1", Role: drop.Check}, Outcome: drop.Held, Peak: 99000})
	cells, err := Cells(in, 0.95)
	if err != nil || len(cells) != 2 {
		t.Fatal(cells, err)
	}
	b, a := cells[0], cells[1] // figure-eight stands before sewn
	if a.Mean.SI() != 11000 || !a.MeanIsLowerBound || a.BrokeMean.SI() != 20000 || a.N != 3 || a.Void != 1 || !a.Drops[2].LowerBound {
		t.Errorf("%+v", a)
	}
	if b.Mean != nil || b.SD != nil || b.BrokeMean.SI() != 9200 || math.Abs(*b.BreakLo-.2924018) > 1e-6 || *b.BreakHi != 1 {
		t.Errorf("%+v", b)
	}
	if !strings.Contains(b.Statement.String(), "3 of 3 broke: break probability at least 29 % (95 % confidence)") {
		t.Error(b.Statement)
	}
	if len(a.Levels) != 1 || a.Levels["knot"] != "sewn" {
		t.Errorf("levels %v: only what varies makes a cell", a.Levels)
	}
	if _, err := json.Marshal(cells); err != nil {
		t.Error(err)
	}
}

func TestThinCells(t *testing.T) {
	one, err := Cells([]Entry{entry("1", "sewn", drop.Held, 10000)}, 0.95)
	if err != nil || one[0].Mean == nil || one[0].SD != nil || one[0].Lo != nil {
		t.Errorf("%+v %v", one, err)
	}
	void, err := Cells([]Entry{entry("1", "sewn", drop.Void, 10000)}, 0.95)
	if err != nil || void[0].N != 0 || void[0].BreakLo != nil || void[0].Mean != nil || !strings.Contains(void[0].Statement.String(), "nothing can be said") {
		t.Errorf("%+v %v", void, err)
	}
	none, err := Cells(nil, 0.95)
	if err != nil || len(none) != 0 {
		t.Errorf("%+v %v", none, err)
	}
	nan := entry("1", "sewn", drop.Held, math.NaN())
	undecided := entry("2", "sewn", "", 5000)
	distrusted := entry("3", "sewn", drop.Held, 5000)
	distrusted.Trusted = false
	c, err := Cells([]Entry{nan, undecided, distrusted}, 0.95)
	if err != nil || c[0].Held != 2 || c[0].Mean.SI() != 5000 || len(c[0].Warnings) != 2 {
		t.Errorf("%+v %v", c, err)
	}
	if _, err := json.Marshal(c); err != nil {
		t.Errorf("a cell with a missing peak cannot be written: %v", err)
	}
	if _, err := Cells(nil, 95); err == nil {
		t.Error("a confidence of 95 was accepted")
	}
}

func TestCellsAreSortedBySize(t *testing.T) {
	var in []Entry
	for i, fall := range []quantity.Length{1.35, 0.45, 12, 0.9} {
		e := entry(string(rune('a'+i)), "sewn", drop.Held, 10000)
		e.Drop.Fall = fall
		in = append(in, e)
	}
	cells, err := Cells(in, 0.95)
	if err != nil || len(cells) != 4 {
		t.Fatal(cells, err)
	}
	for i, want := range []string{"450 mm", "900 mm", "1.35 m", "12.0 m"} {
		if cells[i].Levels["fall"] != want {
			t.Errorf("cell %d is %v, want %s", i, cells[i].Levels, want)
		}
	}
}

// Two falls, two knots: sewn held at both, figure-eight held at the lower and broke at the higher. Means 10 and 8
// at the lower fall: ratio 0.8 of figure-eight to sewn.
func TestLikeForLikeByHand(t *testing.T) {
	var in []Entry
	add := func(knot string, fall quantity.Length, o drop.Outcome, peaks ...float64) {
		for _, p := range peaks {
			e := entry(string(rune('a'+len(in))), knot, o, p)
			e.Drop.Fall = fall
			in = append(in, e)
		}
	}
	add("sewn", 0.45, drop.Held, 9000, 11000)
	add("sewn", 0.9, drop.Held, 14000, 15000)
	add("figure-eight", 0.45, drop.Held, 8000, 8000)
	add("figure-eight", 0.9, drop.Broke, 9000, 9500)
	add("figure-eight", 1.35, drop.Broke, 9000)
	cells, err := Cells(in, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	var knot, low, high *Contrast
	all := LikeForLike(cells, Against{})
	for i := range all {
		switch k := &all[i]; {
		case k.Factor == "knot":
			knot = k
		case k.A == "900 mm":
			low = k
		case k.A == "1.35 m":
			high = k
		}
	}
	if knot == nil || knot.Pairs != 2 || knot.BrokeA != 2 || knot.NA != 4 || knot.BrokeB != 0 || knot.RatioPairs != 1 || math.Abs(knot.Ratio.SI()-0.8) > 1e-12 {
		t.Errorf("%+v", knot)
	}
	if low == nil || low.B != "450 mm" || low.Pairs != 2 || low.BrokeA != 2 || low.BrokeB != 0 || high == nil || high.B != "450 mm" || high.Pairs != 1 || high.Ratio != nil {
		t.Errorf("%+v %+v", low, high)
	}
}
