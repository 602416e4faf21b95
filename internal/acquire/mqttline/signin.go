package mqttline

import (
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"strings"
	"syscall"

	mqtt "github.com/eclipse/paho.mqtt.golang"
	"github.com/eclipse/paho.mqtt.golang/packets"

	"github.com/hardcatch/hardcatch/internal/acquire"
)

// Broker writes an address as the client library wants it.
func Broker(address string) string { return broker(address, false) }

func broker(address string, secured bool) string {
	scheme, rest, ok := strings.Cut(address, "://")
	if !ok {
		scheme, rest = "tcp", address
	}
	port := "1883"
	switch {
	case scheme == "mqtts" || scheme == "tls" || scheme == "ssl" || secured && (scheme == "tcp" || scheme == "mqtt"):
		scheme, port = "ssl", "8883"
	case scheme == "mqtt":
		scheme = "tcp"
	}
	if _, _, err := net.SplitHostPort(rest); err != nil && (scheme == "tcp" || scheme == "ssl") {
		rest = net.JoinHostPort(strings.Trim(rest, "[]"), port)
	}
	return scheme + "://" + rest
}

// signIn writes user, password and trust into the options.
func signIn(o *mqtt.ClientOptions, d *acquire.Description) error {
	secret, err := d.Secret()
	if err != nil {
		return err
	}
	if d.User != "" {
		o.SetUsername(d.User).SetPassword(secret)
	}
	if !d.TLS || d.CAFile == "" {
		return nil
	}
	pem, err := os.ReadFile(d.CAFile)
	if err != nil {
		return fmt.Errorf("ca_file: %w; the name is seen from the folder in which the program was started", err)
	}
	pool := x509.NewCertPool()
	if !pool.AppendCertsFromPEM(pem) {
		return fmt.Errorf("ca_file: %s holds no certificate in PEM (-----BEGIN CERTIFICATE-----)", d.CAFile)
	}
	o.SetTLSConfig(&tls.Config{RootCAs: pool, MinVersion: tls.VersionTLS12})
	return nil
}

// explained adds to why a connection failed what to do about it.
func explained(err error, d *acquire.Description) error {
	var authority x509.UnknownAuthorityError
	var host x509.HostnameError
	var invalid x509.CertificateInvalidError
	var record tls.RecordHeaderError
	refused := errors.Is(err, packets.ErrorRefusedBadUsernameOrPassword) || errors.Is(err, packets.ErrorRefusedNotAuthorised)
	switch {
	case refused && d.User == "":
		return fmt.Errorf("%w: the broker wants to know who reads (%w); write user and password_file or password_env", acquire.ErrRefused, err)
	case refused:
		return fmt.Errorf("%w of user %q: %w; look at the user and at the password %s", acquire.ErrRefused, d.User, err, kept(d))
	case errors.As(err, &authority):
		return fmt.Errorf("%w: %w; name the certificate of who signed it by ca_file", acquire.ErrRefused, err)
	case errors.As(err, &host):
		return fmt.Errorf("%w: %w; write the address by a name that stands in the certificate", acquire.ErrRefused, err)
	case errors.As(err, &invalid):
		return fmt.Errorf("%w: %w; look at the clock of this computer and let the broker have a valid certificate", acquire.ErrRefused, err)
	case errors.As(err, &record), d.TLS && hungUp(err):
		return fmt.Errorf("%w; look at address and power; if the broker speaks no TLS at that port, take another, or remove tls", err)
	case !d.TLS && hungUp(err):
		return fmt.Errorf("%w; look at address and power; if the broker wants TLS, write tls: true", err)
	}
	return fmt.Errorf("%w; look at address, topic and power", err)
}

func hungUp(err error) bool {
	return errors.Is(err, io.EOF) || errors.Is(err, net.ErrClosed) || errors.Is(err, syscall.ECONNRESET)
}

// kept tells where the password comes from.
func kept(d *acquire.Description) string {
	switch {
	case d.PasswordFile != "":
		return "in the first line of " + d.PasswordFile
	case d.PasswordEnv != "":
		return "in the variable " + d.PasswordEnv
	}
	return "(none is named: write password_file or password_env)"
}

const noRight = 0x80 // of a subscription that was refused, MQTT 3.1.1, 3.9.3

// granted tells whether the broker lets the topic be read.
func granted(t mqtt.Token, d *acquire.Description) error {
	if s, ok := t.(*mqtt.SubscribeToken); ok && s.Result()[d.Topic] == noRight {
		who := "without a user"
		if d.User != "" {
			who = fmt.Sprintf("as user %q", d.User)
		}
		return fmt.Errorf("%w: topic %s may not be read %s; let the broker give that right, or look at the topic", acquire.ErrRefused, d.Topic, who)
	}
	return nil
}
