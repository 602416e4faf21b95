package sums

import "testing"

func TestAll(t *testing.T) {
	if over(limit) || !over(limit+1) {
		t.Error("over")
	}
	if both(true, true) || both(false, false) || !both(true, false) {
		t.Error("both")
	}
	if line(0) != 3 || line(1) != 5 {
		t.Error("line")
	}
	if back(3, 2) != -0.5 {
		t.Error("back")
	}
	if together(3, 4) != 5 {
		t.Error("together")
	}
	if l := list(3); len(l) != 3 || l[0] != 0 || l[2] != 2 {
		t.Error("list")
	}
	if total([]float64{1, -1, 2}) != 3 {
		t.Error("total")
	}
}
