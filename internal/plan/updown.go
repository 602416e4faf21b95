package plan

import (
	"fmt"
	"math"
	"slices"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// UpDownDrop is one drop of an up-and-down series, on a specimen of its own.
type UpDownDrop struct {
	Height   quantity.Length // or slack
	Broke    bool
	Specimen string // may be empty
	Line     int    // of the list it was read from, 0 = none
}

// Outcome is the drop's outcome in the words of the trade.
func (d UpDownDrop) Outcome() drop.Outcome {
	if d.Broke {
		return drop.Broke
	}
	return drop.Held
}

// NextHeight is the rule of the up-and-down method: a step up after a drop that held, a step down after one that
// broke. A height of 0 or less cannot be dropped: then the last height is repeated and floor is true. Source: Dixon
// and Mood, J. Am. Stat. Assoc. 43 (1948) 109-126.
func NextHeight(last UpDownDrop, step quantity.Length) (next quantity.Length, floor bool) {
	if !last.Broke {
		return last.Height + step, false
	}
	next = last.Height - step
	if next <= step*gridTolerance {
		return last.Height, true
	}
	return next, false
}

// gridTolerance is how far a height may lie off the grid of equal steps, as a share of the step. Common practice, no
// source: heights are set with a tape.
const gridTolerance = 0.05

// UpDown is an up-and-down series on a grid of steps.
type UpDown struct {
	Drops []UpDownDrop // in the order they were made
	Step  quantity.Length
	Given bool  // Step was given, not found from the heights
	Equal bool  // all heights lie on the grid and each drop is at most one step from the one before
	Grid  []int // steps of each drop above the lowest; nil unless the heights lie on the grid
	// Astray are the drops, counted from 1, whose height is not the one that the rule gives.
	Astray    []int
	Held      int
	Broke     int
	Reversals int // changes of outcome from one drop to the next
}

// NewUpDown orders what a series is. step 0 takes the middle one of the changes of height. An error says what is missing.
func NewUpDown(drops []UpDownDrop, step quantity.Length) (*UpDown, error) {
	u := &UpDown{Drops: drops, Step: step, Given: step != 0}
	if len(drops) == 0 {
		return nil, fmt.Errorf("there is no drop yet; begin at the height at which you expect half to break")
	}
	if math.IsNaN(step.SI()) || math.IsInf(step.SI(), 0) || step < 0 {
		return nil, fmt.Errorf("a step of %s: the step is a height above 0", step)
	}
	for i, d := range drops {
		if h := d.Height.SI(); !(h > 0) || math.IsInf(h, 0) {
			return nil, fmt.Errorf("drop %d: a height of %s is no drop; heights lie above 0", i+1, d.Height)
		}
		if d.Broke {
			u.Broke++
		} else {
			u.Held++
		}
		if i > 0 && d.Broke != drops[i-1].Broke {
			u.Reversals++
		}
	}
	if step == 0 {
		if u.Step = middleStep(drops); u.Step == 0 {
			return nil, fmt.Errorf("the height never changed, so that the step is not known; give it with --step")
		}
	}
	u.grid()
	return u, nil
}

// middleStep is the median of the changes of height, 0 when there are none.
func middleStep(drops []UpDownDrop) quantity.Length {
	var steps []quantity.Length
	for i := 1; i < len(drops); i++ {
		if d := drops[i].Height - drops[i-1].Height; math.Abs(d.SI()) > 1e-9*drops[i].Height.SI() {
			steps = append(steps, quantity.Length(math.Abs(d.SI())))
		}
	}
	if len(steps) == 0 {
		return 0
	}
	slices.Sort(steps)
	return steps[len(steps)/2]
}

func (u *UpDown) grid() {
	lowest := u.Drops[0].Height
	for _, d := range u.Drops {
		lowest = min(lowest, d.Height)
	}
	u.Equal = true
	for i, d := range u.Drops {
		at := (d.Height - lowest).SI() / u.Step.SI()
		u.Grid = append(u.Grid, int(math.Round(at)))
		off := math.Abs(at - math.Round(at))
		if i > 0 {
			want, _ := NextHeight(u.Drops[i-1], u.Step)
			if math.Abs((d.Height - want).SI()) > 2*gridTolerance*u.Step.SI() {
				u.Astray = append(u.Astray, i+1)
			}
		}
		u.Equal = u.Equal && off <= gridTolerance
	}
	if !u.Equal {
		u.Grid = nil
		return
	}
	for i := 1; i < len(u.Grid); i++ {
		if d := u.Grid[i] - u.Grid[i-1]; d > 1 || d < -1 {
			u.Equal = false
		}
	}
}

// Range is the least and the greatest height that was dropped.
func (u *UpDown) Range() (least, most quantity.Length) {
	least, most = u.Drops[0].Height, u.Drops[0].Height
	for _, d := range u.Drops {
		least, most = min(least, d.Height), max(most, d.Height)
	}
	return least, most
}

// Next is the height of the next drop.
func (u *UpDown) Next() (next quantity.Length, floor bool) {
	return NextHeight(u.Drops[len(u.Drops)-1], u.Step)
}
