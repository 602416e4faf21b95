package day

import (
	"context"
	"errors"
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/traceio"
)

// TakeInput is one captured drop.
type TakeInput struct {
	// Drop is the drop's entry: a planned drop of the campaign, or a new one. Record is filled from Name, and Taken
	// with today's date when it is empty.
	Drop     drop.Drop
	Name     string         // of the record; empty = the drop's with .csv
	Capture  string         // name of the capture, noted so that CaptureTaken finds it; may be empty
	Original store.Original // of the record, kept unchanged
	Reader   traceio.Reading
	Filter   *reduce.Filter  // nil = the default
	List     *drop.Checklist // what was asked before the drop; nil when it was entered before or not asked
	Remarks  []string        // what happened while it was taken, such as lost samples; kept as notes on the drop
	By       string          // who took it
}

// Taken is what the person at the tower reads after a drop. The JSON names are stable: names are added, never changed.
type Taken struct {
	Drop         drop.Drop        `json:"drop"`
	look.Receipt                  // of the record
	SHA256       string           `json:"sha256"`
	Problem      message.Sentence `json:"problem,omitempty"` // why there is no reduction; the record is kept all the same

	Peak       *quantity.Force    `json:"peak_N"` // null when there is no reduction
	Expanded   *quantity.Force    `json:"u_N"`    // expanded uncertainty
	K          float64            `json:"k"`
	Coverage   float64            `json:"coverage"`
	LowerBound bool               `json:"lower_bound"`
	CutOff     bool               `json:"cut_off"`
	Rebuilt    *[2]quantity.Force `json:"peak_interval_N,omitempty"` // where the record does not show the peak and it was rebuilt
	ScaleKnown bool               `json:"force_scale_known"`
	// How each peak was got is stated with it.
	Rate        quantity.Frequency `json:"rate_Hz"`
	Filter      string             `json:"filter"`
	SpeedMethod string             `json:"speed_method"`

	Outcome  reduce.Proposal    `json:"outcome"` // proposed; a person confirms or overrides it
	Evidence []string           `json:"outcome_evidence"`
	Audit    reduce.Verdict     `json:"audit_verdict"`
	Failing  []reduce.Check     `json:"failing_checks"` // doubtful or disagreeing
	Warnings []message.Sentence `json:"warnings"`
	Remarks  []string           `json:"remarks"` // what happened while it was recorded

	Cell     *TakenCell `json:"cell"` // null for a check drop
	Next     look.Next  `json:"next"`
	Cautions []string   `json:"cautions"`
}

// TakenCell is how a drop sits in its cell.
type TakenCell struct {
	compare.Cell
	Name     string            `json:"name"`
	Standing *compare.Standing `json:"standing"` // null when the drop did not hold or has no peak
	Text     message.Sentence  `json:"text"`     // the same in words, or why it is not set beside the others
}

// Take enters one captured drop: drop, record, reduction, checklist and remarks in one commit. A record that cannot
// be read or reduced, or for which there is no rig yet, is kept all the same and said in Problem. A drop that has a
// record is refused unless it is the same record: then nothing changes and the answer is given again.
func Take(ctx context.Context, a *look.Access, path string, in TakeInput) (*Taken, error) {
	d := in.Drop
	if in.Name == "" {
		in.Name = d.ID + ".csv"
	}
	d.Record, d.ListLine = in.Name, 0
	if d.Taken == "" {
		d.Taken = a.Now().Format("2006-01-02")
	}
	if d.Operator == "" {
		d.Operator = in.By
	}
	if d.Role == "" {
		d.Role = drop.Trial
	}
	if err := d.Validate(); err != nil {
		return nil, err
	}
	if b, ok := in.Original.(store.Bytes); ok && !d.Invented() { // what is captured here says so itself
		made, err := look.SaysInvented(b)
		if err != nil {
			return nil, err
		}
		if made {
			d.Scenario = drop.InventedScenario
		}
	}
	reading := &store.Hashing{Original: in.Original}
	in.Original = reading
	res := &Taken{Drop: d, Evidence: []string{}, Failing: []reduce.Check{}, Warnings: []message.Sentence{}, Remarks: append([]string{}, in.Remarks...), Cautions: drop.Cautions()}
	s, err := a.Files.Open(ctx, path)
	return res, look.Within(s, err, func(s store.Store) error {
		if err := free(ctx, s, d.ID, reading); err != nil {
			return err
		}
		if rig, err := s.Rig(ctx); err == nil && rig.Value.Invented {
			d.Scenario = drop.InventedScenario
			res.Drop = d
		}
		red, out, err := reduceTaken(ctx, a, s, d, in)
		if err != nil {
			if ctx.Err() != nil {
				return ctx.Err()
			}
			res.Problem = message.Why(err)
		}
		known, err := reading.Sum()
		if err != nil {
			return fmt.Errorf("drop %s: %w", d.ID, err)
		}
		res.SHA256, in.Original = known.SHA256, known
		if err := s.Update(ctx, func(tx store.Tx) error { return res.enter(ctx, tx, in, out) }); err != nil {
			return err
		}
		res.read(red)
		// The record is kept from here on: what cannot be told any more is a warning.
		if err := s.View(ctx, func(r store.Reader) error { return res.surroundings(ctx, r, red) }); err != nil {
			res.Warnings = append(res.Warnings, message.Say("the record is kept, but its cell cannot be shown: %s", err))
		}
		return nil
	})
}

