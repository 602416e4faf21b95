package message

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// Formats, of the program and of every catalogue, hold the forms of a word for one and for many as {one|many}: "%d {specimen|specimens} held". The count is
// the last whole number (%d) that stands before the forms, or where none does the first after them. Where it is another one the forms name it by its blank
// in the text, from 1: "%d of %d, {[1]one|many}". French counts nothing as one, the others as many. Forms hold no blanks.

var forms = regexp.MustCompile(`\{(?:\[(\d)\])?([^{}|%]*)\|([^{}|%]*)\}`)

// counted chooses the forms of words by what count gives for the blanks, which are numbered from 0 as they stand in the text.
func (l Locale) counted(text string, count func(blank int) (n int, ok bool)) string {
	found := forms.FindAllStringSubmatchIndex(text, -1)
	if found == nil {
		return text
	}
	type number struct{ at, n int }
	var numbers []number
	known := map[int]int{}
	order := 0
	for _, m := range blank.FindAllStringSubmatchIndex(text, -1) {
		if m[4] < 0 {
			continue
		}
		i := order
		order++
		if m[2] >= 0 {
			i = int(text[m[2]]-'0') - 1
		}
		if text[m[4]] != 'd' {
			continue
		}
		if n, ok := count(i); ok {
			numbers = append(numbers, number{m[0], n})
			known[i] = n
		}
	}
	var b strings.Builder
	from := 0
	for _, m := range found {
		n, ok := 2, false
		if m[2] >= 0 {
			if v, there := known[int(text[m[2]]-'0')-1]; there {
				n, ok = v, true
			}
		}
		for _, x := range numbers {
			if m[2] < 0 && (x.at < m[0] || !ok) {
				n, ok = x.n, true
			}
		}
		b.WriteString(text[from:m[0]])
		if n == 1 || n == 0 && l.Is("fr") {
			b.WriteString(text[m[4]:m[5]])
		} else {
			b.WriteString(text[m[6]:m[7]])
		}
		from = m[1]
	}
	return b.String() + text[from:]
}

// Text fills a format in English, with the words that its counts ask for.
func Text(english string, args ...any) string {
	if !strings.Contains(english, "|") {
		return fmt.Sprintf(english, args...)
	}
	text := English().counted(english, func(i int) (int, bool) {
		if i >= len(args) {
			return 0, false
		}
		n, err := strconv.Atoi(fmt.Sprint(args[i]))
		return n, err == nil
	})
	return fmt.Sprintf(text, args...)
}

// countedSlots is counted for blanks that are filled already.
func (l Locale) countedSlots(text string, slots []string) string {
	return l.counted(text, func(i int) (int, bool) {
		if i >= len(slots) {
			return 0, false
		}
		n, err := strconv.Atoi(slots[i])
		return n, err == nil
	})
}
