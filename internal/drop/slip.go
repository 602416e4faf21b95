package drop

import (
	"slices"

	"github.com/agnivade/levenshtein"
)

// Slips counts the slips of the pen between two words: letters that are missing, too many or others (the edit distance of Levenshtein), where two
// letters that changed places are one.
func Slips(a, b string) int {
	n := levenshtein.ComputeDistance(a, b)
	if n == 2 && letters(a) == letters(b) {
		return 1
	}
	return n
}

func letters(word string) string {
	r := []rune(word)
	slices.Sort(r)
	return string(r)
}
