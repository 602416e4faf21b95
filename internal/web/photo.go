package web

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/store"
)

// addPhoto is the route whose body may be as large as a photo.
const addPhoto = "POST /drops/{id}/photos"

// Limits of a photo that is sent.
const (
	maxPhotoBody = app.MaxPhoto + maxBody // with what stands beside it
	photoTime    = 50 * time.Second       // from a phone far from its network
	longestField = 2000                   // bytes of a caption
)

// photoAsked is a photo as it was sent.
type photoAsked struct {
	app.PhotoInput
	back string // "live" leads back to the page of the next drop
}

// attachPhoto keeps a photo of the drop, without the position that the camera wrote into it.
func (s *Server) attachPhoto(w http.ResponseWriter, r *http.Request) error {
	asked, err := photoOf(r)
	var res *app.PhotoResult
	if err == nil {
		res, err = s.keepPhoto(r.Context(), asked.PhotoInput)
	}
	switch {
	case errors.Is(err, store.ErrNotFound):
		return err
	case err != nil:
		return s.dropPage(w, r, statusOf(err), message.Why(err), decision{})
	case res.HadPosition:
		return photoBack(w, r, asked.back, "photo-position")
	}
	return photoBack(w, r, asked.back, "photo")
}

// keepPhoto keeps a photo, one at a time: a decoded picture takes much memory.
func (s *Server) keepPhoto(ctx context.Context, in app.PhotoInput) (*app.PhotoResult, error) {
	s.photos.Lock()
	defer s.photos.Unlock()
	return app.AttachPhoto(ctx, s.app, s.s.Path(), in)
}

func photoBack(w http.ResponseWriter, r *http.Request, to, done string) error {
	if to == "live" {
		http.Redirect(w, r, "/live?done="+done, http.StatusSeeOther)
		return nil
	}
	http.Redirect(w, r, "/drops/"+url.PathEscape(r.PathValue("id"))+"?done="+done+"#photos", http.StatusSeeOther)
	return nil
}

// photoOf reads the form part by part: what is larger than a photo may be is never kept in memory.
func photoOf(r *http.Request) (out photoAsked, err error) {
	out.Drop = r.PathValue("id")
	parts, err := r.MultipartReader()
	if err != nil {
		return out, problem{http.StatusUnsupportedMediaType, "a photo is sent by the form of the drop's page: " + err.Error()}
	}
	for {
		p, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return out, fmt.Errorf("the photo did not arrive whole: %w; send it again", err)
		}
		most := int64(longestField)
		if p.FormName() == "photo" {
			most = app.MaxPhoto
		}
		data, err := io.ReadAll(io.LimitReader(p, most+1))
		if err != nil {
			return out, fmt.Errorf("the photo did not arrive whole: %w; send it again", err)
		}
		if int64(len(data)) > most {
			return out, problem{http.StatusRequestEntityTooLarge, fmt.Sprintf("%s: more than %d bytes are not taken; export the photo smaller", p.FormName(), most)}
		}
		switch text := strings.TrimSpace(string(data)); p.FormName() {
		case "photo":
			out.Name, out.Data = p.FileName(), data
		case "caption":
			out.Caption = text
		case "by":
			out.By = text
		case "back":
			out.back = text
		}
	}
	if len(out.Data) == 0 {
		return out, problem{http.StatusUnprocessableEntity, "no photo was chosen; choose a JPEG or PNG"}
	}
	return out, nil
}

// givePhoto shows a photo of a drop by its number from 1, without metadata.
func (s *Server) givePhoto(w http.ResponseWriter, r *http.Request) error {
	n, err := strconv.Atoi(r.PathValue("n"))
	if err != nil {
		return problem{http.StatusNotFound, "photos of a drop are numbered from 1"}
	}
	b, err := app.Photo(r.Context(), s.s, r.PathValue("id"), n)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "image/jpeg")
	// The client has gone when this fails.
	_, _ = w.Write(b)
	return nil
}

// patient gives a photo more time to arrive than a page's form has.
func patient(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		// A recorder in a test may know no time limit.
		_ = http.NewResponseController(w).SetReadDeadline(time.Now().Add(photoTime))
		next.ServeHTTP(w, r)
	})
}
