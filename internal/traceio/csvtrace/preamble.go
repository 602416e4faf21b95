package csvtrace

import (
	"regexp"
	"strconv"
	"strings"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// statedRate is a sample rate that the preamble names.
type statedRate struct {
	hz   float64 // 0 = none
	line int
	text string
}

var (
	rateKey     = regexp.MustCompile(`(?i)^(sampl\w*[ _-]*(rate|freq\w*)|rate|fs|scan[ _-]*rate|abtast(rate|frequenz)|frequency)\b`)
	intervalKey = regexp.MustCompile(`(?i)^(sampl\w*[ _-]*(interval|period|time)|interval|time[ _-]*(step|interval)|increment|x[ _-]?incr\w*|delta[ _-]*[tx]|d[tx]|abtastintervall)\b`)
	// The value follows the key, its unit in brackets or not, and a mark.
	statedValue = regexp.MustCompile(`^[ _]*(?:[\[(/]?[ ]*([A-Za-zµμ/]*)[ ]*[\])]?)[ ]*[:=;,\t ]+[ "]*([0-9]+(?:[.,][0-9]+)?(?:[eE][+-]?[0-9]+)?)["; ,\t]*([A-Za-zµμ/]*)`)
)

// rateIn looks for a sample rate or interval among the lines before the rows; the first counts.
func rateIn(before []remark) statedRate {
	for _, r := range before {
		text := strings.Trim(r.text, `" `)
		if m := rateKey.FindString(text); m != "" {
			if v, u, ok := valueAfter(text[len(m):]); ok {
				if hz, ok := inHertz(v, u); ok {
					return statedRate{hz, r.line, r.text}
				}
			}
		}
		if m := intervalKey.FindString(text); m != "" {
			if v, u, ok := valueAfter(text[len(m):]); ok {
				scale, known := timeUnit(u)
				if u == "" {
					scale, known = timeUnit("s")
				}
				if known {
					return statedRate{scale.perSecond(1 / v), r.line, r.text}
				}
			}
		}
	}
	return statedRate{}
}

func valueAfter(text string) (v float64, u string, ok bool) {
	m := statedValue.FindStringSubmatch(text)
	if m == nil {
		return 0, "", false
	}
	v, err := strconv.ParseFloat(strings.Replace(m[2], ",", ".", 1), 64)
	if err != nil || !(v > 0) {
		return 0, "", false
	}
	u = m[3]
	if u == "" {
		u = m[1]
	}
	return v, u, true
}

func inHertz(v float64, u string) (float64, bool) {
	switch strings.ToLower(u) {
	case "", "s/s", "sps", "1/s", "samples/s", "samples/sec", "samples", "hz":
		return v, true
	case "ks/s", "ksps", "khz":
		return v * 1e3, true
	case "ms/s", "msps":
		return v * 1e6, true
	}
	q, err := quantity.ParseUnit(u)
	return v * q.Factor, err == nil && q.Dim == quantity.DimFrequency
}
