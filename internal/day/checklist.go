package day

import (
	"context"
	"errors"
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
)

// Quiet is what a live source showed while nothing should load the cell.
type Quiet struct {
	For   quantity.Duration  `json:"for_s"`
	Mean  quantity.Force     `json:"mean_N"`
	Noise quantity.Force     `json:"noise_N"` // half of the peak-to-peak of short stretches
	Drift quantity.ForceRate `json:"drift_Nps"`
	Range quantity.Force     `json:"range_N"` // from the least to the largest middle of short stretches
}

// ChecklistInput is what the program cannot find in the campaign.
type ChecklistInput struct {
	Drop      drop.Drop
	Quiet     *Quiet         // nil when there is no live source
	Predicted quantity.Force // expected peak, 0 = take the largest of the drop's cell, else of the campaign
}

// loadCellRoom is the share of its capacity up to which a load cell is taken to be in range: above it, little is left
// for a peak higher than predicted. Common practice, no source.
const loadCellRoom = 0.8

// A zero counts as stable over at least zeroFor when it moves by less than zeroShare of the expected peak, or of a tenth of the
// capacity when there is none, in a second, to and fro included beyond what the noise lets its middle wander. Common practice, no source.
const (
	zeroFor   = 1
	zeroShare = 0.002
)

// ProposeChecklist answers those questions before a drop that the campaign and the live source can tell: load cell in
// range and in date, zero stable, check drop of the day. Those that it cannot affirm stay open with what was found, and
// the rest is for the person at the tower. Nothing is stored.
func ProposeChecklist(ctx context.Context, a *look.Access, path string, in ChecklistInput) (list drop.Checklist, err error) {
	list = drop.NewChecklist(in.Drop.ID)
	return list, a.Read(ctx, path, func(r store.Reader) error {
		rig, err := r.Rig(ctx)
		if err != nil && !errors.Is(err, store.ErrNotFound) {
			return err
		}
		runs, err := look.ReadRunList(ctx, r)
		if err != nil {
			return err
		}
		today := a.Now().Format("2006-01-02")
		expected, from := in.Predicted, "forecast of the plan, 95th percentile"
		if expected <= 0 {
			if expected, from, err = largestPeak(ctx, r, runs, in.Drop); err != nil {
				return err
			}
		}
		loadCellItem(list.Item(drop.LoadCellReady), rig.Value, today, expected, from)
		zeroItem(list.Item(drop.ZeroStable), in.Quiet, rig.Value.LoadCell.Capacity, expected)
		return checkDropItem(ctx, r, list.Item(drop.CheckDropDone), runs, today, in.Drop)
	})
}

// EnterChecklist stores what was asked and answered before a drop that the campaign knows. For a new drop it goes in
// with Take.
func EnterChecklist(ctx context.Context, a *look.Access, path string, c drop.Checklist) (out look.Receipt, err error) {
	if err := c.Check(); err != nil {
		return out, err
	}
	s, err := a.Files.Open(ctx, path)
	return out, look.Within(s, err, func(s store.Store) error {
		r, err := s.AddChecklist(ctx, c)
		out = look.ReceiptOf(r)
		return err
	})
}

// largestPeak is the largest valid peak so far of the drop's cell, else of the campaign; 0 when there is none.
func largestPeak(ctx context.Context, r store.Reader, l *look.RunList, d drop.Drop) (quantity.Force, string, error) {
	largest := func(of []int) (top quantity.Force, err error) {
		for _, i := range of {
			e, err := l.Entry(ctx, r, l.Drops[i], nil, "")
			if err != nil {
				return 0, err
			}
			if e.Outcome != drop.Void && !math.IsNaN(e.Peak.SI()) {
				top = max(top, e.Peak)
			}
		}
		return top, nil
	}
	_, peers := compare.FindCell(l.Drops, d)
	top, err := largest(peers)
	if err != nil || top > 0 {
		return top, "largest of its cell so far", err
	}
	all := make([]int, len(l.Drops))
	for i := range all {
		all[i] = i
	}
	top, err = largest(all)
	return top, "largest of the campaign so far", err
}

