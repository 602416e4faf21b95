package app

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/store"
)

// ProveResult is what a proof of a campaign file found.
type ProveResult struct {
	store.Verification
	Repeated int      `json:"repeated"`     // reductions repeated to the same bits
	Differ   []string `json:"differ"`       // reductions that came out differently
	Other    []string `json:"not_repeated"` // reductions of another program version, which only that can repeat
	Planned  int      `json:"planned"`      // drops planned, not taken
	// Unstated are the drops whose reduction was made before readers were named, and UnstatedBy the readers that read their records.
	Unstated   []string `json:"reader_not_stated"`
	UnstatedBy []string `json:"reader_not_stated_read_with"`
	Unreadable []string `json:"reader_missing"` // why a reader that is named cannot read
	// Reductions are those that stand in the file; Unchecked says what was not proved because they were not repeated, empty when they were.
	Reductions int    `json:"reductions"`
	Unchecked  string `json:"not_checked,omitempty"`
	records    int
	Holds      bool `json:"holds"`
}

// Prove proves the logbook of a campaign and holds the state against it. With repeat it also makes
// every latest reduction again from the original bytes and compares bit for bit. pins are logbook hashes
// printed earlier.
func Prove(ctx context.Context, a *look.Access, path string, repeat bool, pins []string) (*ProveResult, error) {
	res := &ProveResult{Differ: []string{}, Other: []string{}, Unstated: []string{}, UnstatedBy: []string{}, Unreadable: []string{}}
	s, err := a.Files.OpenReadOnly(ctx, path)
	return res, look.Within(s, err, func(s store.Store) error {
		v, err := s.Verify(ctx, pins...)
		if err != nil {
			return err
		}
		res.Verification = v
		res.Holds = v.Break == nil
		if v.Break != nil {
			return nil
		}
		if res.Planned, err = look.CountPlanned(ctx, s); err != nil {
			return err
		}
		rs, err := s.Reductions(ctx)
		if err != nil {
			return err
		}
		res.Reductions = len(rs)
		if !repeat && len(rs) > 0 {
			res.Unchecked = fmt.Sprintf("that the %s from the records: that is proved by hardcatch prove --repeat, which makes each again", look.Plural(len(rs), "reduction follows", "reductions follow"))
		}
		records, err := a.RecordsOf(ctx, s, rs)
		if err != nil {
			return err
		}
		missing, err := res.readers(records)
		if err != nil || !repeat {
			return err
		}
		if missing != nil {
			return missing
		}
		made, err := a.Repeat(ctx, records, rs, nil)
		if err != nil {
			return err
		}
		res.Repeated = made.Same
		for _, d := range made.Differ {
			res.Differ = append(res.Differ, d.Says().String())
		}
		for _, why := range made.Other {
			res.Other = append(res.Other, why.Error())
		}
		res.Holds = len(res.Differ) == 0
		return nil
	})
}

// readers looks at which reader reads each record; missing is why one cannot be read.
func (p *ProveResult) readers(records []*look.Record) (missing, err error) {
	p.records = len(records)
	for _, rec := range records {
		by, cannot := rec.Reader()
		if damage := rec.Damage(); damage != nil {
			return nil, damage
		}
		if cannot != nil {
			p.Unreadable = append(p.Unreadable, cannot.Error())
			missing = cannot
		}
		if !rec.Stated() {
			p.Unstated = append(p.Unstated, rec.Drop)
			if by != "" && !slices.Contains(p.UnstatedBy, by) {
				p.UnstatedBy = append(p.UnstatedBy, by)
			}
		}
	}
	slices.Sort(p.UnstatedBy)
	return missing, nil
}

// Readers says in sentences of which records the reader is not stated, and of which it is not there.
func (p *ProveResult) Readers() []string {
	var out []string
	if n := len(p.Unstated); n > 0 {
		with := "no reader of this program knows them"
		if len(p.UnstatedBy) > 0 {
			with = "they are read with " + strings.Join(p.UnstatedBy, " or ") + ", as all records were before readers were named"
		}
		out = append(out, fmt.Sprintf("reader not stated for %d of %d records; %s; hardcatch redo states it", n, p.records, with))
	}
	for _, why := range p.Unreadable {
		out = append(out, "not to be reduced again here: "+why)
	}
	return out
}
