package mqttline_test

import (
	"bytes"
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"math/big"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/acquiretest"
	"github.com/hardcatch/hardcatch/internal/acquire/mqttbroker"
	"github.com/hardcatch/hardcatch/internal/acquire/mqttline"
	"github.com/hardcatch/hardcatch/internal/waittest"
)

// guarded is a broker that knows user rig with password p4ss word, on 127.0.0.1, with or without TLS.
type guarded struct {
	address string
	ca      string // file; empty without TLS
}

// certificate is one that signs itself, for 127.0.0.1, and its files.
func certificate(t *testing.T) (certFile, keyFile string) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	must(t, err)
	c := x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "broker of the rig"}, IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)},
		NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour), IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageDigitalSignature | x509.KeyUsageCertSign}
	der, err := x509.CreateCertificate(rand.Reader, &c, &c, &key.PublicKey, key)
	must(t, err)
	private, err := x509.MarshalPKCS8PrivateKey(key)
	must(t, err)
	dir := t.TempDir()
	certFile, keyFile = filepath.Join(dir, "broker.pem"), filepath.Join(dir, "broker.key")
	must(t, os.WriteFile(certFile, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}), 0o644))
	must(t, os.WriteFile(keyFile, pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: private}), 0o644))
	return certFile, keyFile
}

func guardedEmbedded(t *testing.T, secured bool) guarded {
	t.Helper()
	a := mqttbroker.Access{Passwords: map[string]string{"rig": "p4ss word"}}
	g := guarded{}
	if secured {
		cert, key := certificate(t)
		pair, err := tls.LoadX509KeyPair(cert, key)
		must(t, err)
		a.TLS, g.ca = &tls.Config{Certificates: []tls.Certificate{pair}, MinVersion: tls.VersionTLS12}, cert
	}
	b, err := mqttbroker.StartFor(context.Background(), "127.0.0.1:0", acquire.WallClock{}, a)
	must(t, err)
	t.Cleanup(func() { must(t, b.Close()) })
	g.address = b.Address()
	return g
}

func guardedMosquitto(program, makePasswords string) func(t *testing.T, secured bool) guarded {
	return func(t *testing.T, secured bool) guarded {
		t.Helper()
		l, err := net.Listen("tcp", "127.0.0.1:0")
		must(t, err)
		g := guarded{address: l.Addr().String()}
		_, port, err := net.SplitHostPort(g.address)
		must(t, err)
		must(t, l.Close())
		dir := t.TempDir()
		passwords, conf := filepath.Join(dir, "passwords"), filepath.Join(dir, "broker.conf")
		if out, err := exec.Command(makePasswords, "-b", "-c", passwords, "rig", "p4ss word").CombinedOutput(); err != nil {
			t.Fatalf("%s: %v", out, err)
		}
		text := fmt.Sprintf("user root\nlistener %s 127.0.0.1\nallow_anonymous false\npassword_file %s\n", port, passwords)
		if secured {
			cert, key := certificate(t)
			text += fmt.Sprintf("certfile %s\nkeyfile %s\n", cert, key)
			g.ca = cert
		}
		must(t, os.WriteFile(conf, []byte(text), 0o644))
		cmd := exec.Command(program, "-c", conf)
		var said bytes.Buffer
		cmd.Stderr = &said
		must(t, cmd.Start())
		t.Cleanup(func() {
			_ = cmd.Process.Kill()
			_ = cmd.Wait()
		})
		answers(t, g.address)
		return g
	}
}

