// Package questionfile reads the questions that a campaign is asked from YAML.
package questionfile

import (
	"errors"
	"fmt"
	"io"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/traceio/yamlread"
)

type file struct {
	Questions []drop.Written `yaml:"questions"`
}

// Read reads a file with the key questions, as a plan has it. An unknown key, a wrong unit or an impossible value is an error with line and column.
func Read(name string, r io.Reader) ([]drop.Question, error) {
	var f file
	places, err := yamlread.Decode(name, r, &f)
	if err != nil {
		return nil, err
	}
	out, at, err := All(f.Questions)
	if err == nil && len(out) == 0 {
		err = errors.New("no question is given; write for example questions: [{name: sling, of: strength, at_least: 15 kN}]")
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", places.At(name, at), err)
	}
	return out, nil
}

// All makes questions of what was written; where one cannot be read, at is its place below the key questions.
func All(written []drop.Written) (out []drop.Question, at string, err error) {
	seen := map[string]bool{}
	for i, w := range written {
		at := fmt.Sprintf("questions[%d]", i)
		q, err := w.Read()
		if err != nil {
			var f *drop.FieldError
			if errors.As(err, &f) {
				at += "." + f.Field
			}
			return nil, at, err
		}
		if seen[q.ID] {
			return nil, at + ".name", fmt.Errorf("two questions are named %q; give each its own name", q.ID)
		}
		seen[q.ID] = true
		out = append(out, q)
	}
	return out, "", nil
}
