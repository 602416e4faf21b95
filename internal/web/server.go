package web

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"sync"
	"sync/atomic"
	"time"

	"github.com/klauspost/compress/gzhttp"

	"github.com/hardcatch/hardcatch/internal/day"
	"github.com/hardcatch/hardcatch/internal/foresee"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/view"
)

// Limits of a request.
const (
	maxBody    = 64 << 10
	maxHeader  = 16 << 10
	pageTime   = 60 * time.Second
	reportTime = time.Hour // of a large campaign: every reduction is made again
	headPeriod = 300 * time.Millisecond
)

// Options of a server.
type Options struct {
	// Names are host names, beside localhost and the address itself, by which the server may be addressed.
	Names []string
	// Patience is how long the page of the comparison waits for its tests before it says that they are being worked out;
	// 0 = 80 ms.
	Patience time.Duration
	// Log is told of errors that no user's input explains; nil = nobody.
	Log func(text string)
}

// Server answers for one campaign.
type Server struct {
	app   *look.Access
	s     *look.Campaign
	names map[string]bool
	log   func(string)
	hub   *hub
	pages map[string]map[string]page // by language and name
	files map[string]asset
	reads reports
	maps  foresee.Maps
	day   *day.Day // nil without a live source

	photos sync.Mutex

	patience time.Duration // with a comparison

	compared, comparing atomic.Bool // somebody has looked at the comparison; it is being made ready
}

// New makes a server for an open campaign.
func New(a *look.Access, s *look.Campaign, o Options) (*Server, error) {
	srv := &Server{app: a, s: s, names: map[string]bool{}, log: o.Log, hub: newHub(), patience: o.Patience}
	if srv.patience <= 0 {
		srv.patience = patience
	}
	if srv.log == nil {
		srv.log = func(string) {}
	}
	for _, n := range o.Names {
		srv.names[n] = true
	}
	var err error
	if srv.files, err = loadAssets(); err != nil {
		return nil, err
	}
	if srv.pages, err = loadPages(srv.files); err != nil {
		return nil, err
	}
	return srv, nil
}

// Handler is everything, guarded.
func (s *Server) Handler() http.Handler {
	mux := http.NewServeMux()
	squeeze, err := gzhttp.NewWrapper(gzhttp.MinSize(600))
	if err != nil {
		panic(fmt.Sprintf("web: %v", err)) // the options above are constants
	}
	for _, r := range s.routes() {
		var h http.Handler = s.answer(r)
		switch {
		case r.pattern == reportPage:
			h = unhurried(squeeze(h))
		case !r.stream:
			h = squeeze(http.TimeoutHandler(h, pageTime, "this took too long"))
		}
		if r.pattern == addPhoto {
			mux.Handle(r.pattern, patient(http.MaxBytesHandler(h, maxPhotoBody)))
			continue
		}
		mux.Handle(r.pattern, http.MaxBytesHandler(h, maxBody))
	}
	return s.guard(mux)
}

// unhurried gives an answer that takes long its time. It ends with its reader.
func unhurried(h http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		// A writer that has no deadline, as in a test, says so, and needs none.
		_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(reportTime))
		ctx, cancel := context.WithTimeout(r.Context(), reportTime)
		defer cancel()
		h.ServeHTTP(w, r.WithContext(ctx))
	})
}

// Serve answers on a listener until the context ends.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	h := &http.Server{
		Handler: s.Handler(), ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 15 * time.Second, WriteTimeout: pageTime + 10*time.Second,
		IdleTimeout: 2 * time.Minute, MaxHeaderBytes: maxHeader,
	}
	go s.watch(ctx)
	go func() {
		<-ctx.Done()
		s.hub.close()
		// A request under way may take its time; one that hangs may not.
		end, cancel := context.WithTimeout(context.WithoutCancel(ctx), 3*time.Second)
		defer cancel()
		if err := h.Shutdown(end); err != nil {
			s.log(fmt.Sprintf("requests were cut off: %v", err))
		}
	}()
	if err := h.Serve(l); !errors.Is(err, http.ErrServerClosed) {
		return fmt.Errorf("the server stopped: %w", err)
	}
	return nil
}

// watch tells the pages when the logbook has a new head, whoever wrote it, and has the campaign ready for them.
func (s *Server) watch(ctx context.Context) {
	tick := time.NewTicker(headPeriod)
	defer tick.Stop()
	var last int64
	for {
		if h, err := s.s.Head(ctx); err == nil && h.Seq != last {
			last = h.Seq
			// Worked out before anybody asks; whoever asks meets the error.
			_, _ = view.Of(ctx, s.s)
			s.hub.publish("head", h)
			s.readyComparison(ctx)
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}
