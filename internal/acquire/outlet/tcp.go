package outlet

import (
	"context"
	"fmt"
	"net"
	"sync"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire"
)

// served is a TCP server that sends the same lines to everybody who calls.
type served struct {
	l     net.Listener
	mu    sync.Mutex
	calls map[net.Conn]chan []byte
	first chan struct{}
	once  sync.Once
	wg    sync.WaitGroup
}

func serve(ctx context.Context, address string) (*served, error) {
	if address == "" {
		address = "127.0.0.1:0"
	}
	var c net.ListenConfig
	l, err := c.Listen(ctx, "tcp", address)
	if err != nil {
		return nil, fmt.Errorf("cannot serve at %s: %w; choose an address of this computer and a free port", address, err)
	}
	s := &served{l: l, calls: map[net.Conn]chan []byte{}, first: make(chan struct{})}
	s.wg.Go(s.accept)
	return s, nil
}

func (s *served) accept() {
	for {
		c, err := s.l.Accept()
		if err != nil {
			return // closed
		}
		lines := make(chan []byte, 400)
		s.mu.Lock()
		s.calls[c] = lines
		s.mu.Unlock()
		s.once.Do(func() { close(s.first) })
		s.wg.Go(func() { s.send(c, lines) })
	}
}

func (s *served) send(c net.Conn, lines <-chan []byte) {
	for b := range lines {
		if _, err := c.Write(b); err != nil {
			break // gone; drop takes it off the list
		}
	}
	s.drop(c)
}

func (s *served) drop(c net.Conn) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if lines, ok := s.calls[c]; ok {
		delete(s.calls, c)
		close(lines)
	}
	_ = c.Close()
}

// Kind is part of rehearsal.Outlet.
func (s *served) Kind() acquire.Kind { return acquire.TCP }

// Address is part of rehearsal.Outlet.
func (s *served) Address() string { return s.l.Addr().String() }

// Topic is part of rehearsal.Outlet.
func (s *served) Topic() string { return "" }

// Ready waits for the first call.
func (s *served) Ready(ctx context.Context) error {
	select {
	case <-s.first:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// Write sends to everybody; who does not read loses lines.
func (s *served) Write(lines []byte) (int, error) {
	b := append([]byte(nil), lines...)
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, to := range s.calls {
		select {
		case to <- b:
		default:
		}
	}
	return len(lines), nil
}

// Cut hangs up on everybody.
func (s *served) Cut() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	for c, lines := range s.calls {
		delete(s.calls, c)
		close(lines)
		_ = c.Close()
	}
	return nil
}

// Close ends the server. What was written is still sent to who reads it.
func (s *served) Close() error {
	err := s.l.Close()
	s.mu.Lock()
	for c, lines := range s.calls {
		delete(s.calls, c)
		close(lines)
		_ = c.SetWriteDeadline(time.Now().Add(2 * time.Second))
	}
	s.mu.Unlock()
	s.wg.Wait()
	return err
}
