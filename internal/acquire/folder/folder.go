// Package folder watches a folder into which a logger writes records.
package folder

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/fsnotify/fsnotify"

	"github.com/hardcatch/hardcatch/internal/acquire"
)

// MaxFile bounds a record.
const MaxFile = 1 << 30

// rescan is how often the folder is read even when the system reports nothing, as it does for network drives.
const rescan = 2 * time.Second

type source struct{ acquire.Made }

// New makes a source of kind folder. It gives each file that appears or changes once it is complete: nobody has
// it open for writing, where the system can tell, and it was unchanged for the description's quiet time. Files
// that are there from the start are left alone.
func New(d *acquire.Description, clock acquire.Clock) acquire.Source {
	return source{acquire.Made{D: d, Clock: clock}}
}

// seen is how a file looked last.
type seen struct {
	size    int64
	changed time.Time
	since   time.Time // unchanged since, by our clock
	done    bool
}

type watch struct {
	source
	out   acquire.Sink
	files map[string]*seen
	gone  bool
}

// Run is part of acquire.Source.
func (s source) Run(ctx context.Context, out acquire.Sink) error {
	w := &watch{source: s, out: out, files: map[string]*seen{}}
	if err := w.scan(true); err != nil {
		return fmt.Errorf("%s: the folder cannot be read: %w; look whether it is there", s.D.Name, err)
	}
	events, errs, stop := s.notices()
	defer stop()
	tick, end := s.Clock.Tick(acquire.PollInterval)
	defer end()
	last := s.Clock.Now()
	for {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case e, ok := <-events:
			if !ok {
				events = nil
				continue
			}
			w.look(filepath.Base(e.Name), false)
		case _, ok := <-errs: // what the system could not report is found by the next scan
			if !ok {
				errs = nil
			}
			last = time.Time{}
		case <-tick:
			if now := s.Clock.Now(); now.Sub(last) >= rescan {
				last = now
				if err := w.rescan(); err != nil {
					return err
				}
			}
			if err := w.deliver(); err != nil {
				return err
			}
		}
	}
}

// notices asks the system to report changes; nil channels when it cannot, then only the scans find files.
func (s source) notices() (<-chan fsnotify.Event, <-chan error, func()) {
	n, err := fsnotify.NewWatcher()
	if err != nil {
		return nil, nil, func() {}
	}
	stop := func() { _ = n.Close() }
	if err := n.Add(s.D.Address); err != nil {
		stop()
		return nil, nil, func() {}
	}
	return n.Events, n.Errors, stop
}

// rescan reads the folder, and says when it is gone or back.
func (w *watch) rescan() error {
	err := w.scan(false)
	switch {
	case err != nil && !w.gone:
		w.gone = true
		return w.out.Event(acquire.Event{Kind: acquire.Disconnected, At: w.Clock.Now(), Text: err.Error()})
	case err == nil && w.gone:
		w.gone = false
		return w.out.Event(acquire.Event{Kind: acquire.Reconnected, At: w.Clock.Now()})
	}
	return nil
}

func (w *watch) scan(first bool) error {
	entries, err := os.ReadDir(w.D.Address)
	if err != nil {
		return err
	}
	for _, e := range entries {
		w.look(e.Name(), first)
	}
	return nil
}

// look notes how a file looks now.
func (w *watch) look(name string, first bool) {
	low := strings.ToLower(name)
	if strings.HasPrefix(low, ".") || strings.HasPrefix(low, "~") || strings.HasSuffix(low, "~") || strings.HasSuffix(low, ".tmp") || strings.HasSuffix(low, ".part") {
		return
	}
	st, err := os.Stat(filepath.Join(w.D.Address, name))
	if err != nil || !st.Mode().IsRegular() {
		if errors.Is(err, os.ErrNotExist) {
			delete(w.files, name)
		}
		return
	}
	f := w.files[name]
	if f == nil {
		f = &seen{size: -1, done: first}
		w.files[name] = f
	}
	if f.size != st.Size() || !f.changed.Equal(st.ModTime()) {
		f.done = first
		f.size, f.changed, f.since = st.Size(), st.ModTime(), w.Clock.Now()
	}
}

// deliver gives the files that are complete.
func (w *watch) deliver() error {
	for name, f := range w.files {
		if f.done || f.size == 0 || w.Clock.Now().Sub(f.since).Seconds() < w.D.Quiet.SI() {
			continue
		}
		w.look(name, false)
		if w.files[name] != f || w.Clock.Now().Sub(f.since).Seconds() < w.D.Quiet.SI() {
			continue
		}
		path := filepath.Join(w.D.Address, name)
		if f.size > MaxFile {
			f.done = true
			if err := w.out.Event(acquire.Event{Kind: acquire.Garbage, At: w.Clock.Now(), Count: 1, Text: fmt.Sprintf("%s is larger than %d MB", name, MaxFile>>20)}); err != nil {
				return err
			}
			continue
		}
		data, err := complete(path)
		if err != nil || int64(len(data)) != f.size {
			continue // somebody still has it; the next round tries again
		}
		f.done = true
		if err := w.out.Record(acquire.LoggerRecord{Name: name, Data: data, Arrived: w.Clock.Now()}); err != nil {
			return err
		}
	}
	return nil
}
