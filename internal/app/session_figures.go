package app

import (
	"context"
	"fmt"
	"io"

	"hardcatch/internal/compare"
	"hardcatch/internal/figure"
	"hardcatch/internal/quantity"
	"hardcatch/internal/reduce"
	"hardcatch/internal/store"
)

// figureNote stands under every drawing on a page.
const figureNote = "For a rigid mass on this rig; limits are product and standard limits, not injury thresholds."

// AllPeaks draws every peak of the campaign; nil when there is no cell.
func (s *Session) AllPeaks(ctx context.Context) ([]byte, error) {
	return remembered(ctx, s, "all peaks", func(st *State) ([]byte, error) {
		if len(st.Results.Cells) == 0 {
			return nil, nil
		}
		return stripPlot(st.Results, linesFor(st.Results, 4), figureNote).SVG("peaks"), nil
	})
}

// CellFigures draws the records of cell n (from 1) over each other, and their loops.
func (s *Session) CellFigures(ctx context.Context, n int) (out [2][]byte, err error) {
	return remembered(ctx, s, fmt.Sprint("cell ", n), func(st *State) ([2][]byte, error) {
		if n < 1 || n > len(st.Results.Cells) {
			return out, &store.Problem{Reason: store.ErrNotFound, Place: fmt.Sprintf("cell %d", n), Fact: "is not in this campaign", WayOut: "choose one from the results"}
		}
		cell := st.Results.Cells[n-1].Cell
		curves := map[string]*reduce.Curves{}
		for _, row := range cell.Drops {
			if row.Peak == nil {
				continue
			}
			c, err := s.app.curvesOf(ctx, s.s, st.Drops[st.Find(row.Drop)].Drop)
			if err != nil {
				return out, err
			}
			curves[row.Drop] = c
		}
		ft, fe := cellFigures(cell, curves, linesFor(st.Results, 3), figureNote, 0, 0)
		if len(ft.Records) == 0 {
			return out, nil
		}
		return [2][]byte{ft.SVG("force"), fe.SVG("loop")}, nil
	})
}

// DropFigures draws force over time about the first arrest, and force over elongation, of one drop; nil when it has no
// reduction.
func (s *Session) DropFigures(ctx context.Context, id string) (out [2][]byte, err error) {
	return remembered(ctx, s, "drop "+id, func(st *State) ([2][]byte, error) {
		i := st.Find(id)
		if i < 0 {
			return out, store.NoDrop(id)
		}
		line := st.Drops[i]
		if !line.Reduced {
			return out, nil
		}
		c, err := s.app.curvesOf(ctx, s.s, line.Drop)
		if err != nil {
			return out, err
		}
		// A void drop is drawn here all the same: somebody wants to see why.
		row := line.Row
		o := figure.Outcome(row.Outcome)
		var peak, u quantity.Force
		if row.Peak != nil {
			peak, u = *row.Peak, *row.Expanded
		}
		frame := figure.Frame{Desc: "Drop " + id + ".", Note: figureNote}
		ft := figure.ForceTime{Frame: frame, Records: []figure.Record{{Name: id, Outcome: o, ForceN: c.Force, Rate: c.Rate, Start: c.Start, Peak: peak, Expanded: u, PeakTime: c.Reduction.TimeToPeak, End: c.End}}}
		fe := figure.ForceElongation{Frame: frame, Loops: []figure.Loop{{Name: id, Outcome: o, ElongationM: c.Elongation, ForceN: c.LoopForce, Peak: peak, Expanded: u, PeakAt: c.PeakAt}}}
		ft.Title, fe.Title = "Force over time", "Force over elongation"
		return [2][]byte{ft.SVG("force"), fe.SVG("loop")}, nil
	})
}

// Cell is one cell, numbered from 1.
func (s *State) Cell(n int) (compare.Cell, bool) {
	if n < 1 || n > len(s.Results.Cells) {
		return compare.Cell{}, false
	}
	return s.Results.Cells[n-1].Cell, true
}

// Report writes the report; see App.Report.
func (s *Session) Report(ctx context.Context, w io.Writer, o ReportOptions) error {
	return s.app.Report(ctx, s.path, w, o)
}
