// Package linestream reads lines from the network: as a TCP client, as a TCP server for one device, or from UDP
// datagrams.
package linestream

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"

	"github.com/hardcatch/hardcatch/internal/acquire"
)

type source struct{ acquire.Made }

// New makes a source of kind tcp, tcp-listen or udp.
func New(d *acquire.Description, clock acquire.Clock) acquire.Source {
	return source{acquire.Made{D: d, Clock: clock}}
}

// Run is part of acquire.Source.
func (s source) Run(ctx context.Context, out acquire.Sink) error {
	r := acquire.LineReader{D: s.D, Clock: s.Clock, Open: s.dial}
	switch s.D.Kind {
	case acquire.UDP:
		r.Open, r.Whole, r.Stay = s.datagrams, true, true
	case acquire.TCPListen:
		var c net.ListenConfig
		l, err := c.Listen(ctx, "tcp", s.D.Address)
		if err != nil {
			return fmt.Errorf("%s: cannot listen at %s: %w; choose an address of this computer and a free port", s.D.Name, s.D.Address, err)
		}
		defer context.AfterFunc(ctx, func() { _ = l.Close() })()
		defer func() { _ = l.Close() }()
		r.Open = s.accept(l)
	}
	return r.Run(ctx, out)
}

func (s source) dial(ctx context.Context) (acquire.Conn, error) {
	var d net.Dialer
	c, err := d.DialContext(ctx, "tcp", s.D.Address)
	if err != nil {
		return nil, fmt.Errorf("%s: %s does not answer: %w; look at address, power and cable", s.D.Name, s.D.Address, err)
	}
	return &conn{Conn: c, clock: s.Clock}, nil
}

func (s source) accept(l net.Listener) func(context.Context) (acquire.Conn, error) {
	return func(ctx context.Context) (acquire.Conn, error) {
		c, err := l.Accept()
		if err != nil {
			return nil, fmt.Errorf("%s: %w", s.D.Name, errors.Join(ctx.Err(), err))
		}
		return &conn{Conn: c, clock: s.Clock}, nil
	}
}

func (s source) datagrams(ctx context.Context) (acquire.Conn, error) {
	var lc net.ListenConfig
	p, err := lc.ListenPacket(ctx, "udp", s.D.Address)
	if err != nil {
		return nil, fmt.Errorf("%s: cannot receive at %s: %w; choose an address of this computer and a free port", s.D.Name, s.D.Address, err)
	}
	u, ok := p.(*net.UDPConn)
	if !ok {
		return nil, errors.Join(fmt.Errorf("%s: %s is no UDP address", s.D.Name, s.D.Address), p.Close())
	}
	_ = u.SetReadBuffer(4 << 20) // as large as the system allows; a smaller one works
	return &conn{Conn: u, clock: s.Clock}, nil
}

// conn comes back from Read when nothing arrives.
type conn struct {
	net.Conn
	clock acquire.Clock
}

func (c *conn) Read(b []byte) (int, error) {
	if err := c.SetReadDeadline(c.clock.Now().Add(acquire.PollInterval)); err != nil {
		return 0, err
	}
	n, err := c.Conn.Read(b)
	if errors.Is(err, os.ErrDeadlineExceeded) {
		err = nil
	}
	return n, err
}
