package compare

import (
	"math"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Others at 10, 12 and 14 kN: mean 12, sd 2, t(2) = 4.303 (JCGM 100 table G.2), so that the interval is
// 12 +/- 4.303 x 2 x sqrt(4/3) = 12 +/- 9.937 kN.
func TestStandByHand(t *testing.T) {
	others := []quantity.Force{10000, 12000, 14000}
	for _, c := range []struct {
		peak    quantity.Force
		rank    int
		outside bool
		text    string
	}{
		{13000, 2, false, "2nd highest of 4"}, {21900, 1, false, "highest of 4"}, {21950, 1, true, "OUTLIER"}, {2000, 4, true, "lowest of 4"}, {2100, 4, false, "no outlier"},
	} {
		s, err := StandingOf(c.peak, others, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		if s.Rank != c.rank || s.Outside != c.outside || s.Others != 3 || !strings.Contains(s.Text.String(), c.text) {
			t.Errorf("%v: %+v", c.peak, s)
		}
		if math.Abs(s.Lo.SI()-2063) > 1.5 || math.Abs(s.Hi.SI()-21937) > 1.5 {
			t.Errorf("interval %v to %v", s.Lo, s.Hi)
		}
	}
}

func TestStandAmongFew(t *testing.T) {
	none, err := StandingOf(9000, nil, 0.95)
	if err != nil || none.Lo != nil || none.Outside || !strings.Contains(none.Text.String(), "first of its cell") {
		t.Errorf("%+v %v", none, err)
	}
	one, err := StandingOf(9000, []quantity.Force{90}, 0.95)
	if err != nil || one.Lo != nil || one.Outside || !strings.Contains(one.Text.String(), "cannot be told") {
		t.Errorf("%+v %v", one, err)
	}
	if _, err := StandingOf(9000, nil, 1); err == nil {
		t.Error("a confidence of 1 was taken")
	}
}

func TestPlace(t *testing.T) {
	for rank, want := range map[int]string{1: "highest", 2: "2nd highest", 3: "3rd highest", 11: "11th highest", 13: "13th highest", 22: "22nd highest", 111: "111th highest", 40: "40th highest", 200: "lowest"} {
		if got := RankWords(rank, 200); got.String() != want {
			t.Errorf("%d: %s", rank, got)
		}
	}
}

// The cell that FindCell finds is the one that Cells makes.
func TestPeersAreTheCell(t *testing.T) {
	in := []Entry{
		entry("1", "sewn", drop.Held, 10000), entry("2", "figure-eight", drop.Held, 12000), entry("3", "sewn", drop.Broke, 20000),
		{Drop: drop.Drop{ID: "c1", Role: drop.Check, Fall: 3}, Outcome: drop.Held, Peak: 99000}, entry("4", "sewn", drop.Void, 1), entry("5", "", drop.Held, 9000),
	}
	var drops []drop.Drop
	for _, e := range in {
		drops = append(drops, e.Drop)
	}
	levels, of := FindCell(drops, in[2].Drop)
	if len(of) != 3 || of[0] != 0 || of[1] != 2 || of[2] != 4 || levels["knot"] != "sewn" || len(levels) != 1 {
		t.Fatalf("%v %v", levels, of)
	}
	one, err := OneCell(levels, []Entry{in[0], in[2], in[4]}, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	cells, err := Cells(in, 0.95)
	if err != nil || len(cells) != 3 {
		t.Fatal(cells, err)
	}
	for _, c := range cells {
		if c.Key() == one.Key() && (!c.Statement.Equal(one.Statement) || c.N != one.N) {
			t.Errorf("%+v and %+v", c, one)
		}
	}
	// A drop that is not among them, or was entered otherwise before, counts as it is now.
	if _, of := FindCell(drops, entry("9", "figure-eight", drop.Held, 1).Drop); len(of) != 1 || of[0] != 1 {
		t.Errorf("a new drop: %v", of)
	}
	if _, of := FindCell(drops, entry("1", "figure-eight", drop.Held, 1).Drop); len(of) != 2 || of[0] != 0 {
		t.Errorf("a corrected drop: %v", of)
	}
	if l, of := FindCell(drops, in[3].Drop); l != nil || of != nil {
		t.Errorf("a check drop: %v %v", l, of)
	}
}

// Planned drops make cells, are counted, and are neither warned of nor counted as drops.
func TestPlannedDrops(t *testing.T) {
	planned := entry("2", "figure-eight", "", math.NaN())
	planned.Planned = true
	cells, err := Cells([]Entry{entry("1", "sewn", drop.Held, 10000), planned}, 0.95)
	if err != nil || len(cells) != 2 {
		t.Fatal(cells, err)
	}
	c := cells[0]
	if c.Planned != 1 || c.N != 0 || len(c.Drops) != 0 || len(c.Warnings) != 0 || c.Statement.String() != "No drop counts yet: nothing can be said. 1 more planned." {
		t.Errorf("%+v", c)
	}
	if cells[1].Planned != 0 || cells[1].N != 1 {
		t.Errorf("%+v", cells[1])
	}
	if len(LikeForLike(cells, Against{})) != 0 {
		t.Error("a planned cell was compared")
	}
}
