// Package mqttline reads lines from the messages of an MQTT topic.
package mqttline

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"
	"golang.org/x/sync/semaphore"

	"github.com/hardcatch/hardcatch/internal/acquire"
)

type source struct{ acquire.Made }

// New makes a source of kind mqtt. Each message holds one or more whole lines.
func New(d *acquire.Description, clock acquire.Clock) acquire.Source {
	return source{acquire.Made{D: d, Clock: clock}}
}

// Run is part of acquire.Source.
func (s source) Run(ctx context.Context, out acquire.Sink) error {
	r := acquire.LineReader{D: s.D, Clock: s.Clock, Open: s.open, Whole: true}
	return r.Run(ctx, out)
}

const patience = 5 * time.Second

func (s source) open(ctx context.Context) (acquire.Conn, error) {
	place := func(err error) error { return fmt.Errorf("%s: broker %s: %w", s.D.Name, s.D.Address, err) }
	c := &conn{messages: make(chan []byte, 1024), room: semaphore.NewWeighted(maxWaiting), gone: make(chan struct{})}
	c.open, c.leave = context.WithCancel(ctx)
	o := mqtt.NewClientOptions().AddBroker(broker(s.D.Address, s.D.TLS)).SetAutoReconnect(false).SetConnectRetry(false).SetConnectTimeout(patience).SetCleanSession(true)
	o.SetProtocolVersion(4) // a second try with 3.1 would hide why the first was refused
	if err := signIn(o, s.D); err != nil {
		return nil, place(err)
	}
	o.SetConnectionLostHandler(func(_ mqtt.Client, err error) { c.lose(err) })
	c.client = mqtt.NewClient(Bounded(o))
	fail := func(err error) (acquire.Conn, error) {
		c.client.Disconnect(0)
		return nil, place(err)
	}
	if err := settled(c.client.Connect()); err != nil {
		return fail(explained(err, s.D))
	}
	t := c.client.Subscribe(s.D.Topic, 1, c.take)
	err := settled(t)
	if gerr := granted(t, s.D); gerr != nil {
		return fail(gerr)
	}
	if err != nil {
		return fail(explained(err, s.D))
	}
	return c, nil
}

func settled(t mqtt.Token) error {
	if !t.WaitTimeout(patience) {
		return fmt.Errorf("no answer within %s", patience)
	}
	return t.Error()
}

// conn makes messages readable.
type conn struct {
	client   mqtt.Client
	messages chan []byte
	room     *semaphore.Weighted // bytes of messages that may still wait
	open     context.Context
	leave    context.CancelFunc
	rest     []byte
	once     sync.Once
	gone     chan struct{}
	why      error
}

func (c *conn) take(_ mqtt.Client, m mqtt.Message) {
	b := m.Payload()
	if c.room.Acquire(c.open, int64(len(b))) != nil {
		return // the connection was left
	}
	select {
	case c.messages <- b:
	case <-c.gone:
	}
}

func (c *conn) lose(err error) {
	c.once.Do(func() {
		c.why = err
		close(c.gone)
		c.leave()
	})
}

var errClosed = errors.New("the connection to the broker was closed")

// Read gives one message, or as much of it as there is room for up to a line end.
func (c *conn) Read(b []byte) (int, error) {
	if len(c.rest) == 0 {
		t := time.NewTimer(acquire.PollInterval)
		defer t.Stop()
		select {
		case c.rest = <-c.messages:
			c.room.Release(int64(len(c.rest)))
		case <-t.C:
			return 0, nil
		case <-c.gone:
			select {
			case c.rest = <-c.messages: // what came before
				c.room.Release(int64(len(c.rest)))
			default:
				return 0, c.why
			}
		}
	}
	n := len(c.rest)
	if n > len(b) {
		n = len(b)
		for n > 1 && c.rest[n-1] != '\n' {
			n--
		}
	}
	copy(b, c.rest[:n])
	c.rest = c.rest[n:]
	return n, nil
}

// Close leaves the broker.
func (c *conn) Close() error {
	c.lose(errClosed)
	c.client.Disconnect(50)
	return nil
}
