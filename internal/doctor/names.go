package doctor

import (
	"maps"
	"math"
	"slices"
	"strings"
	"unicode"

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

// level is a level of a factor as it is compared with others.
type level struct{ written, folded, digits string }

func levelOf(written string) level {
	f := folded(written)
	return level{written, f, digits(f)}
}

// meansOne tells that two levels were probably meant to be one: folded they are the same, or differ by one slip of the pen. Digits are never slips:
// batches 1 and 2 are two.
func meansOne(a, b level) bool {
	if a.digits != b.digits {
		return false
	}
	return a.folded == b.folded || len(a.folded) >= shortestMistyped && len(b.folded) >= shortestMistyped && drop.Slips(a.folded, b.folded) == 1
}

func digits(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsDigit(r) {
			return r
		}
		return -1
	}, s)
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
		var levels []level
		for _, written := range slices.Sorted(maps.Keys(texts[factor])) {
			levels = append(levels, levelOf(written))
		}
		for i, la := range levels {
			for _, lb := range levels[i+1:] {
				if !meansOne(la, lb) {
					continue
				}
				a, b := la.written, lb.written
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
