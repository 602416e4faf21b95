package look

import (
	"fmt"
	"iter"
	"strings"
	"unicode/utf8"
)

// Listed joins names, and counts those beyond the first n.
func Listed(names []string, n int) string {
	if len(names) <= n {
		return strings.Join(names, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:n], ", "), len(names)-n)
}

// Plural counts, with the word for one or for many.
func Plural(n int, one, many string) string {
	if n == 1 {
		return fmt.Sprintf("%d %s", n, one)
	}
	return fmt.Sprintf("%d %s", n, many)
}

// Capital begins a text with a capital letter.
func Capital(text string) string {
	_, first := utf8.DecodeRuneInString(text)
	return strings.ToUpper(text[:first]) + text[first:]
}

// ByText collects texts in the order in which they are first said, each with those of whom it is said.
type ByText struct {
	order []string
	of    map[string][]string
}

// Add notes that a text is said of somebody.
func (b *ByText) Add(text, of string) {
	if b.of == nil {
		b.of = map[string][]string{}
	}
	if _, said := b.of[text]; !said {
		b.order = append(b.order, text)
	}
	b.of[text] = append(b.of[text], of)
}

// All gives each text once, with all of whom it is said.
func (b *ByText) All() iter.Seq2[string, []string] {
	return func(yield func(string, []string) bool) {
		for _, text := range b.order {
			if !yield(text, b.of[text]) {
				return
			}
		}
	}
}
