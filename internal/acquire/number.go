package acquire

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/num/decimal"
)

var nan = math.NaN()

// number reads a decimal number at i and tells where it ends.
func number(line []byte, i int, mark byte) (v float64, end int, ok bool) {
	start := i
	negative := false
	if i < len(line) && (line[i] == '-' || line[i] == '+') {
		negative = line[i] == '-'
		i++
	}
	var m uint64
	from := i
	for ; i < len(line); i++ {
		d := line[i] - '0'
		if d > 9 {
			break
		}
		m = m*10 + uint64(d)
	}
	digits, exp := i-from, 0
	if i < len(line) && line[i] == mark {
		i++
		from = i
		for ; i < len(line); i++ {
			d := line[i] - '0'
			if d > 9 {
				break
			}
			m = m*10 + uint64(d)
		}
		exp = from - i
		digits -= exp
	}
	if digits == 0 {
		return 0, start, false
	}
	if i < len(line) && line[i]|0x20 == 'e' {
		if e, after := decimal.Exponent(line, i+1); after >= 0 {
			exp += e
			i = after
		}
	}
	if digits <= 19 {
		if v, ok := decimal.Exact(m, exp, negative); ok {
			return v, i, true
		}
	}
	if i-start > longest {
		return 0, start, false
	}
	if v = decimal.Rounded(line[start:i], mark, 0); math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, start, false
	}
	return v, i, true
}

// longest is how many characters a number may have.
const longest = 64

// hexNumber reads a hexadecimal whole number below 2^53.
func hexNumber(line []byte, i int) (v float64, end int, ok bool) {
	start := i
	var m uint64
	for ; i < len(line); i++ {
		c := line[i]
		var d byte
		switch {
		case c-'0' <= 9:
			d = c - '0'
		case c|0x20 >= 'a' && c|0x20 <= 'f':
			d = c | 0x20 - 'a' + 10
		default:
			return float64(m), i, i > start && m < 1<<53 && i-start <= 14
		}
		m = m<<4 | uint64(d)
	}
	return float64(m), i, i > start && m < 1<<53 && i-start <= 14
}

// noNumber is where a word ends by which a device shows that it has no number: OL, OVL, OVER, OVERLOAD, INF,
// NAN, or dashes; -1 when no such word stands at i.
func noNumber(line []byte, i int) int {
	from := i
	if i < len(line) && (line[i] == '-' || line[i] == '+') {
		i++
	}
	word := i
	for i < len(line) && (line[i]|0x20 >= 'a' && line[i]|0x20 <= 'z' || line[i] == '-') {
		i++
	}
	n := i - word
	if n > 8 {
		return -1
	}
	var low [8]byte
	for k := range n {
		low[k] = line[word+k]
		if low[k] != '-' {
			low[k] |= 0x20
		}
	}
	switch string(low[:n]) {
	case "ol", "ovl", "over", "overload", "inf", "nan":
		return i
	case "", "-", "--", "---", "----":
		if i-from >= 2 {
			return i
		}
	}
	return -1
}
