package mqttline

import (
	"bytes"
	"context"
	"io"
	"net"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/eclipse/paho.mqtt.golang/packets"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// streamConn is a connection whose other side has said everything already.
type streamConn struct {
	net.Conn
	in io.Reader
}

func (c streamConn) Read(b []byte) (int, error) { return c.in.Read(b) }

func publish(payload int) []byte {
	p := packets.NewControlPacket(packets.Publish).(*packets.PublishPacket)
	p.TopicName, p.Payload = "rig", bytes.Repeat([]byte("1"), payload)
	var b bytes.Buffer
	if err := p.Write(&b); err != nil {
		panic(err)
	}
	return b.Bytes()
}

// Whole packets of every length of length come through, byte by byte or at once; one that is too long is refused before its first
// byte. The lengths are those at which MQTT 3.1.1, table 2.4, takes one more byte.
func TestPacketsAreBounded(t *testing.T) {
	var all []byte
	sizes := []int{0, 1, 127 - 5, 128 - 5, 16383 - 5, 16384 - 5, MaxMessage - 5}
	for _, n := range sizes {
		all = append(all, publish(n)...)
	}
	all = append(all, 0xd0, 0) // a ping's answer, without a rest
	for _, in := range []io.Reader{bytes.NewReader(all), iotest.OneByteReader(bytes.NewReader(all)), iotest.HalfReader(bytes.NewReader(all))} {
		c := &boundedConn{Conn: streamConn{in: in}}
		for _, n := range sizes {
			p, err := packets.ReadPacket(c)
			if err != nil || len(p.(*packets.PublishPacket).Payload) != n {
				t.Fatalf("%d bytes: %v", n, err)
			}
		}
		if _, err := packets.ReadPacket(c); err != nil {
			t.Fatal(err)
		}
	}
	for _, head := range []string{"\x30\xff\xff\xff\x7f", "\x30\x81\x80\x40", "\xd0\x00\x30\xff\xff\xff\xff"} {
		c := &boundedConn{Conn: streamConn{in: strings.NewReader(head + strings.Repeat("x", 100))}}
		var err error
		for range 2 {
			if _, err = packets.ReadPacket(c); err != nil {
				break
			}
		}
		if err == nil || !strings.Contains(err.Error(), "1048576 bytes is announced") {
			t.Errorf("%q: %v", head, err)
		}
	}
}

// FuzzFollow: whatever comes, no more room is asked for than for MaxMessage, and what is passed on was sent.
func FuzzFollow(f *testing.F) {
	f.Add(publish(3), 1)
	f.Add([]byte("\x30\x80\x80\x80\x80\x00"), 1)
	f.Add([]byte("\xd0\x00\x30\xff\xff\xff\x7f"), 3)
	f.Add([]byte("\x20\x02\x00\x00\x90\x03\x00\x01\x00"), 2)
	f.Fuzz(func(t *testing.T, b []byte, step int) {
		var p packetBounds
		step = max(step%16, 1)
		for len(b) > 0 {
			n := min(step, len(b))
			good, err := p.follow(b[:n])
			if p.rest < 0 || err == nil && (p.rest > MaxMessage || good != n) || good > n {
				t.Fatalf("%d of %d bytes, %d to come: %v", good, n, p.rest, err)
			}
			if err != nil {
				return
			}
			b = b[n:]
		}
	})
}

// A broker that announces a quarter of a gigabyte is left, and the source says why.
func TestABrokerThatAnnouncesTooMuch(t *testing.T) {
	var lc net.ListenConfig
	l, err := lc.Listen(t.Context(), "tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = l.Close() }()
	go func() {
		c, err := l.Accept()
		if err != nil {
			return
		}
		_, _ = c.Write([]byte("\x20\xff\xff\xff\x7f"))
		_, _ = io.Copy(io.Discard, c)
	}()
	d := &acquire.Description{Name: "mast", Kind: acquire.MQTT, Address: l.Addr().String(), Topic: "rig", Rate: quantity.Frequency(1000), Lines: "{counter},{force kN}"}
	_, err = source{acquire.Made{D: d, Clock: acquire.WallClock{}}}.open(context.Background())
	if err == nil || !strings.HasPrefix(err.Error(), "mast: broker 127.0.0.1:") || !strings.Contains(err.Error(), "1048576 bytes is announced") {
		t.Error(err)
	}
}
