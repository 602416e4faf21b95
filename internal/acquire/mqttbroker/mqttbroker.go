// Package mqttbroker runs an MQTT broker inside the program, for this computer only.
package mqttbroker

import (
	"context"
	"errors"
	"io"
	"log/slog"
	"net"
	"time"

	mqtt "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/hooks/auth"
	"github.com/mochi-mqtt/server/v2/listeners"

	"hardcatch/internal/acquire"
)

// Broker is a running broker that lets everybody on this computer publish and subscribe.
type Broker struct {
	s     *mqtt.Server
	l     net.Listener
	clock acquire.Clock
}

// Start runs a broker at an address, "127.0.0.1:0" for a free port.
func Start(ctx context.Context, address string, clock acquire.Clock) (*Broker, error) {
	var c net.ListenConfig
	l, err := c.Listen(ctx, "tcp", address)
	if err != nil {
		return nil, err
	}
	b := &Broker{mqtt.New(&mqtt.Options{Logger: slog.New(slog.NewTextHandler(io.Discard, nil))}), l, clock}
	err = b.s.AddHook(new(auth.AllowHook), nil)
	if err == nil {
		err = b.s.AddListener(listeners.NewNet("own", l))
	}
	if err == nil {
		err = b.s.Serve()
	}
	if err != nil {
		return nil, errors.Join(err, b.s.Close(), l.Close())
	}
	return b, nil
}

// Address is where the broker listens.
func (b *Broker) Address() string { return b.l.Addr().String() }

var errCut = errors.New("the broker hangs up")

// Cut hangs up on every client.
func (b *Broker) Cut() {
	for _, c := range b.s.Clients.GetAll() {
		c.Stop(errCut)
	}
}

// Close ends the broker. The clients go first, and their leaving is waited for: in the library's own closing a
// client that leaves at the same moment locks both up (v2.7.9: Clients.GetByListener takes a read lock twice).
func (b *Broker) Close() error {
	err := b.l.Close()
	for range 300 {
		if b.s.Clients.Len() == 0 {
			break
		}
		b.Cut()
		if serr := b.clock.Sleep(context.Background(), 10*time.Millisecond); serr != nil {
			return errors.Join(err, serr)
		}
	}
	if cerr := b.s.Close(); cerr != nil {
		err = errors.Join(err, cerr)
	}
	return err
}
