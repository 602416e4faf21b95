package view

import (
	"context"
	"fmt"
	"strings"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/figure"
	"github.com/hardcatch/hardcatch/internal/jobs"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
)

// figureNote stands under every drawing on a page.
const figureNote = "For a rigid mass on this rig; limits are product and standard limits, not injury thresholds."

// AllPeaks draws every peak of the campaign; nil when there is no cell.
func AllPeaks(ctx context.Context, s *look.Campaign, in message.Locale) ([]byte, error) {
	k, err := Of(ctx, s)
	if err != nil {
		return nil, err
	}
	return look.RememberedAs(s, "all peaks "+in.Lang(), k.Head, func() ([]byte, error) {
		if len(k.Cells) == 0 {
			return nil, nil
		}
		return figure.Screen(stripPlot(k.Results, linesFor(k.Results, 4, in), in), "peaks", figure.BroadWidth), nil
	})
}

// mark names all that the drawings of some drops stand on.
func mark(st *look.Moment, rows []compare.Row, limit []figure.Limit) string {
	var b strings.Builder
	for _, r := range rows {
		fmt.Fprintf(&b, "%s %d %s;", r.Drop, st.Entered.RedSeq[r.Drop], r.Outcome)
	}
	fmt.Fprint(&b, limit)
	return b.String()
}

// CellFigures draws the records of cell n (from 1) over each other, and their loops.
func CellFigures(ctx context.Context, s *look.Campaign, n int, in message.Locale) (out [2][]byte, err error) {
	st, err := Of(ctx, s)
	if err != nil {
		return out, err
	}
	cell, ok := st.Cell(n)
	if !ok {
		return out, &store.Problem{Reason: store.ErrNotFound, Place: fmt.Sprintf("cell %d", n), Fact: "is not in this campaign", WayOut: "choose one from the results"}
	}
	limit := linesFor(st.Results, 3, in)
	return look.RememberedAs(s, "cell "+in.Lang()+" "+cell.Key(), mark(st.Moment, cell.Drops, limit), func() (out [2][]byte, err error) {
		curves, err := curvesOfRows(ctx, s, cell.Drops)
		if err != nil {
			return out, err
		}
		ft, fe := cellFigures(cell, curves, limit, in, 0, 0)
		if len(ft.Records) == 0 {
			return out, nil
		}
		return [2][]byte{figure.Screen(ft, "force", figure.PanelWidth), figure.Screen(fe, "loop", figure.PanelWidth)}, nil
	})
}

// curvesOfRows makes the curves of those drops that have a peak, on all cores.
func curvesOfRows(ctx context.Context, s *look.Campaign, rows []compare.Row) (map[string]*reduce.Curves, error) {
	made := make([]*reduce.Curves, len(rows))
	err := jobs.Local(ctx, len(rows), func() func(context.Context, int) error {
		return func(ctx context.Context, i int) (err error) {
			if rows[i].Peak != nil {
				made[i], err = curvesOf(ctx, s.Access, s.S, rows[i].Drop)
			}
			return err
		}
	}, nil)
	if err != nil {
		return nil, err
	}
	curves := map[string]*reduce.Curves{}
	for i, c := range made {
		if c != nil {
			curves[rows[i].Drop] = c
		}
	}
	return curves, nil
}

// DropFigures draws force over time about the first arrest, and force over elongation, of one drop; nil when it has no
// reduction.
func DropFigures(ctx context.Context, s *look.Campaign, id string, in message.Locale) (out [2][]byte, err error) {
	st, err := s.Moment(ctx)
	if err != nil {
		return out, err
	}
	i := st.Find(id)
	if i < 0 {
		return out, store.NoDrop(id)
	}
	line := st.Drops[i]
	if !line.Reduced {
		return out, nil
	}
	return look.RememberedAs(s, "drop "+in.Lang()+" "+id, mark(st, []compare.Row{line.Row}, nil), func() (out [2][]byte, err error) {
		// The chart beside the drawings shows the same record: it is read once.
		l, err := s.Look(ctx, id)
		if err != nil {
			return out, err
		}
		c := l.Curves(shownBefore, shownAfter)
		// A void drop is drawn here all the same: somebody wants to see why.
		row := line.Row
		o := row.Outcome
		var peak, u quantity.Force
		if row.Peak != nil {
			peak, u = *row.Peak, *row.Expanded
		}
		frame := figure.Frame{Desc: in.Say("Drop %s", id) + ".", Note: in.Say(figureNote), In: in}
		ft := figure.ForceTime{Frame: frame, Records: []figure.Record{{Name: id, Outcome: o, ForceN: c.Force, Rate: c.Rate, Start: c.Start, Peak: peak, Expanded: u, PeakTime: c.Reduction.TimeToPeak, End: c.End, Known: knownOf(row), Unmeasured: unmeasured(c.Reduction)}}}
		fe := figure.ForceElongation{Frame: frame, Loops: []figure.Loop{{Name: id, Outcome: o, ElongationM: c.Elongation, ForceN: c.LoopForce, Peak: peak, Expanded: u, PeakAt: c.PeakAt, Known: knownOf(row)}}}
		ft.Title, fe.Title = in.Say("Force over time"), in.Say("Force over elongation")
		return [2][]byte{ft.SVG("force"), fe.SVG("loop")}, nil
	})
}
