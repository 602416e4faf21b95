package outlet

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"
	broker "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/hooks/auth"
	"github.com/mochi-mqtt/server/v2/listeners"

	"hardcatch/internal/acquire"
	"hardcatch/internal/acquire/mqttline"
)

// published sends lines as messages.
type published struct {
	address, topic string
	broker         *broker.Server // nil when it is somebody else's
	c              mqtt.Client
}

func publish(ctx context.Context, address, topic string) (*published, error) {
	p := &published{address: address, topic: topic}
	if address == "" {
		if err := p.start(ctx); err != nil {
			return nil, errors.Join(fmt.Errorf("no broker can be started: %w", err), p.Close())
		}
	}
	if err := p.connect(); err != nil {
		return nil, errors.Join(fmt.Errorf("broker %s: %w; look at its address", p.address, err), p.Close())
	}
	return p, nil
}

// start runs a broker on a free port of this computer, for this computer only.
func (p *published) start(ctx context.Context) error {
	var c net.ListenConfig
	l, err := c.Listen(ctx, "tcp", "127.0.0.1:0")
	if err != nil {
		return err
	}
	p.address = l.Addr().String()
	p.broker = broker.New(&broker.Options{Logger: slog.New(slog.NewTextHandler(io.Discard, nil))})
	if err := p.broker.AddHook(new(auth.AllowHook), nil); err != nil {
		return err
	}
	if err := p.broker.AddListener(listeners.NewNet("rehearsal", l)); err != nil {
		return err
	}
	return p.broker.Serve()
}

func (p *published) connect() error {
	p.c = mqtt.NewClient(mqtt.NewClientOptions().AddBroker(mqttline.Broker(p.address)).SetAutoReconnect(true).SetConnectTimeout(5 * time.Second))
	return settled(p.c.Connect())
}

func settled(t mqtt.Token) error {
	if !t.WaitTimeout(5 * time.Second) {
		return errors.New("no answer within 5 s")
	}
	return t.Error()
}

// Kind is part of rehearsal.Outlet.
func (p *published) Kind() acquire.Kind { return acquire.MQTT }

// Address is part of rehearsal.Outlet.
func (p *published) Address() string { return p.address }

// Topic is part of rehearsal.Outlet.
func (p *published) Topic() string { return p.topic }

// Ready is part of rehearsal.Outlet: a broker does not tell who listens.
func (p *published) Ready(context.Context) error { return nil }

// Write is part of rehearsal.Outlet.
func (p *published) Write(lines []byte) (int, error) {
	if !p.c.IsConnectionOpen() {
		return len(lines), nil // lost
	}
	if err := settled(p.c.Publish(p.topic, 1, false, append([]byte(nil), lines...))); err != nil && p.c.IsConnectionOpen() {
		return 0, fmt.Errorf("broker %s: %w", p.address, err)
	}
	return len(lines), nil
}

// Cut makes the broker hang up on everybody, when it is the rehearsal's own; else only the device falls silent.
func (p *published) Cut() error {
	if p.broker == nil {
		return nil
	}
	for _, c := range p.broker.Clients.GetAll() {
		if !c.Net.Inline {
			c.Stop(errors.New("cut by the rehearsal"))
		}
	}
	return nil
}

// Close is part of rehearsal.Outlet.
func (p *published) Close() error {
	if p.c != nil {
		p.c.Disconnect(100)
	}
	if p.broker != nil {
		return p.broker.Close()
	}
	return nil
}
