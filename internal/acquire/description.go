package acquire

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Kind names a driver.
type Kind string

// The kinds of source.
const (
	Serial    Kind = "serial"     // a serial port
	TCP       Kind = "tcp"        // lines from a server that is called
	TCPListen Kind = "tcp-listen" // lines from a client that calls
	UDP       Kind = "udp"        // lines in datagrams
	MQTT      Kind = "mqtt"       // lines in messages
	Folder    Kind = "folder"     // a folder into which a logger writes records
	Sound     Kind = "sound"      // a WAV file
	Simulated Kind = "simulated"  // the simulated rig
)

// Kinds lists them.
var Kinds = []Kind{Serial, TCP, TCPListen, UDP, MQTT, Folder, Sound, Simulated}

// Description says what a source is and how its numbers are read.
type Description struct {
	Name         string `json:"name" yaml:"name"`
	Kind         Kind   `json:"kind" yaml:"kind"`
	Address      string `json:"address,omitempty" yaml:"address"` // port, host:port, broker, folder or file
	Baud         int    `json:"baud,omitempty" yaml:"baud"`       // of a serial port
	Topic        string `json:"topic,omitempty" yaml:"topic"`     // of an MQTT broker
	SignIn       `yaml:",inline"`
	Rate         quantity.Frequency `json:"rate_Hz" yaml:"rate"`                          // of each channel
	Lines        string             `json:"lines,omitempty" yaml:"lines"`                 // pattern of a line
	Modulus      int64              `json:"modulus,omitempty" yaml:"modulus"`             // the counter or time starts again from 0 here; 0 = never
	DecimalComma bool               `json:"decimal_comma,omitempty" yaml:"decimal_comma"` //
	Timeout      quantity.Duration  `json:"timeout_s,omitempty" yaml:"timeout"`           // silence after which the device counts as gone
	Quiet        quantity.Duration  `json:"quiet_s,omitempty" yaml:"quiet"`               // a file in a folder is complete when unchanged for so long
	Finished     bool               `json:"finished,omitempty" yaml:"finished"`           // a sound file is one record of a drop, not a stream
	Drops        int                `json:"drops,omitempty" yaml:"drops"`                 // of the simulated rig; 0 = without end
	Every        quantity.Duration  `json:"every_s,omitempty" yaml:"every"`               // of the simulated rig
	Channels     []Channel          `json:"channels,omitempty" yaml:"channels"`
	Invented     bool               `json:"invented,omitempty" yaml:"invented"` // a rehearsal: what comes describes no real product
}

// Made tells that what the source gives is invented; the simulated rig's always is.
func (d *Description) Made() bool { return d.Invented || d.Kind == Simulated }

// Channel is one measured column: value = scale * number + offset, in Unit.
type Channel struct {
	Name   string  `json:"name" yaml:"name"`
	Unit   string  `json:"unit,omitempty" yaml:"unit"`     // of the value: N, kN, mV/V, V, counts, ...
	Scale  float64 `json:"scale,omitempty" yaml:"scale"`   // 0 = 1
	Offset float64 `json:"offset,omitempty" yaml:"offset"` // in Unit
	Limit  float64 `json:"limit,omitempty" yaml:"limit"`   // a number this large or larger, either sign, is an overload; 0 = no limit
}

// Value is what a number of the device means, in Unit.
func (c Channel) Value(number float64) float64 { return number*c.scale() + c.Offset }

func (c Channel) scale() float64 {
	if c.Scale == 0 {
		return 1
	}
	return c.Scale
}

// DefaultTimeout is the silence after which a device counts as gone.
const DefaultTimeout = quantity.Duration(2)

// DefaultQuiet is how long a file must be unchanged to be complete.
const DefaultQuiet = quantity.Duration(2)

// MaxChannels bounds the channels of a source.
const MaxChannels = 32

// lined tells the kinds that read lines of text.
func (k Kind) lined() bool {
	switch k {
	case Serial, TCP, TCPListen, UDP, MQTT:
		return true
	}
	return false
}

// Complete checks a description and fills in what it leaves out. Errors begin with the path of the value at
// fault, "channels[1].unit: ...".
func (d *Description) Complete() error {
	known := false
	for _, k := range Kinds {
		known = known || k == d.Kind
	}
	if !known {
		return fmt.Errorf("kind: %q is no kind of source; known are %s", d.Kind, kindList())
	}
	if err := d.numbers(); err != nil {
		return err
	}
	if d.Address == "" && d.Kind != Simulated {
		return fmt.Errorf("address: it is missing; write %s", addressHint(d.Kind))
	}
	switch {
	case d.Kind == MQTT && d.Topic == "":
		return fmt.Errorf("topic: it is missing; write the topic under which the device publishes its lines")
	case d.Kind != MQTT && d.Topic != "":
		return fmt.Errorf("topic: only a source of kind mqtt has one; remove it")
	case d.Kind == MQTT && strings.Contains(d.Address, "@"):
		d.Address = ""
		return fmt.Errorf("address: a sign-in does not belong into it; write user, and password_file or password_env")
	case d.Kind != Serial && d.Baud != 0:
		return fmt.Errorf("baud: only a serial port has one; remove it")
	case d.Kind == Serial && d.Baud == 0:
		d.Baud = 115200
	}
	if d.Kind == Serial {
		var err error
		if d.Address, err = portName(d.Address); err != nil {
			return err
		}
	}
	if err := d.SignIn.check(d.Kind); err != nil {
		return err
	}
	if d.Name == "" {
		d.Name = string(d.Kind)
	}
	if d.Timeout == 0 {
		d.Timeout = DefaultTimeout
	}
	if d.Quiet == 0 {
		d.Quiet = DefaultQuiet
	}
	if d.Kind.lined() {
		return d.lines()
	}
	if d.Lines != "" {
		return fmt.Errorf("lines: a source of kind %s has no lines; remove it", d.Kind)
	}
	return d.channels()
}

