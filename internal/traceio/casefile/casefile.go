// Package casefile reads a fall to simulate from YAML: mass, fall and the chain from anchor to mass.
package casefile

import (
	"fmt"
	"io"
	"regexp"
	"strconv"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/traceio/yamlread"
)

// file is a case with what varies and with the components that the force goes through besides the chain's own elements.
type file struct {
	arrest.Case  `yaml:",inline"`
	Spread       map[string]spread `yaml:"spread"`
	Correlations []correlation     `yaml:"correlations"`
	Seed         uint64            `yaml:"seed"`
	Components   []component       `yaml:"components"`
}

// Read reads a case; what its file says of spread and components is for other commands. Quantities carry units; a bare
// number is SI. `material` fills in the starting values of that name for what is left out, and marks them. An unknown
// key, a wrong unit or an impossible value is an error with line and column.
func Read(name string, r io.Reader) (*arrest.Case, error) {
	f, _, err := read(name, r)
	if err != nil {
		return nil, err
	}
	return &f.Case, nil
}

func read(name string, r io.Reader) (*file, yamlread.Places, error) {
	var f file
	places, err := yamlread.Decode(name, r, &f)
	if err != nil {
		return nil, nil, err
	}
	if err := f.Validate(); err != nil {
		return nil, nil, fmt.Errorf("%s: %w", places.At(name, pathOf(&f.Case, err)), err)
	}
	return &f, places, nil
}

var inElement = regexp.MustCompile(`^chain: element (\d+) \([^)]*\): (\w+)`)
var atTop = regexp.MustCompile(`^(\w+):`)

// pathOf finds the value that a message of Validate is about.
func pathOf(c *arrest.Case, err error) string {
	if m := inElement.FindStringSubmatch(err.Error()); m != nil {
		i, _ := strconv.Atoi(m[1])
		path := fmt.Sprintf("chain[%d]", i-1)
		if i < 1 || i > len(c.Chain) {
			return path
		}
		return path + "." + string(c.Chain[i-1].Kind) + "." + m[2]
	}
	if m := atTop.FindStringSubmatch(err.Error()); m != nil {
		return m[1]
	}
	return ""
}
