package app

import (
	"context"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store/sqlstore"
	"github.com/hardcatch/hardcatch/internal/traceio"
	"github.com/hardcatch/hardcatch/internal/traceio/csvtrace"
)

// Long records push out the oldest; the last one looked at stays, however long it is.
func TestLooksHaveBounds(t *testing.T) {
	var l looks
	add := func(key string, samples int) {
		k := l.find(key)
		k.w = &Look{Whole: &reduce.Whole{Force: make([]float64, samples)}}
		l.fit(k)
	}
	have := func() (keys string) {
		for _, k := range l.list {
			keys += k.key
		}
		return keys
	}
	for i := range 12 {
		add(fmt.Sprint(i%10), 10)
	}
	if have() != "45678901" {
		t.Errorf("small records: %s", have())
	}
	add("a", keptSamples-40)
	if have() != "8901a" {
		t.Errorf("a long record: %s", have())
	}
	add("b", keptSamples+1)
	if have() != "b" {
		t.Errorf("a record longer than the bound: %s", have())
	}
}

// What is read ahead is there when it is asked for; closing waits for what is being read.
func TestReadAhead(t *testing.T) {
	ctx := context.Background()
	a := &App{Files: sqlstore.Files{}, Formats: traceio.NewRegistry(csvtrace.Format{}), Now: time.Now}
	path := filepath.Join(t.TempDir(), "demo.hardcatch")
	if _, err := a.Demo(ctx, path); err != nil {
		t.Fatal(err)
	}
	s, err := a.Session(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	s.ReadAhead("nowhere", "d02", "d03")
	ready := func() (n int) {
		s.looks.mu.Lock()
		defer s.looks.mu.Unlock()
		for _, k := range s.looks.list {
			if k.samples > 0 {
				n++
			}
		}
		return n
	}
	for end := time.Now().Add(20 * time.Second); ready() < 2; time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("%d of 2 records are ready", ready())
		}
	}
	if _, err := s.Look(ctx, "d03"); err != nil || ready() != 2 {
		t.Errorf("looked at: %d ready (%v)", ready(), err)
	}
	s.ReadAhead("d04", "d05", "d06")
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s.ReadAhead("d07")
	if !s.ahead.closed || s.ahead.busy {
		t.Error("reading goes on after the end")
	}
}
