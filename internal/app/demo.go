package app

import (
	"bytes"
	"context"
	"fmt"
	"io/fs"
	"time"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/jobs"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/traceio/questionfile"
)

// DemoResult is what the demonstration made.
type DemoResult struct {
	Path   string       `json:"path"`
	Drops  int          `json:"drops"`
	Voided []string     `json:"voided"`
	Enter  *EnterResult `json:"add"`
}

// DemoFiles are the input files of the demonstration, as a person would have them: questions.yaml, rig.yaml, drops.csv
// and the records.
type DemoFiles map[string][]byte

// Open is part of fs.FS: the records by their names.
func (f DemoFiles) Open(name string) (fs.File, error) {
	b, ok := f["records/"+name]
	if !ok {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	return demoRecord{bytes.NewReader(b), name}, nil
}

// demoRecord is an open record; as fs.FileInfo it says little.
type demoRecord struct {
	*bytes.Reader
	name string
}

func (d demoRecord) Stat() (fs.FileInfo, error) { return d, nil }
func (d demoRecord) Close() error               { return nil }
func (d demoRecord) Name() string               { return d.name }
func (d demoRecord) Mode() fs.FileMode          { return 0o444 }
func (d demoRecord) ModTime() time.Time         { return time.Time{} }
func (d demoRecord) IsDir() bool                { return false }
func (d demoRecord) Sys() any                   { return nil }

// MakeDemoFiles runs the simulated rig over the invented scenario. The same program makes the same bytes.
func MakeDemoFiles(ctx context.Context, a *look.Access) (DemoFiles, error) {
	files, _, err := makeDemo(ctx, a)
	return files, err
}

func makeDemo(ctx context.Context, a *look.Access) (DemoFiles, []simulated, error) {
	all, err := scenario()
	if err != nil {
		return nil, nil, err
	}
	list, err := scenarioList(all)
	if err != nil {
		return nil, nil, err
	}
	files := DemoFiles{"questions.yaml": []byte(scenarioAsked), "rig.yaml": scenarioRigFile(), "drops.csv": list}
	texts := make([][]byte, len(all))
	count := 0
	err = jobs.Local(ctx, len(all), func() func(context.Context, int) error {
		return func(ctx context.Context, i int) error {
			s := &all[i]
			r, err := s.cell.Take(ctx, s.shot)
			if err != nil {
				return fmt.Errorf("drop %s: %w", s.listed.ID, err)
			}
			texts[i] = r.Text(s.dialect, s.listed.ID+", invented scenario")
			return nil
		}
	}, func(int) bool {
		count++
		a.Progress("simulated drops", count, len(all))
		return true
	})
	if err != nil {
		return nil, nil, fmt.Errorf("demonstration: %w", err)
	}
	for i, s := range all {
		files["records/"+s.listed.Record] = texts[i]
	}
	return files, all, nil
}

// Demo runs the whole job on an invented scenario and keeps its campaign at path.
func Demo(ctx context.Context, a *look.Access, path string) (*DemoResult, error) {
	files, all, err := makeDemo(ctx, a)
	if err != nil {
		return nil, err
	}
	c := store.Campaign{Name: scenarioName, Question: scenarioQuestion, Notes: scenarioNotes, Invented: true, Created: a.Now().UTC()}
	s, err := a.Files.Create(ctx, path, c)
	if err := look.Within(s, err, func(store.Store) error { return nil }); err != nil {
		return nil, err
	}
	asked, err := questionfile.Read("questions.yaml", bytes.NewReader(files["questions.yaml"]))
	if err != nil {
		return nil, fmt.Errorf("demonstration: %w", err)
	}
	if _, err := Ask(ctx, a, path, asked); err != nil {
		return nil, err
	}
	if _, err := SetRig(ctx, a, path, "rig.yaml", bytes.NewReader(files["rig.yaml"])); err != nil {
		return nil, err
	}
	added, err := Enter(ctx, a, path, "drops.csv", bytes.NewReader(files["drops.csv"]), files, EnterOptions{Filter: reduce.DefaultFilter})
	if err != nil {
		return nil, err
	}
	res := &DemoResult{Path: path, Drops: len(all), Enter: added, Voided: []string{}}
	if err := confirm(ctx, a, path, all, res); err != nil {
		return nil, err
	}
	return res, nil
}

// confirm plays the person who looks at every record: the mishaps are voided with a reason, everything
// else is confirmed as the record proposes.
func confirm(ctx context.Context, a *look.Access, path string, all []simulated, res *DemoResult) error {
	return a.Change(ctx, path, func(tx store.Tx) error {
		for _, m := range all {
			r, err := tx.Reduction(ctx, m.listed.ID)
			if err != nil {
				return err
			}
			red, err := look.ReadReduction(r.Value)
			if err != nil {
				return err
			}
			d := drop.Decision{Drop: m.listed.ID, By: "bench (invented)", Outcome: drop.Outcome(red.Outcome), Reason: "looked at, as proposed"}
			if m.void != "" {
				d.Outcome, d.Reason = drop.Void, m.void
				res.Voided = append(res.Voided, m.listed.ID)
			} else if red.Outcome == reduce.Undecided {
				continue
			}
			if d.Outcome == drop.Broke {
				d.Place = drop.Body
				if m.listed.Specimen.Knot == "figure-eight" {
					d.Place = drop.Knot
				}
			}
			if _, err := tx.Decide(ctx, d); err != nil {
				return err
			}
		}
		return nil
	})
}
