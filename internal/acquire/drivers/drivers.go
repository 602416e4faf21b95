// Package drivers opens the driver that a description names.
package drivers

import (
	"fmt"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/folder"
	"github.com/hardcatch/hardcatch/internal/acquire/linestream"
	"github.com/hardcatch/hardcatch/internal/acquire/mqttline"
	"github.com/hardcatch/hardcatch/internal/acquire/serialport"
	"github.com/hardcatch/hardcatch/internal/acquire/simdev"
	"github.com/hardcatch/hardcatch/internal/acquire/soundfile"
)

// Open makes the source of a completed description. Nothing is connected before it runs.
func Open(d *acquire.Description, clock acquire.Clock) (acquire.Source, error) {
	switch d.Kind {
	case acquire.Serial:
		return serialport.New(d, clock), nil
	case acquire.TCP, acquire.TCPListen, acquire.UDP:
		return linestream.New(d, clock), nil
	case acquire.MQTT:
		return mqttline.New(d, clock), nil
	case acquire.Folder:
		return folder.New(d, clock), nil
	case acquire.Sound:
		return soundfile.New(d, clock)
	case acquire.Simulated:
		return simdev.NewSource(d, clock), nil
	}
	return nil, fmt.Errorf("no driver knows a source of kind %q", d.Kind)
}
