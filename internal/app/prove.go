package app

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/reduce"
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
		records, err := recordsOf(ctx, a, s, rs)
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
		for i, r := range rs {
			if err := ctx.Err(); err != nil {
				return fmt.Errorf("stopped after %d reductions: %w", i, err)
			}
			g, err := a.Generation(r.Value)
			if err != nil {
				res.Other = append(res.Other, err.Error())
				continue
			}
			var differs *difference
			switch err := repeatOne(ctx, records[i], g, r.Value); {
			case err == nil:
				res.Repeated++
			case errors.As(err, &differs):
				res.Differ = append(res.Differ, fmt.Sprintf("drop %s: %s", r.Value.Drop, differs.why))
			default:
				return err
			}
			a.Progress("reductions", i+1, len(rs))
		}
		res.Holds = len(res.Differ) == 0
		return nil
	})
}

// difference says why a repeated reduction is not the stored one.
type difference struct{ why string }

func (d *difference) Error() string { return d.why }

// recordsOf are the records of stored reductions.
func recordsOf(ctx context.Context, a *look.Access, s store.Reader, rs []store.Revision[store.Reduction]) ([]*look.Record, error) {
	traces, err := s.Traces(ctx)
	if err != nil {
		return nil, err
	}
	sizes := map[string]int64{}
	for _, t := range traces {
		sizes[t.Value.SHA256] = t.Value.Bytes
	}
	out := make([]*look.Record, len(rs))
	for i, r := range rs {
		t, err := look.TraceOf(ctx, s, r.Value)
		if err != nil {
			return nil, err
		}
		t.Bytes = sizes[t.SHA256]
		if out[i], err = a.Streamed(ctx, s, t, &r.Value); err != nil {
			return nil, err
		}
	}
	return out, nil
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

// repeatOne makes a reduction again by the generation that made it and compares its bytes. A *difference tells that they are others.
func repeatOne(ctx context.Context, rec *look.Record, g reduce.Generation, r store.Reduction) error {
	again, err := rec.Reduce(ctx, g)
	if err := errors.Join(ctx.Err(), rec.Damage()); err != nil {
		return err
	}
	if err != nil {
		return &difference{err.Error()}
	}
	b, err := json.Marshal(again)
	if err != nil {
		return fmt.Errorf("drop %s: %w", r.Drop, err)
	}
	if !bytes.Equal(b, r.Result) {
		return &difference{"the repeat gives other bits; was the file made on another processor architecture?"}
	}
	return nil
}
