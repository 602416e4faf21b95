package mqttline_test

import (
	"context"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/acquiretest"
	"github.com/hardcatch/hardcatch/internal/acquire/mqttbroker"
	"github.com/hardcatch/hardcatch/internal/acquire/mqttline"
	"github.com/hardcatch/hardcatch/internal/waittest"
)

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// embedded starts a broker in this process.
func embedded(t *testing.T, address string) (at string, stop func()) {
	t.Helper()
	b, err := mqttbroker.Start(context.Background(), address, acquire.WallClock{})
	must(t, err)
	return b.Address(), func() { must(t, b.Close()) }
}

// mosquitto starts the broker of the system.
func mosquitto(program string) func(t *testing.T, address string) (string, func()) {
	return func(t *testing.T, address string) (string, func()) {
		t.Helper()
		l, err := net.Listen("tcp", address)
		must(t, err)
		address = l.Addr().String()
		must(t, l.Close())
		_, port, err := net.SplitHostPort(address)
		must(t, err)
		conf := filepath.Join(t.TempDir(), "broker.conf")
		must(t, os.WriteFile(conf, []byte(fmt.Sprintf("listener %s 127.0.0.1\nallow_anonymous true\n", port)), 0o644))
		cmd := exec.Command(program, "-c", conf)
		must(t, cmd.Start())
		answers(t, address)
		return address, func() {
			_ = cmd.Process.Kill()
			_ = cmd.Wait()
		}
	}
}

// answers waits until somebody answers at the address.
func answers(t *testing.T, address string) {
	t.Helper()
	waittest.Until(t, waittest.For("an answer at "+address), func() bool {
		c, err := net.Dial("tcp", address)
		if err == nil {
			must(t, c.Close())
		}
		return err == nil
	})
}

// device publishes lines.
type device struct {
	t *testing.T
	c mqtt.Client
}

func (p *device) connect(address string) {
	p.t.Helper()
	p.c = mqtt.NewClient(mqtt.NewClientOptions().AddBroker(mqttline.Broker(address)).SetAutoReconnect(false))
	waittest.Until(p.t, waittest.For("the broker"), func() bool {
		tok := p.c.Connect()
		return tok.WaitTimeout(5*time.Second) && tok.Error() == nil
	})
}

func (p *device) send(text string) {
	tok := p.c.Publish("rig/lines", 1, false, text)
	if !tok.WaitTimeout(5 * time.Second) {
		p.t.Fatal("the broker does not confirm")
	}
	must(p.t, tok.Error())
}

func suite(t *testing.T, start func(*testing.T, string) (string, func())) {
	acquiretest.Run(t, func(t *testing.T) *acquiretest.Bench {
		address, stop := start(t, "127.0.0.1:0")
		p := &device{t: t}
		p.connect(address)
		t.Cleanup(func() {
			p.c.Disconnect(50)
			stop()
		})
		d := acquiretest.Describe(t, acquire.Description{Kind: acquire.MQTT, Address: address, Topic: "rig/+", Lines: acquiretest.Lines})
		clock := new(acquiretest.Watched)
		subscribed := func() { clock.Opened(t) }
		return &acquiretest.Bench{Source: mqttline.New(d, clock), Clock: clock, Send: p.send, Ready: subscribed, Cut: func() { stop() }, Mend: func() {
			p.c.Disconnect(0)
			_, stop = start(t, address)
			p.connect(address)
		}}
	})
}

func TestEmbeddedBroker(t *testing.T) { suite(t, embedded) }

func TestMosquitto(t *testing.T) {
	program, err := exec.LookPath("mosquitto")
	if err != nil {
		program = "/usr/sbin/mosquitto"
		_, err = os.Stat(program)
	}
	if err != nil {
		t.Log("mosquitto is not installed; the embedded broker stands for it")
		suite(t, embedded)
		return
	}
	suite(t, mosquitto(program))
}

func TestNoBrokerIsSaidAtOnce(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	must(t, err)
	d := acquiretest.Describe(t, acquire.Description{Kind: acquire.MQTT, Address: l.Addr().String(), Topic: "x", Lines: acquiretest.Lines})
	must(t, l.Close())
	var r acquiretest.Recorder
	if err := mqttline.New(d, acquire.WallClock{}).Run(t.Context(), &r); err == nil {
		t.Error("a broker that is not there was found")
	}
}
