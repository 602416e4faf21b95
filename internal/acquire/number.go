package acquire

import (
	"math"
	"strconv"
)

var nan = math.NaN()

var pow10 = [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// number reads a decimal number at i and tells where it ends. A whole number below 2^53 times or over a power of
// ten up to 22 rounds correctly in one operation (Clinger, How to read floating point numbers accurately, 1990);
// the rest goes to strconv.
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
		if e, next, has := exponent(line, i+1); has {
			exp += e
			i = next
		}
	}
	if digits <= 19 && m < 1<<53 && exp >= -22 && exp <= 22 {
		v = float64(m)
		if exp < 0 {
			v /= pow10[-exp]
		} else {
			v *= pow10[exp]
		}
		if negative {
			v = -v
		}
		return v, i, true
	}
	return longNumber(line[start:i], mark, i, start)
}

func exponent(line []byte, i int) (e, end int, ok bool) {
	sign := 1
	if i < len(line) && (line[i] == '-' || line[i] == '+') {
		if line[i] == '-' {
			sign = -1
		}
		i++
	}
	from := i
	for ; i < len(line) && line[i]-'0' <= 9; i++ {
		if e < 10000 {
			e = e*10 + int(line[i]-'0')
		}
	}
	return sign * e, i, i > from
}

func longNumber(text []byte, mark byte, end, start int) (float64, int, bool) {
	var room [64]byte
	if len(text) > len(room) {
		return 0, start, false
	}
	n := copy(room[:], text)
	for k := range room[:n] {
		if room[k] == mark {
			room[k] = '.'
		}
	}
	v, err := strconv.ParseFloat(string(room[:n]), 64)
	if err != nil || math.IsInf(v, 0) {
		return 0, start, false
	}
	return v, end, true
}

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
