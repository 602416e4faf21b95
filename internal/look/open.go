package look

import (
	"context"
	"fmt"
	"sync"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
)

// Campaign is a campaign kept open for reading by a program that shows it again and again. What is worked out is
// kept until the head of the logbook changes. Changes open the file for the time they take, so that other
// programs may write between them. A Campaign may be used from several goroutines.
type Campaign struct {
	Access *Access
	path   string
	S      store.Store

	mu    sync.Mutex
	state *Moment
	known sync.Mutex        // guards reds
	reds  map[string]parsed // by drop
	keep  map[string]answer // answers by what was asked

	looks looks
	ahead ahead

	long sync.Mutex // one long piece of work at a time
}

type parsed struct {
	seq int64
	r   *reduce.Reduction
}

// answer is what was worked out, with a mark of all that it stands on.
type answer struct {
	mark any // comparable
	v    any
}

// Moment is a campaign at one head of its logbook.
type Moment struct {
	Head    store.Head
	Info    store.Campaign
	Rig     *drop.Rig // nil when none is entered
	Cells   []compare.Cell
	Drops   []DropLine // in the order entered
	byID    map[string]int
	Entered *Entered
}

// DropLine is a drop in a list.
type DropLine struct {
	Drop     drop.Drop
	Cell     int // number of its cell from 1, 0 = none
	Row      compare.Row
	Proposed reduce.Proposal
	Reduced  bool
	Stale    bool // reduced before the rig was last changed
}

// Open opens a campaign for reading. Close it at the end.
func (a *Access) Open(ctx context.Context, path string) (*Campaign, error) {
	s, err := a.Files.OpenReadOnly(ctx, path)
	if err != nil {
		return nil, err
	}
	return &Campaign{Access: a, path: path, S: s, reds: map[string]parsed{}, keep: map[string]answer{}}, nil
}

// Close releases the file.
func (s *Campaign) Close() error {
	s.ahead.stop()
	return s.S.Close()
}

// Path is the campaign file.
func (s *Campaign) Path() string { return s.path }

// Head is where the logbook now ends, whoever wrote last.
func (s *Campaign) Head(ctx context.Context) (store.Head, error) { return s.S.Head(ctx) }

// Now reads the campaign as it is now, or gives what it read before when nothing was entered since.
func (s *Campaign) Moment(ctx context.Context) (*Moment, error) {
	head, err := s.S.Head(ctx)
	if err != nil {
		return nil, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.state != nil && s.state.Head == head {
		return s.state, nil
	}
	var out *Moment
	err = s.S.View(ctx, func(r store.Reader) error {
		c, err := loadWith(ctx, r, s.parse)
		if err != nil {
			return err
		}
		out, err = c.Now()
		return err
	})
	if err != nil {
		return nil, err
	}
	s.state = out
	return out, nil
}

// parse reads a stored reduction, or gives it back when it was read before.
func (s *Campaign) parse(r store.Revision[store.Reduction]) (*reduce.Reduction, error) {
	s.known.Lock()
	p, ok := s.reds[r.Value.Drop]
	s.known.Unlock()
	if ok && p.seq == r.Seq {
		return p.r, nil
	}
	red, err := ReadReduction(r.Value)
	if err != nil {
		return nil, err
	}
	s.known.Lock()
	s.reds[r.Value.Drop] = parsed{r.Seq, red}
	s.known.Unlock()
	return red, nil
}

func (c *Entered) Now() (*Moment, error) {
	cells, err := c.cells()
	if err != nil {
		return nil, err
	}
	out := &Moment{Head: c.Head, Info: c.Info, Cells: cells, byID: map[string]int{}, Entered: c}
	if c.RigSeq > 0 {
		out.Rig = &c.Rig
	}
	cell := map[string]int{}
	for i, k := range cells {
		for _, d := range k.Drops {
			cell[d.Drop] = i + 1
		}
	}
	for i, d := range c.Drops {
		red := c.Reduction[d.ID]
		line := DropLine{Drop: d, Cell: cell[d.ID], Row: c.Entry(d).Row(), Proposed: reduce.Undecided, Reduced: red != nil, Stale: red != nil && c.RedSeq[d.ID] < c.RigSeq}
		if red != nil {
			line.Proposed = red.Outcome
		}
		out.Drops = append(out.Drops, line)
		out.byID[d.ID] = i
	}
	return out, nil
}

// Find gives the drop's place in Drops, -1 when it is not there.
func (s *Moment) Find(id string) int {
	if i, ok := s.byID[id]; ok {
		return i
	}
	return -1
}

// Remembered gives the answer made before at the same head, or makes it.
func Remembered[T any](ctx context.Context, s *Campaign, key string, work func(*Moment) (T, error)) (T, error) {
	var none T
	st, err := s.Moment(ctx)
	if err != nil {
		return none, err
	}
	return RememberedAs(s, key, st.Head, func() (T, error) { return work(st) })
}

// RememberedAlone is rememberedAs for work that takes long: one piece of it is done at a time, and whoever asks meanwhile for
// the same waits for the same answer.
func RememberedAlone[T any](s *Campaign, key string, mark any, work func() (T, error)) (T, error) {
	if v, ok := workedOut[T](s, key, mark); ok {
		return v, nil
	}
	s.long.Lock()
	defer s.long.Unlock()
	return RememberedAs(s, key, mark, work)
}

// workedOut is the answer made before from the same mark.
func workedOut[T any](s *Campaign, key string, mark any) (v T, ok bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if k, kept := s.keep[key]; kept && k.mark == mark {
		v, ok = k.v.(T)
	}
	return v, ok
}

// RememberedAs gives the answer made before from the same mark, or makes it.
func RememberedAs[T any](s *Campaign, key string, mark any, work func() (T, error)) (T, error) {
	v, ok := workedOut[T](s, key, mark)
	if ok {
		return v, nil
	}
	v, err := work()
	if err != nil {
		var none T
		return none, fmt.Errorf("%s: %w", s.path, err)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(s.keep) > 200 {
		clear(s.keep)
	}
	s.keep[key] = answer{mark, v}
	return v, nil
}

// Logbook is every entry, oldest first.
func (s *Campaign) Logbook(ctx context.Context) ([]store.Entry, error) {
	return Remembered(ctx, s, "logbook", func(*Moment) ([]store.Entry, error) { return s.S.History(ctx) })
}

// Record gives back the original bytes of a drop's record, checked against their SHA-256.
func (s *Campaign) Record(ctx context.Context, id string) (store.Trace, []byte, error) {
	r, b, err := s.S.Trace(ctx, id)
	return r.Value, b, err
}

// Cell is one cell, numbered from 1.
func (s *Moment) Cell(n int) (compare.Cell, bool) {
	if n < 1 || n > len(s.Cells) {
		return compare.Cell{}, false
	}
	return s.Cells[n-1], true
}
