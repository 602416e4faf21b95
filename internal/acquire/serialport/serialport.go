// Package serialport reads lines from a serial port.
package serialport

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"go.bug.st/serial"

	"github.com/hardcatch/hardcatch/internal/acquire"
)

type source struct{ acquire.Made }

// New makes a source of kind serial: 8 data bits, no parity, one stop bit.
func New(d *acquire.Description, clock acquire.Clock) acquire.Source {
	return source{acquire.Made{D: d, Clock: clock}}
}

// Run is part of acquire.Source.
func (s source) Run(ctx context.Context, out acquire.Sink) error {
	r := acquire.LineReader{D: s.D, Clock: s.Clock, Open: s.open, MidLine: true, Stay: true}
	return r.Run(ctx, out)
}

func (s source) open(context.Context) (acquire.Conn, error) {
	p, err := serial.Open(s.D.Address, &serial.Mode{BaudRate: s.D.Baud})
	if err != nil {
		return nil, fmt.Errorf("%s: port %s cannot be opened: %w; %s", s.D.Name, s.D.Address, err, ports())
	}
	if err := p.SetReadTimeout(acquire.PollInterval); err != nil {
		return nil, errors.Join(fmt.Errorf("%s: port %s: %w", s.D.Name, s.D.Address, err), p.Close())
	}
	return port{p}, nil
}

// ports names what could be opened.
func ports() string {
	list, err := serial.GetPortsList()
	if err != nil || len(list) == 0 {
		return "this computer shows no serial port; look at the plug"
	}
	return "ports here are " + strings.Join(list, ", ")
}

// port makes a port that was unplugged an error: its reads give nothing, at once.
type port struct{ serial.Port }

func (p port) Read(b []byte) (int, error) {
	n, err := p.Port.Read(b)
	var gone *serial.PortError
	if errors.As(err, &gone) && gone.Code() == serial.PortClosed {
		err = fmt.Errorf("the port was closed: %w", io.EOF)
	}
	return n, err
}
