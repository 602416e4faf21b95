package web

import (
	"fmt"
	"net/http"
	"strconv"

	"github.com/hardcatch/hardcatch/internal/store"
)

// logbookPage is how many entries one page of the logbook shows.
const logbookPage = 100

type logbookView struct {
	Lines        []logbookLine
	Total        int
	From         int64
	Older, Newer int64 // first entry of the neighbouring pages, 0 = none
	Head         store.Head
}

type logbookLine struct {
	store.Entry
	Head, Text string
}

// showLogbook lists what was entered, latest first.
func (s *Server) showLogbook(w http.ResponseWriter, r *http.Request) error {
	all, err := s.s.Logbook(r.Context())
	if err != nil {
		return err
	}
	before := len(all)
	if text := r.URL.Query().Get("before"); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil || n < 1 {
			return fmt.Errorf("before: %q is not the number of an entry", text)
		}
		before = min(n-1, len(all))
	}
	v := logbookView{Total: len(all)}
	if n := len(all); n > 0 {
		v.Head = store.Head{Seq: all[n-1].Seq, Hash: all[n-1].Hash}
	}
	for i := before - 1; i >= max(0, before-logbookPage); i-- {
		line := logbookLine{Entry: all[i]}
		line.Head, line.Text = entryWords(all[i])
		v.Lines = append(v.Lines, line)
	}
	if before-logbookPage > 0 {
		v.Older = int64(before - logbookPage + 1)
	}
	if before < len(all) {
		v.Newer = int64(min(before+logbookPage, len(all)) + 1)
	}
	return s.render(w, r, http.StatusOK, "logbook", v)
}

// leadToLogbook leads a bookmark of the page's first name on.
func (s *Server) leadToLogbook(w http.ResponseWriter, r *http.Request) error {
	to := "/logbook"
	if r.URL.RawQuery != "" {
		to += "?" + r.URL.RawQuery
	}
	http.Redirect(w, r, to, http.StatusMovedPermanently)
	return nil
}

type entryList struct {
	Entries []entryItem `json:"entries"`
	Total   int         `json:"total"`
}

type entryItem struct {
	Seq     int64      `json:"seq"`
	At      string     `json:"at"`
	Kind    store.Kind `json:"kind"`
	Subject string     `json:"subject"`
	Hash    store.Hash `json:"hash"`
	What    string     `json:"what"`
}

func (s *Server) apiLogbook(w http.ResponseWriter, r *http.Request) error {
	all, err := s.s.Logbook(r.Context())
	if err != nil {
		return err
	}
	after := 0
	if text := r.URL.Query().Get("after"); text != "" {
		if after, err = strconv.Atoi(text); err != nil || after < 0 {
			return fmt.Errorf("after: %q is not the number of an entry", text)
		}
	}
	out := entryList{Entries: []entryItem{}, Total: len(all)}
	for _, e := range all[min(after, len(all)):] {
		head, text := entryWords(e)
		if text != "" {
			head += ": " + text
		}
		out.Entries = append(out.Entries, entryItem{e.Seq, e.At, e.Kind, e.Subject, e.Hash, head})
	}
	s.json(w, http.StatusOK, out)
	return nil
}
