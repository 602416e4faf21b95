package acquire

import "sync"

// Feed gives values to whoever follows it, and waits for nobody: a follower who is slow misses the oldest.
type Feed[T any] struct {
	mu        sync.Mutex
	followers map[*follower[T]]struct{}
	closed    bool
}

type follower[T any] struct{ c chan T }

// Follow gives a channel with room for so many values, and how to leave it. The channel is closed when there
// is nothing more to come.
func (f *Feed[T]) Follow(room int) (values <-chan T, leave func()) {
	f.mu.Lock()
	defer f.mu.Unlock()
	w := &follower[T]{make(chan T, max(room, 1))}
	if f.closed {
		close(w.c)
		return w.c, func() {}
	}
	if f.followers == nil {
		f.followers = map[*follower[T]]struct{}{}
	}
	f.followers[w] = struct{}{}
	return w.c, func() {
		f.mu.Lock()
		defer f.mu.Unlock()
		if _, ok := f.followers[w]; ok {
			delete(f.followers, w)
			close(w.c)
		}
	}
}

func (f *Feed[T]) send(v T) {
	f.mu.Lock()
	defer f.mu.Unlock()
	for w := range f.followers {
		for {
			select {
			case w.c <- v:
			default:
				select {
				case <-w.c:
				default:
				}
				continue
			}
			break
		}
	}
}

func (f *Feed[T]) close() {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.closed = true
	for w := range f.followers {
		close(w.c)
	}
	f.followers = nil
}
