package day

import (
	"context"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/acquire/rehearsal"
	"github.com/hardcatch/hardcatch/internal/look"
)

// Bench is what live capture and rehearsals need from outside, beside the campaign. It is given by the program's main; a
// program without live sources leaves the rest nil.
type Bench struct {
	*look.Access
	Clock   acquire.Clock
	Sources Sources
	Outlets func(ctx context.Context, over acquire.Kind, address, topic string) (rehearsal.Outlet, error)
}
