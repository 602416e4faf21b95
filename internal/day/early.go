package day

import (
	"sync"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// early is the largest force since the trigger while a drop is not in the campaign yet.
type early struct {
	mu      sync.Mutex
	top     *quantity.Force
	awaited bool
}

// await is told whether a drop is awaited. The capture watches always; what is shown is armed only while a drop is awaited.
func (e *early) await(yes bool) {
	e.mu.Lock()
	defer e.mu.Unlock()
	e.awaited = yes
}

// add takes a view into account and gives it back with the largest force.
func (e *early) add(v LiveView) LiveView {
	e.mu.Lock()
	defer e.mu.Unlock()
	switch acquire.Phase(v.State) {
	case acquire.Triggered:
		if v.Unit == "" && v.Max > 0 && (e.top == nil || v.Max > *e.top) {
			e.top = &v.Max
		}
	case acquire.Idle, acquire.Armed:
		e.top = nil
	}
	v.Provisional = e.top
	if !e.awaited && acquire.Phase(v.State) != acquire.Triggered {
		v.State = string(acquire.Idle)
	}
	return v
}

func (e *early) get() *quantity.Force {
	e.mu.Lock()
	defer e.mu.Unlock()
	return e.top
}

// forget is called when the peak of the record is known.
func (e *early) forget() {
	e.mu.Lock()
	defer e.mu.Unlock()
	e.top = nil
}