// opened runs a source until it delivers or ends.
func opened(t *testing.T, d *acquire.Description, g guarded) error {
	t.Helper()
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	var r acquiretest.Recorder
	ended := make(chan error, 1)
	go func() { ended <- mqttline.New(d, acquire.WallClock{}).Run(ctx, &r) }()
	o := mqtt.NewClientOptions().AddBroker("tcp://" + g.address).SetUsername("rig").SetPassword("p4ss word").SetAutoReconnect(false)
	if g.ca != "" {
		ca, err := os.ReadFile(g.ca)
		must(t, err)
		pool := x509.NewCertPool()
		pool.AppendCertsFromPEM(ca)
		o.Servers = nil
		o.AddBroker("ssl://" + g.address).SetTLSConfig(&tls.Config{RootCAs: pool, MinVersion: tls.VersionTLS12})
	}
	c := mqtt.NewClient(o)
	tok := c.Connect()
	if !tok.WaitTimeout(5*time.Second) || tok.Error() != nil {
		t.Fatalf("the device cannot sign in: %v", tok.Error())
	}
	defer c.Disconnect(50)
	var err error
	over, sent := false, 0
	waittest.Until(t, waittest.For("a sample, or the end of the source"), func() bool {
		select {
		case err = <-ended:
			over = true
			return true
		default:
		}
		sent++
		p := c.Publish("rig/lines", 1, false, fmt.Sprintf("%d,1.5,2\n", sent))
		p.WaitTimeout(5 * time.Second)
		return r.Next() > 0
	})
	if over {
		return err
	}
	stop()
	if err := <-ended; !errors.Is(err, context.Canceled) {
		return err
	}
	return nil
}

func signInSuite(t *testing.T, start func(*testing.T, bool) guarded) {
	secret := filepath.Join(t.TempDir(), "secret.txt")
	must(t, os.WriteFile(secret, []byte("p4ss word\r\nsecond line\n"), 0o600))
	wrong := filepath.Join(t.TempDir(), "wrong.txt")
	must(t, os.WriteFile(wrong, []byte("guess\n"), 0o600))
	t.Setenv("RIG_PASSWORD", "p4ss word")
	stranger, _ := certificate(t)
	describe := func(g guarded, s acquire.SignIn) *acquire.Description {
		return acquiretest.Describe(t, acquire.Description{Kind: acquire.MQTT, Address: g.address, Topic: "rig/+", Lines: acquiretest.Lines, SignIn: s})
	}
	refused := func(t *testing.T, g guarded, d *acquire.Description, want ...string) {
		t.Helper()
		err := opened(t, d, g)
		if !errors.Is(err, acquire.ErrRefused) {
			t.Errorf("%v", err)
			return
		}
		for _, w := range append(want, "broker "+g.address) {
			if !strings.Contains(err.Error(), w) {
				t.Errorf("%q is not in %q", w, err)
			}
		}
		if strings.Contains(err.Error(), "p4ss") || strings.Contains(err.Error(), "guess") {
			t.Errorf("the password is in %q", err)
		}
	}
	t.Run("clear", func(t *testing.T) {
		g := start(t, false)
		must(t, opened(t, describe(g, acquire.SignIn{User: "rig", PasswordFile: secret}), g))
		must(t, opened(t, describe(g, acquire.SignIn{User: "rig", PasswordEnv: "RIG_PASSWORD"}), g))
		refused(t, g, describe(g, acquire.SignIn{}), "wants to know who reads", "write user and password_file")
		refused(t, g, describe(g, acquire.SignIn{User: "rig", PasswordFile: wrong}), `of user "rig"`, wrong)
		refused(t, g, describe(g, acquire.SignIn{User: "rig"}), "none is named")
		if err := opened(t, describe(g, acquire.SignIn{User: "rig", PasswordFile: secret, TLS: true}), g); err == nil || !strings.Contains(err.Error(), "remove tls") {
			t.Errorf("%v", err)
		}
	})
	t.Run("tls", func(t *testing.T) {
		g := start(t, true)
		must(t, opened(t, describe(g, acquire.SignIn{User: "rig", PasswordFile: secret, TLS: true, CAFile: g.ca}), g))
		refused(t, g, describe(g, acquire.SignIn{User: "rig", PasswordFile: wrong, TLS: true, CAFile: g.ca}), `of user "rig"`)
		refused(t, g, describe(g, acquire.SignIn{User: "rig", PasswordFile: secret, TLS: true}), "name the certificate of who signed it by ca_file")
		refused(t, g, describe(g, acquire.SignIn{User: "rig", PasswordFile: secret, TLS: true, CAFile: stranger}), "ca_file")
		if err := opened(t, describe(g, acquire.SignIn{User: "rig", PasswordFile: secret}), g); err == nil || !strings.Contains(err.Error(), "write tls: true") {
			t.Errorf("%v", err)
		}
	})
}

