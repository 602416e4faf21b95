package sourcefile

import (
	"strings"
	"testing"
)

// FuzzRead: whatever the bytes, there is an error that begins with the place, or a description that is complete.
func FuzzRead(f *testing.F) {
	for _, s := range []string{
		"kind: serial\naddress: COM3\nbaud: 460800\nrate: 10 kHz\nlines: \"{counter},{force mV/V}\"\nmodulus: 65536\n", "kind: mqtt\naddress: rig.local\ntopic: rig/lines\nrate: 1 kHz\nlines: \"{a}\"\nuser: guest\n",
		"kind: sound\naddress: a.wav\nfinished: true\nchannels:\n  - {name: force, unit: kN, limit: 1e400}\n", "kind: folder\naddress: x\nquiet: 1 s\n", "kind: udp\naddress: :1\nrate: 1e400 Hz\nlines: \"{\"\n",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		d, err := Read("s.yaml", strings.NewReader(text))
		if err != nil {
			if !strings.HasPrefix(err.Error(), "s.yaml") {
				t.Fatal(err)
			}
			return
		}
		c := *d
		if err := c.Complete(); err != nil {
			t.Fatalf("%+v: %v", d, err)
		}
	})
}
