// Package sourcefile reads the description of a live source from YAML.
package sourcefile

import (
	"fmt"
	"io"
	"strings"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/traceio/yamlread"
)

// Read reads a description and completes it. Quantities carry units; a bare number is SI. An unknown key, a wrong
// unit or an impossible value is an error with line and column.
func Read(name string, r io.Reader) (*acquire.Description, error) {
	d := &acquire.Description{}
	places, err := yamlread.Decode(name, r, d)
	if err != nil {
		return nil, err
	}
	if err := d.Complete(); err != nil {
		path, _, _ := strings.Cut(err.Error(), ":")
		return nil, fmt.Errorf("%s: %w", places.At(name, path), err)
	}
	return d, nil
}
