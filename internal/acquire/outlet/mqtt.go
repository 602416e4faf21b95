package outlet

import (
	"context"
	"errors"
	"fmt"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/mqttbroker"
	"github.com/hardcatch/hardcatch/internal/acquire/mqttline"
)

// published sends lines as messages.
type published struct {
	address, topic string
	broker         *mqttbroker.Broker // nil when it is somebody else's
	c              mqtt.Client
}

func publish(ctx context.Context, address, topic string) (*published, error) {
	p := &published{address: address, topic: topic}
	if address == "" {
		b, err := mqttbroker.Start(ctx, "127.0.0.1:0", acquire.WallClock{})
		if err != nil {
			return nil, fmt.Errorf("no broker can be started: %w", err)
		}
		p.broker, p.address = b, b.Address()
	}
	if err := p.connect(); err != nil {
		return nil, errors.Join(fmt.Errorf("broker %s: %w; look at its address", p.address, err), p.Close())
	}
	return p, nil
}

func (p *published) connect() error {
	o := mqtt.NewClientOptions().AddBroker(mqttline.Broker(p.address)).SetAutoReconnect(true).SetConnectTimeout(5 * time.Second)
	p.c = mqtt.NewClient(mqttline.Bounded(o))
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
	p.broker.Cut()
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
