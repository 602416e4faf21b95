package doctor

import (
	"maps"
	"math"
	"slices"
	"strings"
	"unicode"

	"github.com/agnivade/levenshtein"
	"golang.org/x/text/runes"
	"golang.org/x/text/transform"
	"golang.org/x/text/unicode/norm"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
)

// folded is a level without what people write now so, now so: capitals, accents, blanks, hyphens and other marks.
func folded(level string) string {
	plain, _, err := transform.String(transform.Chain(norm.NFD, runes.Remove(runes.In(unicode.Mn)), norm.NFC), level)
	if err != nil {
		plain = level
	}
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, plain)
}

// shortestMistyped is how many letters a level has at least for one letter of difference to be taken for a slip: "wet" and "web" are words.
const shortestMistyped = 5

// mistyped tells that two folded levels differ by one letter, or by two that changed places. Digits are never slips: batches 1 and 2 are two.
func mistyped(a, b string) bool {
	if len(a) < shortestMistyped || len(b) < shortestMistyped || digits(a) != digits(b) {
		return false
	}
	switch levenshtein.ComputeDistance(a, b) {
	case 1:
		return true
	case 2:
		return len(a) == len(b) && letters(a) == letters(b)
	}
	return false
}

func digits(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsDigit(r) {
			return r
		}
		return -1
	}, s)
}

func letters(s string) string {
	r := []rune(s)
	slices.Sort(r)
	return string(r)
}

// nearLength is by how much two lengths or falls differ that were probably meant to be one: specimens of one length are cut to about a hundredth.
const nearLength = 0.02

// alikeLevels finds levels of a factor that were probably meant to be one, so that its drops are counted in two cells.
func alikeLevels(c Campaign) []Finding {
	texts := map[string]map[string][]string{} // drops by factor and level
	lengths := map[string]map[float64][]string{}
	for _, d := range c.Drops {
		if !d.taken() || d.Role == drop.Check {
			continue
		}
		for factor, level := range wordLevels(d.Drop) {
			add(texts, factor, level, d.ID)
		}
		if d.Specimen.Length > 0 {
			add(lengths, "length", d.Specimen.Length.SI(), d.ID)
		}
		add(lengths, "fall", d.Fall.SI(), d.ID)
	}
	var out []Finding
	for _, factor := range slices.Sorted(maps.Keys(texts)) {
		levels := slices.Sorted(maps.Keys(texts[factor]))
		for i, a := range levels {
			for _, b := range levels[i+1:] {
				if fa, fb := folded(a), folded(b); fa != fb && !mistyped(fa, fb) {
					continue
				}
				rare := fewer(texts[factor][a], texts[factor][b])
				out = append(out, Finding{
					Key: key("alike-levels", factor, a, b), Rule: "alike-levels", Drops: rare, Effect: Marks,
					Says:   message.Say("%s is written %q and %q, which are probably one", message.Names(factor), message.Own(a), message.Own(b)),
					Wrong:  message.Say("its drops stand in two cells, and each cell has fewer than were dropped"),
					WayOut: message.Say("write both alike in the list and enter it again, or say with hardcatch settle that they are two"),
				})
			}
		}
	}
	for _, factor := range []string{"length", "fall"} {
		values := slices.Sorted(maps.Keys(lengths[factor]))
		for i := 1; i < len(values); i++ {
			if a, b := values[i-1], values[i]; a > 0 && (b-a)/b < nearLength {
				ta, tb := mm(a), mm(b)
				out = append(out, Finding{
					Key: key("alike-levels", factor, ta, tb), Rule: "alike-levels", Drops: fewer(lengths[factor][a], lengths[factor][b]), Effect: Marks,
					Says:   message.Say("%s is %s and %s, less than %g %% apart", message.Names(factor), message.Own(ta), message.Own(tb), 100*nearLength),
					Wrong:  message.Say("its drops stand in two cells, and each cell has fewer than were dropped"),
					WayOut: message.Say("enter the nominal value for both, or say with hardcatch settle that they are two"),
				})
			}
		}
	}
	return out
}

func add[K comparable](to map[string]map[K][]string, factor string, level K, id string) {
	if to[factor] == nil {
		to[factor] = map[K][]string{}
	}
	to[factor][level] = append(to[factor][level], id)
}

// fewer is the shorter of two lists, the first of two of one length.
func fewer(a, b []string) []string {
	if len(b) < len(a) {
		return b
	}
	return a
}

func mm(metres float64) string { return trimmed(math.Round(metres*1e4)/10) + " mm" }

// wordLevels are the levels of a drop that are words.
func wordLevels(d drop.Drop) map[string]string {
	out := map[string]string{"material": d.Specimen.Material, "construction": d.Specimen.Construction, "knot": d.Specimen.Knot, "conditioning": d.Specimen.Conditioning}
	maps.Copy(out, d.Factors)
	maps.DeleteFunc(out, func(_, level string) bool { return level == "" })
	return out
}
