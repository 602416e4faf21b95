package web

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"net/http"
	"path"
	"strings"

	"github.com/hardcatch/hardcatch/internal/figure"
)

//go:embed assets
var assetFiles embed.FS

// asset is a file that pages use. Its address holds a hash of its bytes, so that a browser may keep it for good.
type asset struct {
	data []byte
	kind string
	hash string
}

var assetKinds = map[string]string{".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8", ".svg": "image/svg+xml", ".txt": "text/plain; charset=utf-8", ".woff2": "font/woff2"}

func loadAssets() (map[string]asset, error) {
	list, err := assetFiles.ReadDir("assets")
	if err != nil {
		return nil, fmt.Errorf("assets: %w", err)
	}
	out := map[string]asset{}
	for _, f := range list {
		data, err := assetFiles.ReadFile("assets/" + f.Name())
		if err != nil {
			return nil, fmt.Errorf("assets: %w", err)
		}
		out[f.Name()] = newAsset(f.Name(), data)
	}
	style := out[styleSheet]
	out[styleSheet] = newAsset(styleSheet, append([]byte(faces(out)+figure.Stylesheet()), style.data...))
	return out, nil
}

// styleSheet is the one style of all pages. The faces, the colours of the themes and the fit of drawings stand before what the file holds.
const styleSheet = "page.css"

func newAsset(name string, data []byte) asset {
	sum := sha256.Sum256(data)
	return asset{data, assetKinds[path.Ext(name)], hex.EncodeToString(sum[:6])}
}

// faces are the fonts that pages are set in. They are sent by this program, under addresses that a browser may keep.
func faces(files map[string]asset) string {
	out := ""
	for _, f := range []struct {
		weight int
		file   string
	}{{400, "chivo-5.3.0.regular.woff2"}, {700, "chivo-5.3.0.bold.woff2"}} {
		out += fmt.Sprintf("@font-face { font-family: \"Chivo\"; font-weight: %d; font-display: swap; src: url(%q) format(\"woff2\"); }\n", f.weight, files[f.file].address(f.file))
	}
	return out
}

// address is where a page finds a file.
func (a asset) address(name string) string { return "/assets/" + name + "?" + a.hash }

func (s *Server) giveAsset(w http.ResponseWriter, r *http.Request) error {
	a, ok := s.files[r.PathValue("file")]
	if !ok {
		return problem{http.StatusNotFound, "there is no such file"}
	}
	h := w.Header()
	h.Set("Content-Type", a.kind)
	h.Set("ETag", `"`+a.hash+`"`)
	if r.URL.RawQuery == a.hash {
		h.Set("Cache-Control", "private, max-age=31536000, immutable")
	}
	if strings.Contains(r.Header.Get("If-None-Match"), a.hash) {
		w.WriteHeader(http.StatusNotModified)
		return nil
	}
	// The client has gone when this fails.
	_, _ = w.Write(a.data)
	return nil
}
