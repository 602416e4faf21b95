// Package rigfile reads the description of a rig from YAML.
package rigfile

import (
	"fmt"
	"io"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/traceio/yamlread"
)

// Read reads a rig. Quantities carry units; a bare number is SI. An unknown key, a wrong unit or an
// impossible value is an error with line and column.
func Read(name string, r io.Reader) (drop.Rig, error) {
	var rig drop.Rig
	if _, err := yamlread.Decode(name, r, &rig); err != nil {
		return drop.Rig{}, err
	}
	if err := rig.Validate(); err != nil {
		return drop.Rig{}, fmt.Errorf("%s: %w", name, err)
	}
	return rig, nil
}
