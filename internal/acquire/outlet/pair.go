package outlet

import (
	"context"
	"errors"
	"os"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/pty"
)

// pair is a serial port whose other end is named to the user.
type pair struct {
	pty.Port
}

func openPair() (*pair, error) {
	p, err := pty.Open()
	if err != nil {
		return nil, err
	}
	return &pair{Port: p}, nil
}

// Kind is part of rehearsal.Outlet.
func (p *pair) Kind() acquire.Kind { return acquire.Serial }

// Address is part of rehearsal.Outlet.
func (p *pair) Address() string { return p.Name() }

// Topic is part of rehearsal.Outlet.
func (p *pair) Topic() string { return "" }

// Ready is part of rehearsal.Outlet: a serial port does not tell who listens.
func (p *pair) Ready(context.Context) error { return nil }

// Write sends as much as the port takes within a step; the rest is lost, as at a port that nobody reads.
func (p *pair) Write(lines []byte) (int, error) {
	if err := p.SetWriteDeadline(time.Now().Add(8 * time.Millisecond)); err != nil {
		return 0, err
	}
	_, err := p.Port.Write(lines)
	if errors.Is(err, os.ErrDeadlineExceeded) {
		err = nil
	}
	return len(lines), err
}

// Cut is part of rehearsal.Outlet: the port only falls silent.
func (p *pair) Cut() error { return nil }