// captureNote begins the note that names the capture a drop's record came from.
const captureNote = "captured as "

// CaptureTaken finds the drop that took a capture, so that a crash between taking it and telling the capture so does
// not enter it twice; empty when none did.
func CaptureTaken(ctx context.Context, a *look.Access, path, capture string) (dropID string, err error) {
	s, err := a.Files.OpenReadOnly(ctx, path)
	return dropID, look.Within(s, err, func(s store.Store) error {
		notes, err := s.Notes(ctx)
		for _, n := range notes {
			if n.Value.Text == captureNote+capture {
				dropID = n.Value.Drop
			}
		}
		return err
	})
}

// free refuses a drop that has another record.
func free(ctx context.Context, r store.Reader, id string, original *store.Hashing) error {
	traces, err := r.Traces(ctx)
	if err != nil {
		return err
	}
	for _, t := range traces {
		if t.Value.Drop != id {
			continue
		}
		known, err := original.Sum()
		if err != nil {
			return fmt.Errorf("drop %s: %w", id, err)
		}
		if t.Value.SHA256 != known.SHA256 {
			return fmt.Errorf("drop %s has the record %s already; give the new drop another name, or void the old one and repeat it under a new name", id, t.Value.Name)
		}
	}
	return nil
}

func reduceTaken(ctx context.Context, a *look.Access, r store.Reader, d drop.Drop, in TakeInput) (*reduce.Reduction, *store.Reduction, error) {
	rig, err := r.Rig(ctx)
	if errors.Is(err, store.ErrNotFound) {
		return nil, nil, message.Say("drop %s: there is no rig yet, and a record cannot be reduced without its mass; the record is kept: enter the rig with hardcatch rig, then hardcatch redo", message.Own(d.ID)).Error()
	}
	if err != nil {
		return nil, nil, err
	}
	filter := reduce.DefaultFilter
	if in.Filter != nil {
		filter = *in.Filter
	}
	red, out, err := a.New(d.ID, d.Record, in.Original, look.SettingsFor(rig.Value, d, filter, in.Reader)).Entry(ctx)
	if err != nil {
		return nil, nil, err
	}
	return red, &out, nil
}

// enter writes all that belongs to the drop.
func (t *Taken) enter(ctx context.Context, tx store.Tx, in TakeInput, out *store.Reduction) error {
	if _, err := tx.AddDrop(ctx, t.Drop); err != nil {
		return err
	}
	if in.List != nil {
		list := *in.List
		list.Drop = t.Drop.ID
		if _, err := tx.AddChecklist(ctx, list); err != nil {
			return err
		}
	}
	rec, err := tx.AddTrace(ctx, t.Drop.ID, in.Name, in.Original)
	if err != nil {
		return err
	}
	t.Receipt = look.ReceiptOf(rec)
	if rec.Effect != store.Unchanged {
		if in.Capture != "" {
			in.Remarks = append([]string{captureNote + in.Capture}, in.Remarks...)
		}
		for _, text := range in.Remarks {
			if _, err := tx.AddNote(ctx, store.Note{Drop: t.Drop.ID, Text: text, By: in.By}); err != nil {
				return err
			}
		}
	}
	if out == nil {
		return nil
	}
	_, err = tx.AddReduction(ctx, *out)
	return err
}

