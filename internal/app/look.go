package app

import (
	"bytes"
	"context"
	"sync"

	"hardcatch/internal/drop"
	"hardcatch/internal/reduce"
	"hardcatch/internal/store"
)

// keptLooks is how many whole records are kept ready; a million samples take about 50 MB.
const keptLooks = 6

// looks keeps the records looked at last.
type looks struct {
	mu   sync.Mutex
	list []*look // latest last
}

type look struct {
	key  string
	once sync.Once
	w    *Look
	err  error
}

// Look is a whole record ready to be drawn at any width.
type Look struct {
	*reduce.Whole
	Raw, Low *Band // Low is nil when no filter was applied
}

// Look reads and reduces a drop's record for a person to look at. The first look takes as long as a reduction.
func (s *Session) Look(ctx context.Context, id string) (*Look, error) {
	r, err := s.s.Reduction(ctx, id)
	if err != nil {
		return nil, err
	}
	d, err := s.s.Drop(ctx, id)
	if err != nil {
		return nil, err
	}
	l := s.looks.find(id + " " + r.Value.TraceSHA256 + string(r.Value.Settings))
	// Others may wait for the same record: one who goes away does not stop it.
	l.once.Do(func() { l.w, l.err = s.readLook(context.WithoutCancel(ctx), d.Value, r.Value) })
	if l.err != nil {
		s.looks.forget(l)
	}
	return l.w, l.err
}

func (l *looks) find(key string) *look {
	l.mu.Lock()
	defer l.mu.Unlock()
	for i, k := range l.list {
		if k.key == key {
			l.list = append(append(l.list[:i:i], l.list[i+1:]...), k)
			return k
		}
	}
	k := &look{key: key}
	l.list = append(l.list, k)
	if len(l.list) > keptLooks {
		l.list = l.list[1:]
	}
	return k
}

func (l *looks) forget(bad *look) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for i, k := range l.list {
		if k == bad {
			l.list = append(l.list[:i:i], l.list[i+1:]...)
			return
		}
	}
}

func (s *Session) readLook(ctx context.Context, d drop.Drop, r store.Reduction) (*Look, error) {
	k, err := readKept(r)
	if err != nil {
		return nil, err
	}
	original, err := s.s.TraceBytes(ctx, r.TraceSHA256)
	if err != nil {
		return nil, err
	}
	t, err := s.app.Formats.Open(ctx, d.Record, bytes.NewReader(original), k.Reader.options())
	if err != nil {
		return nil, err
	}
	w, err := reduce.Look(t, k.Reduce)
	if err != nil {
		return nil, err
	}
	out := &Look{Whole: w, Raw: NewBand(w.Force)}
	if len(w.Filtered) > 0 && &w.Filtered[0] != &w.Force[0] {
		out.Low = NewBand(w.Filtered)
	}
	return out, nil
}
