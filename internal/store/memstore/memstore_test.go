package memstore

import (
	"strings"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/store/storetest"
)

func TestSuite(t *testing.T) {
	storetest.Run(t, func(t *testing.T, c store.Campaign, clock func() time.Time) store.Store { return filled(t, c, clock) })
}

func filled(t *testing.T, c store.Campaign, clock func() time.Time) *Store {
	t.Helper()
	s, err := New(t.Context(), c, clock)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestNewRefusesNoQuestion(t *testing.T) {
	if _, err := New(t.Context(), store.Campaign{}, nil); err == nil {
		t.Error("a campaign without a question was taken")
	}
}

func TestVerifyFindsTampering(t *testing.T) {
	for name, tamper := range map[string]func(*snapshot){
		"body":            func(s *snapshot) { s.rows[2].body = []byte(strings.Replace(string(s.rows[2].body), "0.9", "0.8", 1)) },
		"payload":         func(s *snapshot) { s.rows[2].entry.Payload += " " },
		"time":            func(s *snapshot) { s.rows[2].entry.At = "2020-01-01T00:00:00Z" },
		"entry gone":      func(s *snapshot) { s.rows = append(s.rows[:3:3], s.rows[4:]...) },
		"entries swapped": func(s *snapshot) { s.rows[3], s.rows[4] = s.rows[4], s.rows[3] },
		"rehashed": func(s *snapshot) {
			s.rows[3].entry.Payload = "{}"
			s.rows[3].entry.Hash = store.HashEntry(s.rows[3].entry)
		},
		"result": func(s *snapshot) { s.rows[6].reduction.Result[0] = '[' },
		"original changed": func(s *snapshot) {
			for _, b := range s.originals {
				b[0] ^= 1
			}
		},
		"original gone":     func(s *snapshot) { clear(s.originals) },
		"original too many": func(s *snapshot) { s.originals["x"] = []byte("x") },
	} {
		t.Run(name, func(t *testing.T) {
			s := filled(t, storetest.Question(), storetest.Clock())
			if err := storetest.Scenario(t.Context(), s); err != nil {
				t.Fatal(err)
			}
			tamper(&s.now)
			v, err := s.Verify(t.Context())
			if err != nil || v.Break == nil {
				t.Errorf("not found: %+v, %v", v, err)
			}
		})
	}
}
