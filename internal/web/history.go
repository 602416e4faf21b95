package web

import (
	"fmt"
	"net/http"
	"strconv"

	"github.com/hardcatch/hardcatch/internal/store"
)

// historyPage is how many entries one page of the history shows.
const historyPage = 100

type historyView struct {
	Lines        []historyLine
	Total        int
	From         int64
	Older, Newer int64 // first entry of the neighbouring pages, 0 = none
	Head         store.Head
}

type historyLine struct {
	store.Entry
	Head, Text string
}

// showHistory lists what was entered, latest first.
func (s *Server) showHistory(w http.ResponseWriter, r *http.Request) error {
	all, err := s.s.History(r.Context())
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
	v := historyView{Total: len(all)}
	if n := len(all); n > 0 {
		v.Head = store.Head{Seq: all[n-1].Seq, Hash: all[n-1].Hash}
	}
	for i := before - 1; i >= max(0, before-historyPage); i-- {
		line := historyLine{Entry: all[i]}
		line.Head, line.Text = entryWords(all[i])
		v.Lines = append(v.Lines, line)
	}
	if before-historyPage > 0 {
		v.Older = int64(before - historyPage + 1)
	}
	if before < len(all) {
		v.Newer = int64(min(before+historyPage, len(all)) + 1)
	}
	return s.render(w, r, http.StatusOK, "history", v)
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

func (s *Server) apiHistory(w http.ResponseWriter, r *http.Request) error {
	all, err := s.s.History(r.Context())
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
