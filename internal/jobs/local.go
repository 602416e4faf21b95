// Package jobs runs pure jobs in numbered parts.
package jobs

import (
	"context"
	"runtime"
	"sync"
)

// Local runs the parts 0 .. parts-1 on this machine, on as many workers as there are cores. start makes a
// worker's own function, so that workers share nothing. Parts are handed out in order; done is told after
// each, one call at a time, and may end the run early by returning false: parts under way are finished. The
// first error ends the run. A part's result may depend on its number only, never on the worker.
func Local(ctx context.Context, parts int, start func() func(ctx context.Context, part int) error, done func(part int) bool) error {
	workers := min(runtime.GOMAXPROCS(0), parts)
	var mu sync.Mutex
	var first error
	next, stop := 0, false
	take := func() int {
		mu.Lock()
		defer mu.Unlock()
		if stop || next >= parts {
			return -1
		}
		next++
		return next - 1
	}
	end := func(part int, err error) {
		mu.Lock()
		defer mu.Unlock()
		if err != nil {
			if first == nil {
				first = err
			}
			stop = true
			return
		}
		if done != nil && !done(part) {
			stop = true
		}
	}
	var wg sync.WaitGroup
	for range workers {
		wg.Add(1)
		go func() {
			defer wg.Done()
			work := start()
			for part := take(); part >= 0; part = take() {
				err := ctx.Err()
				if err == nil {
					err = work(ctx, part)
				}
				end(part, err)
			}
		}()
	}
	wg.Wait()
	return first
}
