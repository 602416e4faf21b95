package app

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/jobs"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/traceio"
	"github.com/hardcatch/hardcatch/internal/traceio/droplist"
)

// EnterResult is what entering a list of drops did. A drop whose record cannot be read or reduced is kept
// with its bytes and stands among the problems.
type EnterResult struct {
	Drops     int      `json:"drops"`
	Added     int      `json:"added"`
	Revised   int      `json:"revised"`
	Unchanged int      `json:"unchanged"`
	Records   int      `json:"records"`
	Reduced   int      `json:"reduced"`
	Planned   int      `json:"planned"` // entered without a record, to be taken
	Problems  []string `json:"problems"`
	Warnings  []string `json:"warnings"`
	Doubtful  []string `json:"audit_disagrees"` // drops whose audit disagrees
	// Changes say drop by drop what was entered anew or changed, or with Dry would be.
	Changes []string `json:"changes"`
	Dry     bool     `json:"dry_run"`
}

// EnterOptions say how records are read and reduced.
type EnterOptions struct {
	Reader traceio.Reading
	Filter reduce.Filter
	// Planned takes drops without a record as planned, not taken. The records folder may be nil then, when no drop
	// of the list has a record.
	Planned bool
	// Dry changes nothing and tells what would change.
	Dry bool
}

// errDry ends a commit of which nothing is to be kept.
var errDry = errors.New("nothing is entered")

type taken struct {
	d        drop.Drop
	original store.Original // nil when there is none
	out      store.Reduction
	reduced  bool
	verdict  reduce.Verdict
	problem  string
}

// Enter enters the drops of a list with their records from a folder, and reduces them with the campaign's
// rig. The records' bytes are kept unchanged. Entering the same again changes nothing. Everything is
// entered in one commit.
func Enter(ctx context.Context, a *look.Access, path, listName string, list io.Reader, records fs.FS, o EnterOptions) (*EnterResult, error) {
	read := droplist.Read
	if o.Planned {
		read = droplist.ReadPlanned
	}
	l, err := read(listName, list)
	if err != nil {
		return nil, err
	}
	for _, d := range l.Drops {
		if records == nil && d.Record != "" {
			return nil, fmt.Errorf("%s:%d: drop %s has the record %s, but no folder of records is given; give it, or leave the record empty in a plan", listName, d.ListLine, d.ID, d.Record)
		}
	}
	res := &EnterResult{Drops: len(l.Drops), Problems: []string{}, Doubtful: []string{}, Changes: []string{}, Dry: o.Dry, Warnings: append([]string{}, l.Warnings...)}
	s, err := a.Files.Open(ctx, path)
	return res, look.Within(s, err, func(s store.Store) error {
		rig, err := s.Rig(ctx)
		if errors.Is(err, store.ErrNotFound) && records == nil {
			err = nil // a plan needs no rig yet
		}
		if errors.Is(err, store.ErrNotFound) {
			return fmt.Errorf("%s: there is no rig yet, and a record cannot be reduced without its mass; enter it with: hardcatch rig %s rig.yaml", path, path)
		}
		if err != nil {
			return err
		}
		hands, err := handsOf(ctx, s)
		if err != nil {
			return err
		}
		if err := keepUnsaid(ctx, s, l); err != nil {
			return err
		}
		folder := records
		if !l.Has("record") {
			folder = nil // the records that stand are not read again
		}
		all, err := takeAll(ctx, a, rig.Value, l.Drops, folder, o, hands)
		if err != nil {
			return fmt.Errorf("stopped before anything was entered: %w", err)
		}
		res.warnTwice(all)
		err = s.Update(ctx, func(tx store.Tx) error {
			for i := range all {
				if err := enter(ctx, tx, listName, &all[i], res); err != nil {
					return err
				}
			}
			if o.Dry {
				return errDry
			}
			return nil
		})
		if errors.Is(err, errDry) {
			return nil
		}
		return err
	})
}

// keepUnsaid gives the drops of a list what was entered of them before in the columns that the list does not have.
func keepUnsaid(ctx context.Context, s store.Reader, l *droplist.List) error {
	old, err := s.Drops(ctx)
	if err != nil {
		return err
	}
	before := map[string]drop.Drop{}
	for _, d := range old {
		before[d.Value.ID] = d.Value
	}
	for i, d := range l.Drops {
		if b, known := before[d.ID]; known {
			l.Drops[i] = l.Keep(d, b)
		}
	}
	return nil
}

