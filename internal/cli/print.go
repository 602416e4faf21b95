package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"sort"
	"strings"
	"text/tabwriter"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
)

// json prints v as the whole answer.
func (s *streams) json(v any) error {
	e := json.NewEncoder(s.out)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return fmt.Errorf("%w: %w", errWrite, err)
	}
	return nil
}

func (s *streams) say(format string, args ...any) {
	fmt.Fprintln(s.out, message.Text(format, args...))
}

// warn prints warnings to stderr.
func (s *streams) warn(list []string) { s.remark("warning:", list) }

// warned is warn for sentences.
func (s *streams) warned(list []message.Sentence) { s.remark("warning:", message.Texts(list)) }

// remark prints one line to stderr for each text.
func (s *streams) remark(kind string, list []string) {
	for _, text := range list {
		fmt.Fprintln(s.err, kind, text)
	}
}

// campaign says of what the answer is.
func (s *streams) campaign(invented bool, name, question string) {
	if invented {
		s.say("INVENTED SCENARIO: simulated records, no real product.")
	}
	s.say("%s", name)
	s.say("Question: %s", wrap(question, 90, "  "))
}

// heading prints a title, bold on a terminal.
func (s *streams) heading(text string) {
	if s.styled {
		text = "\x1b[1m" + text + "\x1b[0m"
	}
	s.say("\n%s", text)
}

// table prints rows with aligned columns; the first row is the header.
func (s *streams) table(rows [][]string) error {
	w := tabwriter.NewWriter(s.out, 0, 4, 2, ' ', 0)
	for _, r := range rows {
		fmt.Fprintln(w, strings.TrimRight(strings.Join(r, "\t"), "\t "))
	}
	if err := w.Flush(); err != nil {
		return fmt.Errorf("%w: %w", errWrite, err)
	}
	return nil
}

// restsOn lists what an answer assumes.
func (s *streams) restsOn(assumptions []string) {
	s.heading("This rests on")
	for _, t := range assumptions {
		s.say("  %s", wrap(t, 94, "    "))
	}
}

func (s *streams) cautions() {
	s.heading("Cautions")
	for i, c := range drop.Cautions() {
		s.say("%d. %s", i+1, wrap(c, 96, "   "))
	}
}

// wrap breaks text at spaces into lines of at most width characters; later lines are indented.
func wrap(text string, width int, indent string) string {
	var b strings.Builder
	line := 0
	for i, word := range strings.Fields(text) {
		n := len([]rune(word))
		if i > 0 {
			if line+1+n > width {
				b.WriteString("\n" + indent)
				line = 0
			} else {
				b.WriteByte(' ')
				line++
			}
		}
		b.WriteString(word)
		line += n
	}
	return b.String()
}

// mostInput bounds what is read at once, in bytes: a photo is the largest.
const mostInput = 128 << 20

// readInput reads a file named on the command line.
func (s *streams) readInput(name string) ([]byte, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, fmt.Errorf("%s cannot be read: %w", name, err)
	}
	b, err := io.ReadAll(io.LimitReader(f, mostInput+1))
	if err = errors.Join(err, f.Close()); err != nil {
		return nil, fmt.Errorf("%s cannot be read: %w", name, err)
	}
	if len(b) > mostInput {
		return nil, fmt.Errorf("%s is larger than %d MB, which no list, description or photo is; look at the name", name, mostInput>>20)
	}
	return b, nil
}

// writeFile writes a file that must not exist unless force is set.
func writeFile(name string, data []byte, force bool) error {
	if _, err := os.Stat(name); err == nil && !force {
		return fmt.Errorf("%s exists already; choose another name, or overwrite it with --overwrite", name)
	}
	if err := os.WriteFile(name, data, 0o644); err != nil {
		return fmt.Errorf("%w: %w", errWrite, err)
	}
	return nil
}

func mark(o drop.Outcome, decided bool) string {
	if o == "" {
		return o.Sign() + " undecided"
	}
	text := o.Sign() + " " + string(o)
	if !decided {
		text += " (proposed)"
	}
	return text
}

func sortedKeys(m map[string]string) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	return keys
}