// read takes over what the reduction says.
func (t *Taken) read(r *reduce.Reduction) {
	if r == nil {
		return
	}
	t.Peak, t.Expanded, t.K, t.Coverage = &r.Peak, &r.PeakExpanded, r.PeakK, r.Coverage
	t.LowerBound, t.CutOff, t.Rebuilt, t.ScaleKnown = r.LowerBound, r.PeakHidden, r.PeakInterval, r.ScaleKnown
	t.Rate, t.Filter, t.SpeedMethod = r.Rate, r.Settings.Filter.String(), r.Settings.SpeedMethod
	t.Outcome, t.Audit = r.Outcome, r.AuditVerdict
	t.Evidence = append(t.Evidence, r.Evidence...)
	t.Warnings = append(t.Warnings, message.TellAll(r.Warnings)...)
	for _, k := range r.Audit {
		if k.Verdict == reduce.Disagrees || k.Verdict == reduce.Doubtful {
			t.Failing = append(t.Failing, k)
		}
	}
}

// surroundings finds the drop's cell and the next drop. Only the reductions of that cell are read.
func (t *Taken) surroundings(ctx context.Context, r store.Reader, red *reduce.Reduction) error {
	list, err := look.ReadRunList(ctx, r)
	if err != nil {
		return err
	}
	t.warnTwice(list)
	return t.inCell(ctx, r, list, red)
}

// inCell finds the next drop and how this one sits in its cell, with what was decided about it.
func (t *Taken) inCell(ctx context.Context, r store.Reader, list *look.RunList, red *reduce.Reduction) error {
	t.Next, t.Cell = list.Next(nil), nil
	levels, of := compare.FindCell(list.Drops, t.Drop)
	if levels == nil {
		return nil
	}
	var entries []compare.Entry
	var others []quantity.Force
	for _, i := range of {
		d := list.Drops[i]
		e, err := list.Entry(ctx, r, d, red, t.Drop.ID)
		if err != nil {
			return err
		}
		entries = append(entries, e)
		if d.ID != t.Drop.ID && e.Outcome == drop.Held && !e.CutOff && !math.IsNaN(e.Peak.SI()) {
			others = append(others, e.Peak)
		}
	}
	cell, err := compare.OneCell(levels, entries, look.Confidence)
	if err != nil {
		return err
	}
	t.Cell = &TakenCell{Cell: cell, Name: cell.Name()}
	decided := list.Decision[t.Drop.ID]
	return t.stand(others, decided.Outcome)
}

// stand sets the peak beside the others of its cell when it is of their kind.
func (t *Taken) stand(others []quantity.Force, decided drop.Outcome) error {
	c := t.Cell
	outcome := t.Outcome
	if decided != "" {
		outcome = reduce.Proposal(decided)
	}
	switch {
	case decided == drop.Void:
		c.Text = message.Say("it is void and counts nowhere")
	case t.Peak == nil:
		c.Text = message.Say("there is no peak to set beside the others")
	case t.CutOff:
		c.Text = message.Say("the record does not show its peak: it is a lower bound and is not set beside the others")
	case outcome == reduce.Undecided:
		c.Text = message.Say("the record does not tell its outcome: once it is decided it counts among the others")
	case outcome != reduce.Proposal(drop.Held) && decided != "":
		c.Text = message.Say("%s is decided: its peak is no arrest force of a specimen that held and is not set beside them", outcome)
	case outcome != reduce.Proposal(drop.Held):
		c.Text = message.Say("%s is proposed: its peak is no arrest force of a specimen that held and is not set beside them", t.Outcome)
	default:
		s, err := compare.StandingOf(*t.Peak, others, look.Confidence)
		if err != nil {
			return err
		}
		c.Standing, c.Text = &s, s.Text
	}
	return nil
}

// warnTwice says that the record's bytes or the specimen are in the campaign already.
func (t *Taken) warnTwice(l *look.RunList) {
	for _, d := range l.Drops {
		if d.ID == t.Drop.ID {
			continue
		}
		trace, traced := l.Traced[d.ID]
		if traced && trace.SHA256 == t.SHA256 {
			t.Warnings = append(t.Warnings, message.Say("drop %s has the same record, byte for byte: one of the two is not what was captured", message.Own(d.ID)))
		}
		if traced && d.Specimen.ID == t.Drop.Specimen.ID && t.Drop.Prior == 0 && t.Drop.Role != drop.Check {
			t.Warnings = append(t.Warnings, message.Say("specimen %s was dropped before, in drop %s: do not count it as another specimen; retire every dropped specimen", message.Own(d.Specimen.ID), message.Own(d.ID)))
		}
	}
}