// takeAll reads and reduces the records on all cores, in the order of the list.
func takeAll(ctx context.Context, a *look.Access, rig drop.Rig, drops []drop.Drop, records fs.FS, o EnterOptions, hands map[string]hand) ([]taken, error) {
	all := make([]taken, len(drops))
	count := 0
	err := jobs.Local(ctx, len(drops), func() func(context.Context, int) error {
		return func(ctx context.Context, i int) error {
			all[i] = takeOne(ctx, a, rig, drops[i], records, o, hands[drops[i].ID])
			return nil
		}
	}, func(int) bool {
		count++
		a.Progress("records", count, len(drops))
		return true
	})
	return all, err
}

func takeOne(ctx context.Context, a *look.Access, rig drop.Rig, d drop.Drop, records fs.FS, o EnterOptions, h hand) taken {
	t := taken{d: d}
	if d.Record == "" || records == nil {
		return t
	}
	unread := func(err error) taken {
		if strings.Contains(err.Error(), "escapes") { // os.Root has no name for this error
			t.problem = fmt.Sprintf("drop %s: its record %s lies outside the records folder, to which a path or a link leads; copy the file into the folder, and enter it again", d.ID, d.Record)
			return t
		}
		t.problem = fmt.Sprintf("drop %s: its record %s cannot be read (%v); put the file into the records folder or correct the list, and enter it again", d.ID, d.Record, err)
		return t
	}
	file := &store.Hashing{Original: fileRecord{records, d.Record}}
	if f, err := file.Open(); err != nil {
		return unread(err)
	} else if err := f.Close(); err != nil {
		return unread(err)
	}
	set, err := h.of(file)
	if err != nil {
		return unread(err)
	}
	red, out, rerr := a.New(d.ID, d.Record, file, look.SettingsFor(rig, d, o.Filter, o.Reader).WithHand(set)).Entry(ctx)
	known, err := file.Sum()
	if err != nil {
		return unread(err)
	}
	if known.Bytes > 0 {
		t.original = known
	}
	if t.out = out; rerr != nil {
		t.problem = rerr.Error()
		return t
	}
	t.reduced, t.verdict = true, red.AuditVerdict
	return t
}

// fileRecord is a record in the folder of records. It is read anew each time, so that a long list needs no more memory
// than its longest record.
type fileRecord struct {
	folder fs.FS
	name   string
}

// Open implements store.Original.
func (f fileRecord) Open() (io.ReadCloser, error) { return f.folder.Open(f.name) }

// markInvented marks a drop whose record says that it was made, or that was taken on an invented rig.
func markInvented(ctx context.Context, tx store.Tx, d *drop.Drop, original store.Original) error {
	if original == nil || d.Invented() {
		return nil
	}
	made, err := look.SaysInvented(original)
	if err != nil {
		return err
	}
	rig, err := tx.Rig(ctx)
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return err
	}
	if made || rig.Value.Invented {
		d.Scenario = drop.InventedScenario
	}
	return nil
}

