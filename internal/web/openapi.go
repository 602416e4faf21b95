package web

import (
	_ "embed" // the description of the API
	"net/http"
)

//go:embed openapi.json
var openAPI []byte

// apiDescription is the API in OpenAPI 3.1.
func (s *Server) apiDescription(w http.ResponseWriter, _ *http.Request) error {
	w.Header().Set("Content-Type", "application/json")
	// The client has gone when this fails.
	_, _ = w.Write(openAPI)
	return nil
}
