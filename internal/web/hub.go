package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"sync"
	"time"
)

// hub passes events on to every page that listens. A listener that does not keep up loses the oldest events: each
// event says what is, not what changed.
type hub struct {
	mu     sync.Mutex
	all    map[chan event]bool
	last   map[string]event // the latest of each kind, for who comes later
	closed bool
}

type event struct {
	kind string
	data []byte
}

// Limits of the streams.
const (
	maxListeners = 64
	backlog      = 64
	keepAlive    = 15 * time.Second
)

func newHub() *hub { return &hub{all: map[chan event]bool{}, last: map[string]event{}} }

// publish sends v as JSON to all listeners.
func (h *hub) publish(kind string, v any) {
	data, err := json.Marshal(v)
	if err != nil {
		panic(fmt.Sprintf("web: event %s: %v", kind, err)) // events are our own types
	}
	e := event{kind, data}
	h.mu.Lock()
	defer h.mu.Unlock()
	h.last[kind] = e
	for c := range h.all {
		select {
		case c <- e:
		default:
			select {
			case <-c:
			default:
			}
			select {
			case c <- e:
			default:
			}
		}
	}
}

// join adds a listener, with the latest event of each kind waiting; nil when there are too many or it is over.
func (h *hub) join() chan event {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.closed || len(h.all) >= maxListeners {
		return nil
	}
	c := make(chan event, backlog)
	for _, e := range h.last {
		c <- e
	}
	h.all[c] = true
	return c
}

func (h *hub) leave(c chan event) {
	h.mu.Lock()
	defer h.mu.Unlock()
	delete(h.all, c)
}

func (h *hub) close() {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.closed = true
	for c := range h.all {
		close(c)
	}
	clear(h.all)
}

// Publish tells every page of something that happened; other parts of the program use it for what they watch.
func (s *Server) Publish(kind string, v any) { s.hub.publish(kind, v) }

// listen streams the events.
func (s *Server) listen(w http.ResponseWriter, r *http.Request) error {
	c := s.hub.join()
	if c == nil {
		return problem{http.StatusServiceUnavailable, "too many pages listen already; close some"}
	}
	defer s.hub.leave(c)
	h := w.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("Cache-Control", "no-store")
	out := http.NewResponseController(w)
	tick := time.NewTicker(keepAlive)
	defer tick.Stop()
	for {
		var text string
		select {
		case <-r.Context().Done():
			return nil
		case e, open := <-c:
			if !open {
				return nil
			}
			text = "event: " + e.kind + "\ndata: " + string(e.data) + "\n\n"
		case <-tick.C:
			text = ": still here\n\n"
		}
		// Each piece has its own time limit; the whole has none. A recorder in a test may know none.
		_ = out.SetWriteDeadline(time.Now().Add(10 * time.Second))
		if _, err := w.Write([]byte(text)); err != nil {
			return nil // the page has gone
		}
		if err := out.Flush(); err != nil {
			return nil // the page has gone
		}
	}
}
