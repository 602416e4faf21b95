package app

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"

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
	Holds    bool     `json:"holds"`
}

// Prove proves the logbook of a campaign and holds the state against it. With repeat it also makes
// every latest reduction again from the original bytes and compares bit for bit. pins are head hashes
// printed earlier.
func Prove(ctx context.Context, a *look.Access, path string, repeat bool, pins []string) (*ProveResult, error) {
	res := &ProveResult{Differ: []string{}, Other: []string{}}
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
		if res.Planned, err = look.CountPlanned(ctx, s); err != nil || !repeat {
			return err
		}
		rs, err := s.Reductions(ctx)
		if err != nil {
			return err
		}
		traces, err := s.Traces(ctx)
		if err != nil {
			return err
		}
		sizes := map[string]int64{}
		for _, t := range traces {
			sizes[t.Value.SHA256] = t.Value.Bytes
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
			switch err := repeatOne(ctx, a, s, g, r.Value, sizes[r.Value.TraceSHA256]); {
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

// repeatOne makes a reduction again by the generation that made it and compares its bytes; the size of the record may be 0, not known. A *difference tells that they are others.
func repeatOne(ctx context.Context, a *look.Access, s store.Reader, g reduce.Generation, r store.Reduction, size int64) error {
	k, err := look.ReadKept(r)
	if err != nil {
		return err
	}
	name, err := look.RecordName(ctx, s, r)
	if err != nil {
		return err
	}
	original := &look.KeptRecord{Ctx: ctx, S: s, Sha256: r.TraceSHA256, Bytes: size}
	again, err := store.Read(original, func(in io.Reader) (*reduce.Reduction, error) {
		return a.ReduceBy(ctx, g, name, in, k.Reader.Options(), k.Reduce)
	})
	if err := errors.Join(ctx.Err(), original.Damage); err != nil {
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
