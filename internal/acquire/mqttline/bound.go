package mqttline

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"net/url"

	mqtt "github.com/eclipse/paho.mqtt.golang"
	"golang.org/x/net/proxy"
)

// Bounds of what a broker may send. A header of five bytes can announce 256 MiB, which the client library would set aside
// before the first of them has come.
const (
	// MaxMessage bounds a message with its topic, in bytes.
	MaxMessage = 1 << 20
	// maxWaiting bounds the messages that wait to be read, in bytes.
	maxWaiting = 8 << 20
)

// Bounded makes a client hang up on whoever announces a longer message than MaxMessage, before room is made for it.
func Bounded(o *mqtt.ClientOptions) *mqtt.ClientOptions {
	return o.SetCustomOpenConnectionFn(func(to *url.URL, o mqtt.ClientOptions) (net.Conn, error) {
		c, err := dial(to, o)
		if err != nil {
			return nil, err
		}
		return &boundedConn{Conn: c}, nil
	})
}

// dial connects as the client library itself would, proxies named by the environment included.
func dial(to *url.URL, o mqtt.ClientOptions) (net.Conn, error) {
	direct := &net.Dialer{Timeout: o.ConnectTimeout}
	switch to.Scheme {
	case "tcp":
		return proxy.FromEnvironmentUsing(direct).Dial("tcp", to.Host)
	case "ssl":
		c, err := proxy.FromEnvironmentUsing(direct).Dial("tcp", to.Host)
		if err != nil {
			return nil, err
		}
		trust := &tls.Config{MinVersion: tls.VersionTLS12}
		if o.TLSConfig != nil {
			trust = o.TLSConfig.Clone()
		}
		if trust.ServerName == "" {
			trust.ServerName = to.Hostname()
		}
		secured := tls.Client(c, trust)
		ctx, cancel := context.WithTimeout(context.Background(), o.ConnectTimeout)
		defer cancel()
		if err := secured.HandshakeContext(ctx); err != nil {
			return nil, errors.Join(err, c.Close())
		}
		return secured, nil
	case "ws", "wss":
		return mqtt.NewWebsocket(to.String(), o.TLSConfig, o.ConnectTimeout, o.HTTPHeaders, o.WebsocketOptions)
	}
	return nil, fmt.Errorf("the address begins with %s://; write tcp, mqtts, ws or wss there", to.Scheme)
}

// boundedConn follows the packets that come in. A packet is one byte, the length of the rest in one to four bytes of seven bits
// each, the lowest first, and the rest (MQTT 3.1.1, 2.2).
type boundedConn struct {
	net.Conn
	packetBounds
}

func (c *boundedConn) Read(b []byte) (int, error) {
	n, err := c.Conn.Read(b)
	if good, refused := c.follow(b[:n]); refused != nil {
		return good, refused
	}
	return n, err
}

type packetBounds struct {
	at   int // byte of the head that comes next
	rest int // bytes of the packet after its head
}

// follow is how many bytes may be passed on: all but the one that completes a length beyond the bound.
func (p *packetBounds) follow(b []byte) (int, error) {
	for i := 0; i < len(b); {
		switch {
		case p.at < 0:
			n := min(p.rest, len(b)-i)
			i += n
			if p.rest -= n; p.rest == 0 {
				p.at = 0
			}
			continue
		case p.at == 0:
			p.rest = 0
		default:
			p.rest |= int(b[i]&0x7f) << (7 * (p.at - 1))
			if p.rest > MaxMessage || p.at > 4 {
				return i, fmt.Errorf("a message of more than %d bytes is announced; let the device send fewer lines in one message, or look whether this is an MQTT broker", MaxMessage)
			}
			if b[i]&0x80 == 0 {
				p.at = -2
				if p.rest == 0 {
					p.at = -1
				}
			}
		}
		p.at++
		i++
	}
	return len(b), nil
}
