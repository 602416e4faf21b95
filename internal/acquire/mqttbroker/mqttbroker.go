// Package mqttbroker runs an MQTT broker inside the program, for this computer only.
package mqttbroker

import (
	"context"
	"crypto/tls"
	"errors"
	"io"
	"log/slog"
	"net"
	"time"

	mqtt "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/hooks/auth"
	"github.com/mochi-mqtt/server/v2/listeners"

	"github.com/hardcatch/hardcatch/internal/acquire"
)

// Access says who may use a broker. The zero value lets everybody.
type Access struct {
	Passwords map[string]string // by user
	Topics    []string          // that those users may read and write; empty = all
	TLS       *tls.Config       // nil = in the clear
}

// Broker is a running broker.
type Broker struct {
	s     *mqtt.Server
	l     net.Listener
	clock acquire.Clock
}

// maxPacket bounds what a client may send at once, in bytes: a header can announce 256 MiB, for which room would be made
// before they come.
const maxPacket = 1<<20 + 1<<10

// Start runs a broker at an address, "127.0.0.1:0" for a free port, that lets everybody publish and subscribe.
func Start(ctx context.Context, address string, clock acquire.Clock) (*Broker, error) {
	return StartFor(ctx, address, clock, Access{})
}

// StartFor runs a broker for those who have access.
func StartFor(ctx context.Context, address string, clock acquire.Clock, to Access) (*Broker, error) {
	var c net.ListenConfig
	l, err := c.Listen(ctx, "tcp", address)
	if err != nil {
		return nil, err
	}
	able := mqtt.NewDefaultServerCapabilities()
	able.MaximumPacketSize = maxPacket
	b := &Broker{mqtt.New(&mqtt.Options{Capabilities: able, Logger: slog.New(slog.NewTextHandler(io.Discard, nil))}), l, clock}
	if to.Passwords == nil {
		err = b.s.AddHook(new(auth.AllowHook), nil)
	} else {
		ledger := &auth.Ledger{}
		for user, password := range to.Passwords {
			ledger.Auth = append(ledger.Auth, auth.AuthRule{Username: auth.RString(user), Password: auth.RString(password), Allow: true})
			if len(to.Topics) == 0 {
				continue
			}
			filters := auth.Filters{"#": auth.Deny}
			for _, t := range to.Topics {
				filters[auth.RString(t)] = auth.ReadWrite
			}
			ledger.ACL = append(ledger.ACL, auth.ACLRule{Username: auth.RString(user), Filters: filters})
		}
		err = b.s.AddHook(new(auth.Hook), &auth.Options{Ledger: ledger})
	}
	if err == nil {
		served := l
		if to.TLS != nil {
			served = tls.NewListener(l, to.TLS)
		}
		err = b.s.AddListener(listeners.NewNet("own", served))
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
