package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

type enterCmd struct {
	File    string        `arg:"" help:"Campaign file."`
	List    string        `arg:"" help:"Drop list: a CSV file, one line a drop."`
	Records string        `arg:"" optional:"" help:"Folder of the force records; not needed for a plan." type:"path"`
	Planned bool          `help:"Enter drops without a record as planned, to be taken later."`
	Filter  reduce.Filter `default:"cfc60" help:"Low-pass: cfc60, cfc180-iso, a 3 dB frequency such as '250 Hz', or none."`
	DryRun  bool          `help:"Enter nothing, and say drop by drop what would change."`
	JSON    bool          `name:"json" help:"Print JSON."`
	readerFlags
}

// Help is shown below the usage.
func (enterCmd) Help() string {
	return `Example: hardcatch enter trial.hardcatch drops.csv records/

With --planned the column record may be empty or missing: such drops are planned, in the order of the column order, and are taken later. Example: hardcatch enter trial.hardcatch plan.csv --planned

Columns of the list: drop, specimen, material, construction, length, knot, batch, conditioning, rating, diameter, standard, prior, fall, slack, mass, record, channel, order, taken, operator, role (trial or check), outcome, place, reason, and "factor NAME". A unit stands with the number (0.9 m) or in the header (fall [mm]). Entering the same again changes nothing, and a column that the list does not have keeps what was entered in it; --dry-run says what would change. The records' bytes are kept unchanged.`
}

// Run enters the drops.
func (c *enterCmd) Run(a *look.Access, s *streams) error {
	list, err := s.readInput(c.List)
	if err != nil {
		return err
	}
	var records fs.FS
	switch st, err := os.Stat(c.Records); {
	case c.Records == "" && c.Planned:
	case c.Records == "":
		return fmt.Errorf("the folder of the records is missing; give it, or enter a plan with --planned")
	case err != nil || !st.IsDir():
		return fmt.Errorf("%s is not a folder; give the folder that holds the records", c.Records)
	default:
		// A link that leads out of the folder is not followed: a record is what lies in it.
		root, err := os.OpenRoot(c.Records)
		if err != nil {
			return fmt.Errorf("%s cannot be read: %w; give a folder that can be read", c.Records, err)
		}
		defer func() { _ = root.Close() }() // it was only read
		records = root.FS()
	}
	r, err := app.Enter(s.ctx, a, c.File, c.List, bytes.NewReader(list), records, app.EnterOptions{Reader: c.reading(0), Filter: c.Filter, Planned: c.Planned, Dry: c.DryRun})
	if err != nil {
		return err
	}
	if c.JSON {
		if err := s.json(r); err != nil {
			return err
		}
	} else {
		if c.DryRun {
			s.say("nothing is entered; this is what would change:")
			for _, change := range r.Changes {
				s.say("  %s", change)
			}
		}
		s.say("%d {drop|drops}: %d added, %d revised, %d unchanged; %d {record|records} kept, %d reduced", r.Drops, r.Added, r.Revised, r.Unchanged, r.Records, r.Reduced)
		if r.Planned > 0 {
			s.say("%d planned, to be taken", r.Planned)
		}
	}
	s.warn(r.Warnings)
	if n := len(r.Doubtful); n > 0 {
		s.warn([]string{fmt.Sprintf("the audit of %d drop(s) disagrees: %s; see hardcatch results %s, then correct or void them", n, look.Listed(r.Doubtful, mostNamed), c.File)})
	}
	s.remark("problem:", r.Problems)
	if n := len(r.Problems); n > 0 && c.DryRun {
		return errors.New(message.Text("%d of %d {drop|drops} would be entered without a reduction; see the problems above", n, r.Drops))
	} else if n > 0 {
		return errors.New(message.Text("%d of %d {drop|drops} {[1]was|were} entered without a reduction; see the problems above", n, r.Drops))
	}
	return nil
}
