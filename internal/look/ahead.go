package look

import (
	"context"
	"sync"
)

// aheadBytes is the largest record that is read before anybody asks: what is read ahead must not push out what is
// looked at.
const aheadBytes = 40 << 20

// ahead reads records that a person is likely to look at next, one at a time.
type ahead struct {
	mu     sync.Mutex
	wanted []string
	busy   bool
	closed bool
	end    context.CancelFunc
	work   sync.WaitGroup
}

// ReadAhead has the records of these drops ready soon, the first first; what was wanted before and is not read yet is
// forgotten. Whoever looks at one that cannot be read meets the error.
func (s *Campaign) ReadAhead(ids ...string) {
	a := &s.ahead
	a.mu.Lock()
	defer a.mu.Unlock()
	a.wanted = ids
	if a.busy || a.closed {
		return
	}
	var ctx context.Context
	ctx, a.end = context.WithCancel(context.Background())
	a.busy = true
	a.work.Go(func() {
		for {
			id, ok := a.next()
			if !ok {
				return
			}
			if s.light(ctx, id) {
				_, _ = s.Look(ctx, id)
			}
		}
	})
}

func (a *ahead) next() (id string, ok bool) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if len(a.wanted) == 0 || a.closed {
		a.busy = false
		a.end()
		return "", false
	}
	id, a.wanted = a.wanted[0], a.wanted[1:]
	return id, true
}

// light tells that the drop has a reduced record that is no burden.
func (s *Campaign) light(ctx context.Context, id string) bool {
	st, err := s.Moment(ctx)
	if err != nil {
		return false
	}
	i := st.Find(id)
	return i >= 0 && st.Drops[i].Reduced && st.Entered.Trace[id].Bytes <= aheadBytes
}

// stop waits for the record under way.
func (a *ahead) stop() {
	a.mu.Lock()
	a.closed = true
	if a.end != nil {
		a.end()
	}
	a.mu.Unlock()
	a.work.Wait()
}