func TestSignInEmbedded(t *testing.T) { signInSuite(t, guardedEmbedded) }

func TestSignInMosquitto(t *testing.T) {
	program, err := exec.LookPath("mosquitto")
	if err != nil {
		program = "/usr/sbin/mosquitto"
		_, err = os.Stat(program)
	}
	passwords, perr := exec.LookPath("mosquitto_passwd")
	if err != nil || perr != nil {
		t.Log("mosquitto is not installed; the embedded broker stands for it")
		signInSuite(t, guardedEmbedded)
		return
	}
	signInSuite(t, guardedMosquitto(program, passwords))
}

func TestTopicWithoutRight(t *testing.T) {
	b, err := mqttbroker.StartFor(context.Background(), "127.0.0.1:0", acquire.WallClock{}, mqttbroker.Access{Passwords: map[string]string{"rig": "p4ss word"}, Topics: []string{"rig/lines"}})
	must(t, err)
	defer func() { must(t, b.Close()) }()
	t.Setenv("RIG_PASSWORD", "p4ss word")
	for topic, want := range map[string]string{"rig/lines": "", "other/lines": "topic other/lines may not be read as user \"rig\""} {
		d := acquiretest.Describe(t, acquire.Description{Kind: acquire.MQTT, Address: b.Address(), Topic: topic, Lines: acquiretest.Lines, SignIn: acquire.SignIn{User: "rig", PasswordEnv: "RIG_PASSWORD"}})
		err := opened(t, d, guarded{address: b.Address()})
		if (err == nil) != (want == "") || err != nil && !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", topic, err)
		}
	}
}

// A password that is changed while the broker is away is said once, and the source goes on when it fits again.
func TestRefusedLater(t *testing.T) {
	access := mqttbroker.Access{Passwords: map[string]string{"rig": "one"}}
	b, err := mqttbroker.StartFor(context.Background(), "127.0.0.1:0", acquire.WallClock{}, access)
	must(t, err)
	t.Setenv("RIG_PASSWORD", "one")
	d := acquiretest.Describe(t, acquire.Description{Kind: acquire.MQTT, Address: b.Address(), Topic: "rig/+", Lines: acquiretest.Lines, SignIn: acquire.SignIn{User: "rig", PasswordEnv: "RIG_PASSWORD"}})
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	var r acquiretest.Recorder
	ended := make(chan error, 1)
	clock := new(acquiretest.Watched)
	go func() { ended <- mqttline.New(d, clock).Run(ctx, &r) }()
	clock.Opened(t)
	must(t, b.Close())
	b, err = mqttbroker.StartFor(context.Background(), b.Address(), acquire.WallClock{}, mqttbroker.Access{Passwords: map[string]string{"rig": "two"}})
	must(t, err)
	defer func() { must(t, b.Close()) }()
	waittest.Until(t, func() string { return fmt.Sprintf("the word that the user is refused: %v", r.Events()) }, func() bool {
		for _, e := range r.Events() {
			if e.Kind == acquire.Disconnected && strings.Contains(e.Text, `of user "rig"`) {
				return true
			}
		}
		return false
	})
	stop()
	if err := <-ended; !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
}

func TestBroker(t *testing.T) {
	for in, want := range map[string]string{
		"10.0.0.5":          "tcp://10.0.0.5:1883",
		"10.0.0.5:1884":     "tcp://10.0.0.5:1884",
		"mqtt://rig.local":  "tcp://rig.local:1883",
		"mqtts://rig.local": "ssl://rig.local:8883",
		"ssl://rig:1":       "ssl://rig:1",
		"ws://rig/mqtt":     "ws://rig/mqtt",
		"::1":               "tcp://[::1]:1883",
	} {
		if got := mqttline.Broker(in); got != want {
			t.Errorf("%s: %s, want %s", in, got, want)
		}
	}
}
