package cli

import (
	"bytes"
	"fmt"
	"os"
	"strings"

	"hardcatch/internal/app"
	"hardcatch/internal/reduce"
)

type addCmd struct {
	File    string        `arg:"" help:"Campaign file."`
	List    string        `arg:"" help:"Drop list: a CSV file, one line a drop."`
	Records string        `arg:"" help:"Folder of the force records." type:"path"`
	Filter  reduce.Filter `default:"cfc60" help:"Low-pass: cfc60, cfc180-iso, a 3 dB frequency such as '250 Hz', or none."`
	JSON    bool          `name:"json" help:"Print JSON."`
	readerFlags
}

// Help is shown below the usage.
func (addCmd) Help() string {
	return `Example: hardcatch add trial.hardcatch drops.csv records/

Columns of the list: drop, specimen, material, construction, length, knot, batch, conditioning, rating, diameter, standard, prior, fall, slack, mass, record, channel, order, taken, operator, role (trial or check), outcome, place, reason, and "factor NAME". A unit stands with the number (0.9 m) or in the header (fall [mm]). Adding the same again changes nothing; the records' bytes are kept unchanged.`
}

// Run adds the drops.
func (c *addCmd) Run(a *app.App, s *streams) error {
	list, err := s.readInput(c.List)
	if err != nil {
		return err
	}
	if st, err := os.Stat(c.Records); err != nil || !st.IsDir() {
		return fmt.Errorf("%s is not a folder; give the folder that holds the records", c.Records)
	}
	r, err := a.Add(s.ctx, c.File, c.List, bytes.NewReader(list), os.DirFS(c.Records), app.AddOptions{Reader: c.options(0), Filter: c.Filter})
	if err != nil {
		return err
	}
	if c.JSON {
		if err := s.json(r); err != nil {
			return err
		}
	} else {
		s.say("%d drops: %d added, %d revised, %d unchanged; %d records kept, %d reduced", r.Drops, r.Added, r.Revised, r.Unchanged, r.Records, r.Reduced)
	}
	s.warn(r.Warnings)
	if n := len(r.Doubtful); n > 0 {
		s.warn([]string{fmt.Sprintf("the audit of %d drop(s) disagrees: %s; see hardcatch results %s, then correct or void them", n, strings.Join(r.Doubtful, ", "), c.File)})
	}
	s.remark("problem:", r.Problems)
	if n := len(r.Problems); n > 0 {
		return fmt.Errorf("%d of %d drops were entered without a reduction; see the problems above", n, r.Drops)
	}
	return nil
}
