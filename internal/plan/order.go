package plan

import (
	"fmt"

	"github.com/hardcatch/hardcatch/internal/drop"
)

// Run is one drop of the run order.
type Run struct {
	Order     int       `json:"order"` // from 1
	Drop      string    `json:"drop"`
	Specimen  string    `json:"specimen"`
	Cell      int       `json:"cell"` // number of the cell, 0 for a check drop
	Replicate int       `json:"replicate,omitempty"`
	Role      drop.Role `json:"role"`
	Day       int       `json:"day"` // from 1
	Date      string    `json:"date,omitempty"`
	Batch     string    `json:"batch,omitempty"`
	Operator  string    `json:"operator,omitempty"`
}

// block is one combination of the levels of the blocks; -1 where there is no such block.
type block struct{ day, batch, operator int }

func (p *Plan) blocks() []block {
	var out []block
	for d := range max(1, p.Days) {
		for b := range max(1, len(p.Batches)) {
			for o := range max(1, len(p.Operators)) {
				out = append(out, block{d, b, o})
			}
		}
	}
	return out
}

// Order gives every replicate of every cell a block and a place in the run order.
//
// The blocks are the crossing of days, batches and operators. A cell stands in each block floor(r/b) or
// floor(r/b)+1 times, with r replicates and b blocks, and the sizes of the blocks differ by one at most; among
// the blocks that this allows those are taken that balance the cell over days, batches and operators, and chance
// decides what is left open. Within each day the drops are in random order, whatever their batch or operator. Check
// drops stand at the start and the end of each day. The same seed gives the same order.
func (p *Plan) Order(cells []Cell) ([]Run, error) {
	if p.Replicates < 1 || p.Replicates*len(cells) > MaxDrops {
		return nil, fmt.Errorf("replicates: %d of %d cells; a plan takes from 1 replicate to %d drops", p.Replicates, len(cells), MaxDrops)
	}
	r := NewRandom(p.Seed)
	blocks := p.blocks()
	given := allot(r, blocks, len(cells), p.Replicates)
	byDay := make([][]Run, max(1, p.Days))
	wide := digits(len(cells) * p.Replicates)
	for c := range cells {
		// Which specimen of a cell goes to which block is chance too.
		shuffle(r, given[c])
		for k, b := range given[c] {
			at := blocks[b]
			n := c*p.Replicates + k + 1
			run := Run{Specimen: fmt.Sprintf("s%0*d", wide, n), Cell: cells[c].Number, Replicate: k + 1, Role: drop.Trial, Day: at.day + 1}
			if len(p.Batches) > 0 {
				run.Batch = p.Batches[at.batch]
			} else {
				run.Batch = p.Builds[cells[c].Material].Batch
			}
			if len(p.Operators) > 0 {
				run.Operator = p.Operators[at.operator]
			}
			byDay[at.day] = append(byDay[at.day], run)
		}
	}
	return p.number(r, byDay), nil
}

// number shuffles each day, puts the check drops about it, and names the drops in their order.
func (p *Plan) number(r *Random, byDay [][]Run) []Run {
	var out []Run
	check := 0
	about := func(day int) {
		if p.Check == nil {
			return
		}
		check++
		out = append(out, Run{Drop: fmt.Sprintf("c%0*d", digits(2*len(byDay)), check), Specimen: p.Check.Specimen, Role: drop.Check, Day: day + 1})
	}
	for day, runs := range byDay {
		shuffle(r, runs)
		about(day)
		out = append(out, runs...)
		about(day)
	}
	trial, wide := 0, digits(len(out))
	for i := range out {
		out[i].Order = i + 1
		if d := out[i].Day; d <= len(p.Dates) {
			out[i].Date = p.Dates[d-1]
		}
		if out[i].Role == drop.Trial {
			trial++
			out[i].Drop = fmt.Sprintf("d%0*d", wide, trial)
		}
	}
	return out
}

// digits is the width of n, two at least.
func digits(n int) int { return max(2, len(fmt.Sprint(n))) }

// allot gives every cell its blocks, one for each replicate.
func allot(r *Random, blocks []block, cells, replicates int) [][]int {
	size := make([]int, len(blocks))
	out := make([][]int, cells)
	turn := make([]int, cells)
	for i := range turn {
		turn[i] = i
	}
	shuffle(r, turn)
	chance := make([]int, len(blocks))
	for _, c := range turn {
		for i := range chance {
			chance[i] = i
		}
		shuffle(r, chance)
		in := make([]int, len(blocks))
		var days, batches, operators = map[int]int{}, map[int]int{}, map[int]int{}
		// weight counts how often the cell stands already where the block would put it.
		weight := func(b block) int { return days[b.day] + batches[b.batch] + operators[b.operator] }
		for range replicates {
			best := -1
			for _, b := range chance {
				if best < 0 || before([3]int{in[b], size[b], weight(blocks[b])}, [3]int{in[best], size[best], weight(blocks[best])}) {
					best = b
				}
			}
			in[best]++
			size[best]++
			days[blocks[best].day]++
			batches[blocks[best].batch]++
			operators[blocks[best].operator]++
			out[c] = append(out[c], best)
		}
	}
	return out
}

func before(a, b [3]int) bool {
	for i := range a {
		if a[i] != b[i] {
			return a[i] < b[i]
		}
	}
	return false
}
