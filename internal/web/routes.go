package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strings"

	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/store"
)

// route is one thing that can be asked for.
type route struct {
	pattern string // of the mux, with the method
	do      func(w http.ResponseWriter, r *http.Request) error
	stream  bool // lasts until the reader goes away
}

func (s *Server) routes() []route {
	return append(s.liveRoutes(), []route{
		{"GET /{$}", s.showCampaign, false},
		{"GET /drops", s.showDrops, false},
		{"GET /drops/{id}", s.showDrop, false},
		{"GET /drops/{id}/record", s.giveRecord, false},
		{"GET /drops/{id}/drawings/{name}", s.giveDrawing, false},
		{"POST /drops/{id}/decide", s.decide, false},
		{"POST /drops/{id}/withdraw", s.withdraw, false},
		{addPhoto, s.attachPhoto, false},
		{"GET /drops/{id}/photos/{n}", s.givePhoto, false},
		{"POST /drops/{id}/events", s.moveEvents, false},
		{"POST /drops/{id}/events/withdraw", s.withdrawEvents, false},
		{"GET /results", s.leadToAnswer, false},
		{"GET /cells/{n}", s.showCell, false},
		{"GET /comparison", s.showComparison, false},
		{"GET /checks", s.showChecks, false},
		{"GET /limits", s.showLimits, false},
		{"GET /model", s.showModel, false},
		{"GET /map", s.showMap, false},
		{"GET /map/fall", s.leadToFall, false},
		{"GET /map/drawing.svg", s.giveMapDrawing, false},
		{"GET /map/grid.csv", s.giveMapGrid, false},
		{"GET /rig", s.showRig, false},
		{"GET /logbook", s.showLogbook, false},
		{"GET /history", s.leadToLogbook, false},
		{"GET /report", s.showReport, false},
		{reportPage, s.giveReport, false},
		{"GET /help", s.showHelp, false},
		{"POST /look", s.setLook, false},
		{"GET /assets/{file}", s.giveAsset, false},

		{"GET /api/openapi.json", s.apiDescription, false},
		{"GET /api/head", s.apiHead, false},
		{"GET /api/campaign", s.apiCampaign, false},
		{"GET /api/drops", s.apiDrops, false},
		{"GET /api/drops/{id}", s.apiDrop, false},
		{"GET /api/drops/{id}/trace", s.apiTrace, false},
		{"POST /api/drops/{id}/decisions", s.apiDecide, false},
		{"POST /api/drops/{id}/withdraw", s.apiWithdraw, false},
		{"POST /api/drops/{id}/events", s.apiMoveEvents, false},
		{"POST /api/drops/{id}/events/withdraw", s.apiWithdrawEvents, false},
		{"GET /api/results", s.apiResults, false},
		{"GET /api/answers", s.apiAnswers, false},
		{"GET /api/comparison", s.apiComparison, false},
		{"GET /api/checks", s.apiChecks, false},
		{"GET /api/limits", s.apiLimits, false},
		{"GET /api/whatif", s.apiWhatIf, false},
		{"GET /api/map", s.apiMap, false},
		{"GET /api/rig", s.apiRig, false},
		{"GET /api/logbook", s.apiLogbook, false},
		{"GET /api/events", s.listen, true},

		{"GET /", s.showNothing, false},
	}...)
}

// problem is an error with the status that it is answered with.
type problem struct {
	status int
	text   string
}

func (p problem) Error() string { return p.text }

// statusOf is what an error means to a browser.
func statusOf(err error) int {
	var p problem
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &p):
		return p.status
	case errors.As(err, &large):
		return http.StatusRequestEntityTooLarge
	case errors.Is(err, store.ErrNotFound):
		return http.StatusNotFound
	case errors.Is(err, store.ErrBusy):
		return http.StatusConflict
	}
	for _, ours := range []error{store.ErrFull, store.ErrDamaged, store.ErrUnreachable, store.ErrClosed, store.ErrReadOnly, store.ErrMissing} {
		if errors.Is(err, ours) {
			return http.StatusInternalServerError
		}
	}
	return http.StatusUnprocessableEntity
}

// answer runs a route and words its error, as JSON under /api/ and as a page elsewhere.
func (s *Server) answer(rt route) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		err := rt.do(w, r)
		if err == nil || r.Context().Err() != nil {
			return
		}
		status := statusOf(err)
		if status == http.StatusInternalServerError {
			s.log(err.Error())
		}
		if strings.HasPrefix(r.URL.Path, "/api/") {
			s.json(w, status, apiError{err.Error()})
			return
		}
		if err := s.render(w, r, status, "error", errorView{status, message.Why(err)}); err != nil {
			s.log(err.Error())
		}
	}
}

type errorView struct {
	Status int
	Text   message.Sentence
}

type apiError struct {
	Error string `json:"error"`
}

// json writes an answer of the API.
func (s *Server) json(w http.ResponseWriter, status int, v any) {
	b, err := json.Marshal(v)
	if err != nil {
		s.log(fmt.Sprintf("an answer could not be written: %v", err))
		status, b = http.StatusInternalServerError, []byte(`{"error":"the answer could not be written"}`)
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	// The client has gone when this fails.
	_, _ = w.Write(append(b, '\n'))
}

// ask reads the JSON body of a request.
func ask(r *http.Request, v any) error {
	if kind, _, _ := strings.Cut(r.Header.Get("Content-Type"), ";"); strings.TrimSpace(kind) != "application/json" {
		return problem{http.StatusUnsupportedMediaType, "the body must be application/json"}
	}
	d := json.NewDecoder(r.Body)
	d.DisallowUnknownFields()
	if err := d.Decode(v); err != nil {
		return fmt.Errorf("the body cannot be read: %w", err)
	}
	return nil
}

func (s *Server) showNothing(_ http.ResponseWriter, r *http.Request) error {
	return problem{http.StatusNotFound, "there is no page " + r.URL.Path + "; choose one from the list of pages"}
}
