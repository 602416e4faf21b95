package view

import (
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/plan"
)

// What a plan let break is held against what broke: of 4 drops that break with 0 to 0.2 % two or more do with about 6 x (0.002)^2 = 2.4e-5 at most, averaged with 0 and
// doubled 2.4e-5.
func TestPlannedBreaksAgainstCounts(t *testing.T) {
	var k counted
	for _, o := range []drop.Outcome{drop.Broke, drop.Held, drop.Slipped, drop.Broke, drop.Void, ""} {
		k.add(o)
	}
	if k != (counted{2, 4}) {
		t.Fatalf("%+v", k)
	}
	never := &plan.Forecast{Simulations: 2000, BreakLo: 0, BreakHi: 0.002}
	if w := k.against(never, "aramid").String(); !strings.HasPrefix(w, "aramid: 2 of 4 broke, where the plan's spread let 0 % to 1 % break (p = 0.000024)") {
		t.Error(w)
	}
	if w := k.against(&plan.Forecast{Simulations: 2000, BreakLo: 0.3, BreakHi: 0.34}, "aramid"); w != nil {
		t.Error(w)
	}
	if w := k.against(nil, "aramid"); w != nil {
		t.Error(w)
	}
	if w := (counted{}).against(never, "aramid"); w != nil {
		t.Error(w)
	}
}
