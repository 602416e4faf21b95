package acquiretest

import (
	"bytes"
	"sync"
	"time"

	"github.com/hardcatch/hardcatch/internal/acquire"
)

// Recorder is a sink that keeps everything.
type Recorder struct {
	mu      sync.Mutex
	next    int64
	samples map[int64][]float64
	events  []acquire.Event
	records []acquire.LoggerRecord
	last    time.Time
	broken  bool
	refuse  error
	over    bool
	late    bool
}

// Samples is part of acquire.Sink.
func (r *Recorder) Samples(b *acquire.Block) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.samples == nil {
		r.samples = map[int64][]float64{}
	}
	r.late = r.late || r.over
	if r.refuse != nil {
		return r.refuse
	}
	r.broken = r.broken || b.First < r.next || b.Arrived.Before(r.last) || b.Len() == 0
	for i := range b.Len() {
		v := make([]float64, len(b.Values))
		for c := range v {
			v[c] = b.Values[c][i]
		}
		r.samples[b.First+int64(i)] = v
	}
	r.next, r.last = b.First+int64(b.Len()), b.Arrived
	return nil
}

// Event is part of acquire.Sink.
func (r *Recorder) Event(e acquire.Event) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.events = append(r.events, e)
	return r.refuse
}

// Record is part of acquire.Sink.
func (r *Recorder) Record(f acquire.LoggerRecord) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	f.Data = bytes.Clone(f.Data)
	r.records = append(r.records, f)
	return r.refuse
}

// Refuse makes every call an error from now on.
func (r *Recorder) Refuse(err error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.refuse = err
}

// Over says that no more samples may come.
func (r *Recorder) Over() {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.over = true
}

// Late tells that samples came after it was over.
func (r *Recorder) Late() bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.late
}

// Next is one past the last sample.
func (r *Recorder) Next() int64 {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.next
}

// At is a sample.
func (r *Recorder) At(i int64) ([]float64, bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	v, ok := r.samples[i]
	return v, ok
}

// Numbers counts the samples that are numbers in the first channel.
func (r *Recorder) Numbers() int64 {
	r.mu.Lock()
	defer r.mu.Unlock()
	n := int64(0)
	for _, v := range r.samples {
		if v[0] == v[0] {
			n++
		}
	}
	return n
}

// Events are those so far.
func (r *Recorder) Events() []acquire.Event {
	r.mu.Lock()
	defer r.mu.Unlock()
	return append([]acquire.Event(nil), r.events...)
}

// Records are those so far.
func (r *Recorder) Records() []acquire.LoggerRecord {
	r.mu.Lock()
	defer r.mu.Unlock()
	return append([]acquire.LoggerRecord(nil), r.records...)
}

// Has tells that an event of a kind came.
func (r *Recorder) Has(k acquire.EventKind) bool {
	for _, e := range r.Events() {
		if e.Kind == k {
			return true
		}
	}
	return false
}

// Count is the sum of the counts of a kind of event.
func (r *Recorder) Count(k acquire.EventKind) int64 {
	n := int64(0)
	for _, e := range r.Events() {
		if e.Kind == k {
			n += e.Count
		}
	}
	return n
}

// Breaks tells that sample numbers or arrival times went backwards, or that a block was empty.
func (r *Recorder) Breaks() bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.broken
}
