package view

import (
	"math"
	"slices"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/limits"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// LimitVerdict is how the next specimen of a cell stands to a limit, beside the highest valid peak of the cell; of a campaign, the worst of its cells.
type LimitVerdict struct {
	limits.Limit
	limits.Judgement
	Drop     string         `json:"drop"`   // of the highest peak
	Peak     quantity.Force `json:"peak_N"` // the highest
	Expanded quantity.Force `json:"u_N"`
	// LowerBound tells that specimens let go or records were cut off: the arrest force is at least Peak.
	LowerBound bool `json:"lower_bound"`
	// Cell is the number, from 1, of the cell of which a campaign's verdict is; 0 in a cell's own list.
	Cell int `json:"cell,omitempty"`
}

// Highest is the verdict that carries the highest valid peak, nil when there is none.
func (r *Results) Highest() *LimitVerdict {
	for i := range r.Limits {
		if r.Limits[i].Verdict != limits.BrokeBelow {
			return &r.Limits[i]
		}
	}
	return nil
}

// judge holds the next specimen of a cell against each limit that bears on its drops. Each specimen counts once for what the next one does; a peak that was seen
// counts in any case. A specimen that parted below its own rating is said.
func judge(rows []compare.Row, drops map[string]drop.Drop) []LimitVerdict {
	out := []LimitVerdict{}
	rows = slices.DeleteFunc(slices.Clone(rows), func(r compare.Row) bool { return r.Peak == nil || r.Outcome == drop.Void || r.Outcome == "" })
	if len(rows) == 0 {
		return out
	}
	of := map[limits.Limit][]compare.Row{}
	var order []limits.Limit
	for _, r := range rows {
		for _, l := range limits.For(drops[r.Drop]) {
			if of[l] == nil {
				order = append(order, l)
			}
			of[l] = append(of[l], r)
		}
	}
	slices.SortStableFunc(order, func(a, b limits.Limit) int { // what only some of them have comes last
		return map[bool]int{false: 1}[len(of[a]) == len(rows)] - map[bool]int{false: 1}[len(of[b]) == len(rows)]
	})
	top := highest(rows)
	bound := slices.ContainsFunc(rows, func(r compare.Row) bool { return r.LowerBound })
	all := sampleOf(rows)
	for _, l := range order {
		s := all
		if len(of[l]) < len(rows) { // those of one rating or diameter
			s = sampleOf(of[l])
		}
		v := LimitVerdict{Limit: l, Judgement: s.Judge(l.Value), Drop: top.Drop, Peak: *top.Peak, Expanded: *top.Expanded, LowerBound: bound}
		if again := sampleOf(dropAgain(of[l])); v.Verdict != limits.Exceeds && again.Judge(l.Value).Verdict == limits.Exceeds {
			v.Judgement = again.Judge(l.Value)
		}
		if below := brokeBelow(of[l], l); below != nil {
			v.Verdict, v.MoreDrops = limits.BrokeBelow, nil
			v.Text = message.Say("a specimen parted below it, at %s", quantity.WithU(*below.Peak, *below.Expanded))
			v.Drop, v.Peak, v.Expanded, v.LowerBound = below.Drop, *below.Peak, *below.Expanded, true
		}
		out = append(out, v)
	}
	return out
}

// sampleOf are the specimens of some drops as they enter a judgement.
func sampleOf(rows []compare.Row) *limits.Sample {
	var peaks []limits.Peak
	for _, r := range rows {
		if lo, hi, u, ok := r.Range(); ok {
			peaks = append(peaks, limits.Peak{Lo: lo, Hi: hi, Expanded: u})
		}
	}
	s, err := limits.NewSample(peaks, limits.Usual())
	if err != nil {
		panic(err) // the usual rule is one
	}
	return s
}

// dropAgain are the drops of specimens that count already, as if they counted: what was seen of them was seen.
func dropAgain(rows []compare.Row) []compare.Row {
	var out []compare.Row
	for _, r := range rows {
		if r.Again {
			r.Again = false
			out = append(out, r)
		}
	}
	return out
}

// highest is the drop of the highest peak.
func highest(rows []compare.Row) compare.Row {
	return slices.MaxFunc(rows, func(a, b compare.Row) int {
		switch x, y := highEnd(&a), highEnd(&b); {
		case x > y:
			return 1
		case x < y:
			return -1
		}
		return 0
	})
}

// highEnd is how high a peak may be by its record: the upper end where the top was rebuilt.
func highEnd(r *compare.Row) quantity.Force {
	if r.Rebuilt != nil {
		return max(r.Rebuilt[1], *r.Peak)
	}
	return *r.Peak
}

// brokeBelow is the weakest specimen that parted below its own rating l, nil when none did or l is no rating.
func brokeBelow(rows []compare.Row, l limits.Limit) *compare.Row {
	var out *compare.Row
	for i := range rows {
		r := &rows[i]
		if l.Name == limits.Rating && r.Outcome == drop.Broke && *r.Peak+*r.Expanded < l.Value && (out == nil || *r.Peak < *out.Peak) {
			out = r
		}
	}
	return out
}

// together is a campaign's verdict on each limit: the worst of its cells, so that it stays below a limit only where each cell does, and beside it the highest peak of
// the campaign. Of cells that stand alike, the one that needs most drops.
func together(cells []CellResult) []LimitVerdict {
	rank := func(v limits.Verdict) int {
		return slices.Index([]limits.Verdict{limits.Below, limits.CannotTell, limits.WithinReach, limits.Exceeds, limits.BrokeBelow}, v)
	}
	need := func(v LimitVerdict) float64 {
		if v.MoreDrops == nil {
			return math.Inf(1)
		}
		return float64(*v.MoreDrops)
	}
	out := []LimitVerdict{}
	at := map[limits.Limit]int{}
	var rows []compare.Row
	bound := false
	for n, c := range cells {
		for i := range c.Limits {
			v := c.Limits[i]
			v.Cell = n + 1
			k, ok := at[v.Limit]
			if !ok {
				k = len(out)
				at[v.Limit] = k
				out = append(out, v)
			}
			if was := out[k]; rank(v.Verdict) > rank(was.Verdict) || v.Verdict == was.Verdict && need(v) > need(was) {
				out[k] = v
			}
			bound = bound || v.LowerBound && v.Verdict != limits.BrokeBelow
		}
		for _, r := range c.Drops {
			if r.Peak != nil && r.Outcome != drop.Void && r.Outcome != "" {
				rows = append(rows, r)
			}
		}
	}
	if len(rows) == 0 {
		return out
	}
	h := highest(rows)
	for i := range out {
		if out[i].Verdict != limits.BrokeBelow {
			out[i].Drop, out[i].Peak, out[i].Expanded, out[i].LowerBound = h.Drop, *h.Peak, *h.Expanded, bound
		}
	}
	slices.SortStableFunc(out, func(a, b LimitVerdict) int { // the specimens' own come last, as in a cell
		return own(a.Limit) - own(b.Limit)
	})
	return out
}

// own tells a specimen's own limit from those of the table.
func own(l limits.Limit) int {
	if slices.Contains(limits.Current(), l) {
		return 0
	}
	return 1
}
