// Package outlet is the device's end of the connections over which a rehearsal plays.
package outlet

import (
	"context"
	"fmt"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/rehearsal"
)

// DefaultTopic is where a rehearsal publishes.
const DefaultTopic = "github.com/hardcatch/hardcatch/rehearsal"

// Open makes the outlet of a kind: tcp serves at the address ("" = a free port of this computer); serial makes a pair of
// ports; mqtt publishes to the broker at the address, or starts one on a free port of this computer when there is
// none.
func Open(ctx context.Context, kind acquire.Kind, address, topic string) (rehearsal.Outlet, error) {
	switch kind {
	case acquire.TCP:
		return serve(ctx, address)
	case acquire.Serial:
		return openPair()
	case acquire.MQTT:
		if topic == "" {
			topic = DefaultTopic
		}
		return publish(ctx, address, topic)
	}
	return nil, fmt.Errorf("a rehearsal cannot be played over %q; it is tcp, serial or mqtt", kind)
}
