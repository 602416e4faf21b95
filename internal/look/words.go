package look

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/hardcatch/hardcatch/internal/message"
)

// Listed joins names, and counts those beyond the first n.
func Listed(names []string, n int) string {
	if len(names) <= n {
		return strings.Join(names, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:n], ", "), len(names)-n)
}

// ListedIn is Listed for a sentence: the names stay.
func ListedIn(names []string, n int) message.Sentence {
	if len(names) <= n {
		return message.Say("%s", message.Own(strings.Join(names, ", ")))
	}
	return message.Say("%s and %d more", message.Own(strings.Join(names[:n], ", ")), len(names)-n)
}

// Plural counts what there is one of, or many.
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