// portName is a serial port as it is opened: COM3, also when it is written com3, COM3: or \\.\COM3. Other names stay as
// they are.
func portName(address string) (string, error) {
	name := strings.TrimSpace(address)
	number, com := strings.CutPrefix(strings.ToUpper(strings.TrimPrefix(name, `\\.\`)), "COM")
	if !com {
		return name, nil
	}
	number = strings.TrimSuffix(number, ":")
	if n, err := strconv.Atoi(number); err != nil || n < 1 || n > 256 || strconv.Itoa(n) != number {
		return "", fmt.Errorf("address: %q is no serial port; write COM and the number that the device manager shows, for example COM3", address)
	}
	return "COM" + number, nil
}

func (d *Description) numbers() error {
	for _, v := range []struct {
		key    string
		v, max float64
	}{{"rate", d.Rate.SI(), 1e7}, {"baud", float64(d.Baud), 1e8}, {"modulus", float64(d.Modulus), 1 << 53}, {"timeout", d.Timeout.SI(), 3600}, {"quiet", d.Quiet.SI(), 3600}, {"every", d.Every.SI(), 86400}, {"drops", float64(d.Drops), 1e6}} {
		if !(v.v >= 0 && v.v <= v.max) {
			return fmt.Errorf("%s: %g is not believed; it lies from 0 to %g", v.key, v.v, v.max)
		}
	}
	if d.Rate == 0 && d.Kind != Folder && d.Kind != Sound {
		return fmt.Errorf("rate: it is missing; write the samples per second of each channel, for example rate: 10 kHz")
	}
	if d.Modulus == 1 {
		return fmt.Errorf("modulus: a counter that is always 0 shows nothing; write the number at which it starts again, for example 65536")
	}
	return nil
}

// lines fits the channels to the pattern: those that are not described come from it.
func (d *Description) lines() error {
	if d.Lines == "" {
		return fmt.Errorf("lines: it is missing; declare a line, for example lines: \"{counter},{force mV/V}\"")
	}
	p, err := ParsePattern(d.Lines)
	if err != nil {
		return err
	}
	if d.Modulus > 0 && !p.Counted() {
		return fmt.Errorf("modulus: the line has neither {counter} nor {time}; remove it, or let the device send one")
	}
	given := d.Channels
	d.Channels = nil
	for _, c := range p.channels {
		for i, g := range given {
			if g.Name != c.Name {
				continue
			}
			if g.Unit != "" && c.Unit != "" && g.Unit != c.Unit {
				return fmt.Errorf("channels[%d].unit: %s stands here and %s in the line; write one of them", i, g.Unit, c.Unit)
			}
			if g.Unit == "" {
				g.Unit = c.Unit
			}
			c = g
			given[i].Name = ""
		}
		d.Channels = append(d.Channels, c)
	}
	for i, g := range given {
		if g.Name != "" {
			return fmt.Errorf("channels[%d].name: {%s} does not stand in the line %q", i, g.Name, d.Lines)
		}
	}
	return d.channels()
}

func (d *Description) channels() error {
	if len(d.Channels) == 0 && d.Kind == Simulated {
		d.Channels = []Channel{{Name: "force", Unit: "N"}}
	}
	if len(d.Channels) == 0 && d.Kind != Folder {
		return fmt.Errorf("channels: none is described; name at least one with its unit")
	}
	if len(d.Channels) > MaxChannels {
		return fmt.Errorf("channels: %d are more than the %d that are read", len(d.Channels), MaxChannels)
	}
	seen := map[string]bool{}
	for i, c := range d.Channels {
		switch {
		case strings.TrimSpace(c.Name) == "" || strings.ContainsAny(c.Name, ",;\t\r\n\"[](){}#"):
			return fmt.Errorf("channels[%d].name: %q cannot stand in the header of a record; use letters, digits, spaces", i, c.Name)
		case seen[c.Name]:
			return fmt.Errorf("channels[%d].name: %s is named twice", i, c.Name)
		case strings.ContainsAny(c.Unit, ",;\t\r\n\"[](){}#"):
			return fmt.Errorf("channels[%d].unit: %q cannot stand in the header of a record", i, c.Unit)
		case math.IsNaN(c.Scale+c.Offset+c.Limit) || math.IsInf(c.Scale+c.Offset+c.Limit, 0) || c.Limit < 0:
			return fmt.Errorf("channels[%d]: scale, offset and limit must be numbers, and limit not negative", i)
		}
		seen[c.Name] = true
	}
	return nil
}

// ChannelAt finds a channel by name; "" is the first.
func (d *Description) ChannelAt(name string) (int, error) {
	if name == "" {
		return 0, nil
	}
	var names []string
	for i, c := range d.Channels {
		if strings.EqualFold(c.Name, name) {
			return i, nil
		}
		names = append(names, c.Name)
	}
	return 0, fmt.Errorf("there is no channel %q; the source has %s", name, strings.Join(names, ", "))
}

func kindList() string {
	var s []string
	for _, k := range Kinds {
		s = append(s, string(k))
	}
	return strings.Join(s, ", ")
}

func addressHint(k Kind) string {
	switch k {
	case Serial:
		return "the port, for example address: COM3 or address: /dev/ttyUSB0"
	case MQTT:
		return "the broker, for example address: 192.168.1.5:1883"
	case Folder:
		return "the folder, for example address: D:\\logger"
	case Sound:
		return "the file, for example address: drop17.wav"
	}
	return "host and port, for example address: 192.168.1.5:7000"
}
