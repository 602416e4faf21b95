//go:build !linux

package pty

import "errors"

// Open makes a pair of ports; this system has none.
func Open() (Port, error) {
	return nil, errors.New("this system cannot make a pair of serial ports inside the computer; use TCP or MQTT, or two USB serial adapters with a crossed cable")
}
