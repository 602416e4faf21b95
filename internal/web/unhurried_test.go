package web

import (
	"net/http"
	"net/http/httptest"
	"testing"
	"time"
)

// An answer that takes its time outlives the limit that the server gives to all others.
func TestTheReportOutlivesTheLimit(t *testing.T) {
	slow := http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		time.Sleep(300 * time.Millisecond) // Waits for time: the limit of the others must have passed.
		_, _ = w.Write([]byte("whole"))
	})
	for _, c := range []struct {
		h    http.Handler
		ends bool
	}{{unhurried(slow), true}, {slow, false}} {
		s := httptest.NewUnstartedServer(c.h)
		s.Config.WriteTimeout = 100 * time.Millisecond
		s.Start()
		res, err := s.Client().Get(s.URL) //nolint:noctx // ends with the server
		if err == nil {
			err = res.Body.Close()
		}
		if ended := err == nil; ended != c.ends {
			t.Errorf("with its time %v: %v", c.ends, err)
		}
		s.Close()
	}
}
