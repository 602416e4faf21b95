package web

import (
	"context"
	"net/http"
	"time"

	"github.com/hardcatch/hardcatch/internal/view"
)

// patience is how long the page of the comparison waits for its exact tests, which take seconds on hundreds of drops.
const patience = 80 * time.Millisecond

// workingPage stands for a comparison that is being worked out.
type workingPage struct {
	Question string
	Again    string // address of the comparison
}

// waitForComparison waits for a comparison as long as somebody who looks would; nil = it is still being worked out, which goes on.
func (s *Server) waitForComparison(ctx context.Context, o view.ComparisonOptions) (*view.ComparisonView, error) {
	type answer struct {
		v   *view.ComparisonView
		err error
	}
	done := make(chan answer, 1)
	go func() {
		v, err := view.ComparisonOf(context.WithoutCancel(ctx), s.s, o)
		done <- answer{v, err}
	}()
	late := time.NewTimer(s.patience)
	defer late.Stop()
	select {
	case a := <-done:
		return a.v, a.err
	case <-late.C:
		return nil, nil //nolint:nilnil // neither an answer nor an error yet
	}
}

// showWorking says that the comparison is being worked out, and asks the browser to come again.
func (s *Server) showWorking(w http.ResponseWriter, r *http.Request) error {
	st, err := s.s.Moment(r.Context())
	if err != nil {
		return err
	}
	w.Header().Set("Refresh", "1")
	w.Header().Set("Cache-Control", "no-store")
	return s.render(w, r, http.StatusOK, "working", workingPage{st.Info.Question, r.URL.RequestURI()})
}
