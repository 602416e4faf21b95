package message

import "strings"

// Listed joins names, and counts those beyond the first n. The names stay as they are in every language.
func Listed(names []string, n int) Sentence {
	if len(names) <= n {
		return Say("%s", Own(strings.Join(names, ", ")))
	}
	return Say("%s and %d more", Own(strings.Join(names[:n], ", ")), len(names)-n)
}
