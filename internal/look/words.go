package look

import (
	"fmt"
	"iter"
	"strings"
	"unicode/utf8"

	"github.com/hardcatch/hardcatch/internal/message"
)

// Listed joins names, and counts those beyond the first n.
func Listed(names []string, n int) string { return message.Listed(names, n).String() }

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

// ByText collects sentences in the order in which they are first said, each with those of whom it is said.
type ByText struct {
	order []message.Sentence
	of    map[string][]string // by the English text
}

// Add notes that a sentence is said of somebody.
func (b *ByText) Add(says message.Sentence, of string) {
	if b.of == nil {
		b.of = map[string][]string{}
	}
	text := says.String()
	if _, said := b.of[text]; !said {
		b.order = append(b.order, says)
	}
	b.of[text] = append(b.of[text], of)
}

// All gives each sentence once, with all of whom it is said.
func (b *ByText) All() iter.Seq2[message.Sentence, []string] {
	return func(yield func(message.Sentence, []string) bool) {
		for _, says := range b.order {
			if !yield(says, b.of[says.String()]) {
				return
			}
		}
	}
}
