package look

import (
	"context"
	"sync"

	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
)

// Of the records looked at last as many are kept ready as these bounds allow, and always the last one; a million
// samples take about 50 MB.
const (
	keptLooks   = 8
	keptSamples = 8_000_000
)

// looks keeps the records looked at last.
type looks struct {
	mu   sync.Mutex
	list []*looked // latest last
}

type looked struct {
	key  string
	once sync.Once
	w    *Look
	err  error

	samples int // 0 until it is read
}

// Look is a whole record ready to be drawn at any width.
type Look struct {
	*reduce.WholeReduction
	Raw, Low *Band // Low is nil when no filter was applied
}

// Look reads and reduces a drop's record for a person to look at. The first look takes as long as a reduction.
func (s *Campaign) Look(ctx context.Context, id string) (*Look, error) {
	r, err := s.S.Reduction(ctx, id)
	if err != nil {
		return nil, err
	}
	l := s.looks.find(id + " " + r.Value.Version + " " + r.Value.TraceSHA256 + string(r.Value.Settings))
	// Others may wait for the same record: one who goes away does not stop it.
	l.once.Do(func() { l.w, l.err = s.readLook(context.WithoutCancel(ctx), r.Value) })
	if l.err != nil {
		s.looks.forget(l)
	} else {
		s.looks.fit(l)
	}
	return l.w, l.err
}

// fit notes how long a record is and lets go of the oldest ones that there is no room for.
func (l *looks) fit(k *looked) {
	l.mu.Lock()
	defer l.mu.Unlock()
	k.samples = len(k.w.Force)
	sum := 0
	for i := len(l.list) - 1; i >= 0; i-- {
		if sum += l.list[i].samples; sum > keptSamples && i < len(l.list)-1 {
			l.list = append([]*looked(nil), l.list[i+1:]...)
			return
		}
	}
}

func (l *looks) find(key string) *looked {
	l.mu.Lock()
	defer l.mu.Unlock()
	for i, k := range l.list {
		if k.key == key {
			l.list = append(append(l.list[:i:i], l.list[i+1:]...), k)
			return k
		}
	}
	k := &looked{key: key}
	l.list = append(l.list, k)
	if len(l.list) > keptLooks {
		l.list = l.list[1:]
	}
	return k
}

func (l *looks) forget(bad *looked) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for i, k := range l.list {
		if k == bad {
			l.list = append(l.list[:i:i], l.list[i+1:]...)
			return
		}
	}
}

func (s *Campaign) readLook(ctx context.Context, r store.Reduction) (*Look, error) {
	w, err := s.Access.WholeOf(ctx, s.S, r)
	if err != nil {
		return nil, err
	}
	out := &Look{WholeReduction: w}
	var both sync.WaitGroup
	if len(w.Filtered) > 0 && &w.Filtered[0] != &w.Force[0] {
		both.Go(func() { out.Low = NewBand(w.Filtered) })
	}
	out.Raw = NewBand(w.Force)
	both.Wait()
	return out, nil
}
