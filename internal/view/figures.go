package view

import (
	"context"
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/figure"
	"github.com/hardcatch/hardcatch/internal/limits"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
)

// Seconds shown before taut and after the end of the first arrest.
const (
	shownBefore = 0.008
	shownAfter  = 0.025
)

// curvesOf makes the curves of one drop from its original bytes.
func curvesOf(ctx context.Context, a *look.Access, s store.Reader, id string) (*reduce.Curves, error) {
	r, err := s.Reduction(ctx, id)
	if err != nil {
		return nil, err
	}
	w, err := a.WholeOf(ctx, s, r.Value)
	if err != nil {
		return nil, err
	}
	return w.Curves(shownBefore, shownAfter), nil
}

// cellFigures draws the records of one cell over each other, and their loops. Void drops are left out.
func cellFigures(cell compare.Cell, curves map[string]*reduce.Curves, limit []figure.Limit, in message.Locale, top quantity.Force, reach quantity.Length) (figure.ForceTime, figure.ForceElongation) {
	note := in.Say(figureNote)
	ft := figure.ForceTime{Frame: figure.Frame{Title: in.Say("Force over time"), Desc: in.Names(cell.Key()) + ".", Note: note, In: in}, Limits: limit, Top: top}
	fe := figure.ForceElongation{Frame: figure.Frame{Title: in.Say("Force over elongation"), Desc: in.Names(cell.Key()) + ".", Note: note, In: in}, Limits: limit, Top: top, Reach: reach}
	for _, row := range cell.Drops {
		c := curves[row.Drop]
		if c == nil || row.Outcome == drop.Void || row.Peak == nil {
			continue
		}
		o := row.Outcome
		ft.Records = append(ft.Records, figure.Record{
			Name: row.Drop, Outcome: o, ForceN: c.Force, Rate: c.Rate, Start: c.Start, Peak: *row.Peak, Expanded: *row.Expanded, PeakTime: c.Reduction.TimeToPeak, End: c.End,
			Known: knownOf(row), Unmeasured: unmeasured(c.Reduction),
		})
		fe.Loops = append(fe.Loops, figure.Loop{Name: row.Drop, Outcome: o, ElongationM: c.Elongation, ForceN: c.LoopForce, Peak: *row.Peak, Expanded: *row.Expanded, PeakAt: c.PeakAt, Known: knownOf(row)})
	}
	return ft, fe
}

// knownOf is how a drawing marks a peak that the record does not show.
func knownOf(r compare.Row) figure.Known { return figure.Known{AtLeast: r.CutOff, Rebuilt: r.Rebuilt} }

// unmeasured are the stretches of a record that were not measured, after taut. A stretch reaches half a sample to each side.
func unmeasured(r *reduce.Reduction) []figure.Unmeasured {
	out := make([]figure.Unmeasured, len(r.Unmeasured))
	for i, s := range r.Unmeasured {
		half := quantity.Duration(0.5 / r.Rate.SI())
		out[i] = figure.Unmeasured{Is: s.Is, From: s.FromTime - half - r.Taut, To: s.ToTime + half - r.Taut}
	}
	return out
}

// stripPlot shows every peak of the campaign.
func stripPlot(r *Results, limit []figure.Limit, in message.Locale) figure.StripPlot {
	p := figure.StripPlot{Frame: figure.Frame{Title: in.Say("Peak force of every drop"), Note: in.Say(figureNote), In: in}, Limits: limit, Coverage: fmt.Sprintf("%g %%", 100*look.Confidence)}
	nan := quantity.Force(math.NaN())
	or := func(f *quantity.Force) quantity.Force {
		if f == nil {
			return nan
		}
		return *f
	}
	for _, c := range r.Cells {
		if len(c.Drops) == 0 {
			continue
		}
		s := figure.Strip{Name: in.Names(c.Name()), Mean: or(c.Mean), Lo: or(c.Lo), Hi: or(c.Hi), AtLeast: c.MeanIsLowerBound}
		for _, d := range c.Drops {
			sp := figure.Specimen{Name: d.Drop, Outcome: d.Outcome, Peak: or(d.Peak), Known: knownOf(d)}
			if d.Expanded != nil {
				sp.Expanded = *d.Expanded
			}
			s.Specimens = append(s.Specimens, sp)
		}
		p.Strips = append(p.Strips, s)
	}
	return p
}

// linesFor picks the limits that a figure can hold: arrest-force limits and anchor-side strengths that lie
// in the range of the peaks, the specimens' own rating, at most n, each value once.
func linesFor(r *Results, n int, in message.Locale) []figure.Limit {
	top := 0.0
	for _, c := range r.Cells {
		for _, d := range c.Drops {
			if d.Peak != nil {
				top = math.Max(top, d.Peak.SI())
			}
		}
	}
	wanted := map[string]bool{limits.Rating: true, "energy absorber": true, "body harness, work at height (US)": true, "anchor device, static": true, "sewn sling": true, "connector B, gate closed": true, "dynamic rope, single": true}
	seen := map[quantity.Force]bool{}
	var out []figure.Limit
	for _, own := range []bool{true, false} {
		for _, l := range r.Limits {
			if !wanted[l.Name] || seen[l.Value] || l.Value.SI() > 1.15*top || len(out) == n || own != (l.Name == limits.Rating) {
				continue
			}
			seen[l.Value] = true
			name, _ := in.Find(l.Name)
			if l.Edition != "" {
				name += ", " + l.Edition
			}
			out = append(out, figure.Limit{Name: name, Value: l.Value, Arrest: l.Kind == limits.Arrest})
		}
	}
	return out
}
