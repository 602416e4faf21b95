package linestream_test

import (
	"net"
	"testing"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/acquiretest"
	"github.com/hardcatch/hardcatch/internal/acquire/linestream"
	"github.com/hardcatch/hardcatch/internal/waittest"
)

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// server is a device that listens.
type server struct {
	t *testing.T
	l net.Listener
	c net.Conn
}

func (s *server) accept() {
	c, err := s.l.Accept()
	must(s.t, err)
	s.c = c
}

func (s *server) send(text string) {
	_, err := s.c.Write([]byte(text))
	must(s.t, err)
}

func TestClient(t *testing.T) {
	acquiretest.Run(t, func(t *testing.T) *acquiretest.Bench {
		l, err := net.Listen("tcp", "127.0.0.1:0")
		must(t, err)
		s := &server{t: t, l: l}
		t.Cleanup(func() {
			_ = l.Close()
			if s.c != nil {
				_ = s.c.Close()
			}
		})
		d := acquiretest.Describe(t, acquire.Description{Kind: acquire.TCP, Address: l.Addr().String(), Lines: acquiretest.Lines})
		clock := new(acquiretest.Watched)
		return &acquiretest.Bench{Source: linestream.New(d, clock), Clock: clock, Ready: s.accept, Send: s.send,
			Cut: func() { must(t, s.c.Close()) }, Mend: s.accept}
	})
}

// freePort is a port that was free a moment ago.
func freePort(t *testing.T, network string) string {
	t.Helper()
	if network == "udp" {
		p, err := net.ListenPacket("udp", "127.0.0.1:0")
		must(t, err)
		defer func() { _ = p.Close() }()
		return p.LocalAddr().String()
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	must(t, err)
	defer func() { _ = l.Close() }()
	return l.Addr().String()
}

// client is a device that calls.
type client struct {
	t       *testing.T
	address string
	c       net.Conn
}

func (c *client) call() {
	waittest.Until(c.t, waittest.For("somebody who listens at "+c.address), func() bool {
		var err error
		c.c, err = net.Dial("tcp", c.address)
		return err == nil
	})
}

func (c *client) send(text string) {
	_, err := c.c.Write([]byte(text))
	must(c.t, err)
}

func (c *client) close() {
	if c.c != nil {
		_ = c.c.Close()
	}
}

func TestListener(t *testing.T) {
	acquiretest.Run(t, func(t *testing.T) *acquiretest.Bench {
		c := &client{t: t, address: freePort(t, "tcp")}
		t.Cleanup(c.close)
		d := acquiretest.Describe(t, acquire.Description{Kind: acquire.TCPListen, Address: c.address, Lines: acquiretest.Lines})
		clock := new(acquiretest.Watched)
		return &acquiretest.Bench{Source: linestream.New(d, clock), Clock: clock, Ready: c.call, Send: c.send, Cut: c.close, Mend: c.call}
	})
}

func TestDatagrams(t *testing.T) {
	acquiretest.Run(t, func(t *testing.T) *acquiretest.Bench {
		address := freePort(t, "udp")
		c, err := net.Dial("udp", address)
		must(t, err)
		t.Cleanup(func() { _ = c.Close() })
		d := acquiretest.Describe(t, acquire.Description{Kind: acquire.UDP, Address: address, Lines: acquiretest.Lines})
		clock := new(acquiretest.Watched)
		ready := func() { clock.Opened(t) } // a datagram before the source listens is lost
		return &acquiretest.Bench{Source: linestream.New(d, clock), Clock: clock, Ready: ready, Stays: true, Send: func(text string) {
			_, err := c.Write([]byte(text))
			must(t, err)
		}, Cut: func() { clock.Ahead(2 * acquiretest.Patience) }, Mend: func() {}}
	})
}

func TestWrongAddressIsSaidAtOnce(t *testing.T) {
	d := acquiretest.Describe(t, acquire.Description{Kind: acquire.TCP, Address: freePort(t, "tcp"), Lines: acquiretest.Lines})
	var r acquiretest.Recorder
	if err := linestream.New(d, acquire.WallClock{}).Run(t.Context(), &r); err == nil {
		t.Error("a source that nobody serves runs")
	}
}