func loadCellItem(i *drop.CheckItem, rig drop.Rig, today string, expected quantity.Force, from string) {
	cell := rig.LoadCell
	expired, err := reduce.Expiry(cell.Calibration, today)
	if err != nil {
		expired = err.Error()
	}
	share := expected.SI() / cell.Capacity.SI()
	switch {
	case expired != "":
		i.Found = expired
	case cell.Calibration.Expires == "":
		i.Found = "the rig states no expiry of the calibration"
	case cell.Capacity <= 0:
		i.Found = "the rig states no capacity of the load cell"
	case expected <= 0:
		i.Found = fmt.Sprintf("in date until %s, capacity %s; no peak so far to set against it", cell.Calibration.Expires, cell.Capacity.Text(3))
	case share > loadCellRoom:
		i.Found = fmt.Sprintf("the expected peak %s (%s) is %.0f %% of the capacity %s: too little room", expected.Text(3), from, 100*share, cell.Capacity.Text(3))
	default:
		i.State = drop.CheckDone
		i.Found = fmt.Sprintf("in date until %s; expected peak %s (%s) is %.0f %% of the capacity %s", cell.Calibration.Expires, expected.Text(3), from, 100*share, cell.Capacity.Text(3))
	}
}

func zeroItem(i *drop.CheckItem, q *Quiet, capacity, expected quantity.Force) {
	scale := expected.SI()
	if scale <= 0 {
		scale = 0.1 * capacity.SI()
	}
	if q == nil {
		i.Found = "there is no live source to see it on"
		return
	}
	seen := fmt.Sprintf("%s ± %s over %s, moving by %s in a second", q.Mean.Text(2), q.Noise.Text(2), q.For.Text(2), quantity.Force(max(math.Abs(q.Drift.SI()), q.Range.SI()-2*q.Noise.SI())).Text(2))
	switch {
	case q.For.SI() < zeroFor-1e-6:
		i.Found = fmt.Sprintf("only %s of quiet seen so far", q.For.Text(2))
	case !(scale > 0):
		i.Found = seen + "; neither a peak nor the capacity is known to judge it by"
	case max(math.Abs(q.Drift.SI()), q.Range.SI()-2*q.Noise.SI()) > zeroShare*scale:
		i.Found = seen + ": it moves; let the amplifier warm up, look for a load on the specimen"
	default:
		i.State = drop.CheckDone
		i.Found = seen
	}
}

// checkDropItem affirms a check drop of today only when it shows that the rig has not changed: it held, its record agrees with physics, and
// where two others or more stand beside it, it lies where one further check drop is to be expected. The last one of today counts.
func checkDropItem(ctx context.Context, r store.Reader, i *drop.CheckItem, l *look.RunList, today string, d drop.Drop) error {
	var last *compare.Entry
	var taken int64
	var all []compare.Entry
	for _, x := range l.Drops {
		trace, traced := l.Traced[x.ID]
		if x.Role != drop.Check || x.ID == d.ID || !traced || l.Decision[x.ID].Outcome == drop.Void {
			continue
		}
		e, err := l.Entry(ctx, r, x, nil, "")
		if err != nil {
			return err
		}
		all = append(all, e)
		if x.Taken == today && (last == nil || l.At[trace.Drop] > taken) {
			last, taken = &e, l.At[trace.Drop]
		}
	}
	switch {
	case last != nil:
		return checkDropFound(i, *last, all)
	case d.Role == drop.Check:
		i.State, i.Found = drop.CheckNotApplicable, "this is the check drop"
	default:
		i.Found = "no check drop of today is in the campaign"
	}
	return nil
}

// checkDropFound holds a check drop against the others of its fall that held.
func checkDropFound(i *drop.CheckItem, e compare.Entry, all []compare.Entry) error {
	var others []quantity.Force
	for _, o := range all {
		if o.Drop.ID != e.Drop.ID && o.Drop.Fall == e.Drop.Fall && o.Outcome == drop.Held && !o.CutOff && !math.IsNaN(o.Peak.SI()) {
			others = append(others, o.Peak)
		}
	}
	id := e.Drop.ID
	switch {
	case math.IsNaN(e.Peak.SI()):
		i.Found = fmt.Sprintf("drop %s, today, has no peak: it shows nothing of the rig", id)
	case e.Outcome == drop.Broke || e.Outcome == drop.Slipped:
		i.Found = fmt.Sprintf("drop %s, today, %s: a reference element that gives way shows nothing of the rig; look for the cause and take another", id, e.Outcome)
	case !e.Decided && !e.Trusted:
		i.Found = fmt.Sprintf("the audit disagrees with drop %s of today: look at it first", id)
	default:
		s, err := compare.StandingOf(e.Peak, others, look.Confidence)
		if err != nil {
			return err
		}
		if s.Outside {
			i.Found = fmt.Sprintf("drop %s, today: %s is outside %s to %s, where one further check drop falls with 95 %% confidence; look at the rig and take another", id, e.Peak.Text(3), s.Lo.Text(3), s.Hi.Text(3))
			return nil
		}
		i.State, i.Found = drop.CheckDone, fmt.Sprintf("drop %s, today", id)
	}
	return nil
}