// enter writes one drop with its record, reduction and entered outcome.
func enter(ctx context.Context, tx store.Tx, listName string, t *taken, res *EnterResult) error {
	if t.problem != "" {
		res.Problems = append(res.Problems, fmt.Sprintf("%s:%d: %s", listName, t.d.ListLine, t.problem))
	}
	d := t.d
	d.ListLine = 0 // the place in a file is not part of the drop
	before, known := drop.Decision{}, false
	switch old, err := tx.Drop(ctx, d.ID); {
	case err == nil:
		before, known = old.Value.Entered, true
		d = keepTaken(d, old.Value)
		changed, cleared := changesOf(old.Value, d)
		if len(changed) > 0 {
			res.Changes = append(res.Changes, fmt.Sprintf("drop %s: %s", d.ID, strings.Join(changed, ", ")))
		}
		if was, is := old.Value.Specimen.ID, d.Specimen.ID; was != is {
			res.Warnings = append(res.Warnings, fmt.Sprintf("drop %s: specimen %s becomes %s; what the list does not say of it stays as entered for %s", d.ID, was, is, was))
		}
		if len(cleared) > 0 {
			res.Warnings = append(res.Warnings, fmt.Sprintf("drop %s: %s, as the list leaves it empty", d.ID, strings.Join(cleared, ", ")))
		}
		if old.Value.Invented() {
			d.Scenario = drop.InventedScenario // a mark stays
		}
	case !errors.Is(err, store.ErrNotFound):
		return err
	default:
		res.Changes = append(res.Changes, fmt.Sprintf("drop %s is new", d.ID))
	}
	if err := markInvented(ctx, tx, &d, t.original); err != nil {
		return err
	}
	rec, err := tx.AddDrop(ctx, d)
	if err != nil {
		return err
	}
	switch rec.Effect {
	case store.Added:
		res.Added++
	case store.Revised:
		res.Revised++
	case store.Unchanged:
		res.Unchanged++
	}
	if d.Record == "" {
		res.Planned++
	}
	if t.original != nil {
		r, err := tx.AddTrace(ctx, d.ID, d.Record, t.original)
		if err != nil {
			return err
		}
		if r.Effect != store.Unchanged {
			res.Records++
		}
	}
	if t.reduced {
		if _, err := tx.AddReduction(ctx, t.out); err != nil {
			return err
		}
		res.Reduced++
		if t.verdict == reduce.Disagrees {
			res.Doubtful = append(res.Doubtful, d.ID)
		}
	}
	if d.Entered.Outcome == "" || known && d.Entered == before {
		return nil
	}
	return enterOutcome(ctx, tx, d.Entered, before, res)
}

// keepTaken keeps what taking a drop has entered where a plan that is added again leaves it open.
func keepTaken(d, old drop.Drop) drop.Drop {
	if d.Record != "" || old.Record == "" {
		return d
	}
	d.Record = old.Record
	if d.Taken == "" {
		d.Taken = old.Taken
	}
	if d.Operator == "" {
		d.Operator = old.Operator
	}
	if d.Channel == "" {
		d.Channel = old.Channel
	}
	return d
}

// asListed is the reason of an outcome that the list gives without one.
const asListed = "as written in the drop list"

// enterOutcome decides as the list says, unless a person has decided otherwise since.
func enterOutcome(ctx context.Context, tx store.Tx, dec, before drop.Decision, res *EnterResult) error {
	if dec.Reason == "" {
		dec.Reason = asListed
	}
	hist, err := tx.DecisionHistory(ctx, dec.Drop)
	if err != nil {
		return err
	}
	if n := len(hist); n > 0 {
		last := hist[n-1].Value
		fromList := last.Withdrawn || last.Reason == asListed || last.Outcome == before.Outcome && last.Reason == before.Reason
		if !fromList {
			if last.Outcome != dec.Outcome {
				res.Warnings = append(res.Warnings, fmt.Sprintf("drop %s: the list says %s, a person decided %s (%s); the decision stands, decide again to change it", dec.Drop, dec.Outcome, last.Outcome, last.Reason))
			}
			return nil
		}
	}
	_, err = tx.Decide(ctx, dec)
	return err
}

// warnTwice says which drops share a record's bytes, and which share a specimen without saying that it had been
// dropped before.
func (r *EnterResult) warnTwice(all []taken) {
	bytes, specimens := map[string]string{}, map[string]string{}
	for _, t := range all {
		if t.reduced {
			if first, twice := bytes[t.out.TraceSHA256]; twice {
				r.Warnings = append(r.Warnings, fmt.Sprintf("drops %s and %s have the same record, byte for byte: one of them names the wrong file; correct the list and enter it again", first, t.d.ID))
			} else {
				bytes[t.out.TraceSHA256] = t.d.ID
			}
		}
		if first, twice := specimens[t.d.Specimen.ID]; twice && t.d.Prior == 0 && t.d.Role != drop.Check {
			r.Warnings = append(r.Warnings, fmt.Sprintf("specimen %s is in drop %s and again in drop %s, which says nothing of earlier drops; fill the column prior, and do not count it as another specimen", t.d.Specimen.ID, first, t.d.ID))
		} else if !twice {
			specimens[t.d.Specimen.ID] = t.d.ID
		}
	}
}
