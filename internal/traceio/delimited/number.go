package delimited

import (
	"math"
	"strconv"
)

var powers = [23]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// number reads a decimal number at b[i:] with the decimal mark given and returns its value, correctly
// rounded, and the index after it. ok is false when no number stands there; next is then i.
//
// A mantissa below 2^53 and a power of ten up to 22 are both exact in binary, so that one multiplication
// or division rounds correctly (Clinger, PLDI 1990); everything else goes to strconv.ParseFloat.
func number(b []byte, i int, mark byte) (v float64, next int, ok bool) {
	start := i
	neg := false
	if i < len(b) && (b[i] == '-' || b[i] == '+') {
		neg = b[i] == '-'
		i++
	}
	var mant uint64
	first := i
	for i < len(b) {
		c := b[i] - '0'
		if c > 9 {
			break
		}
		mant = mant*10 + uint64(c)
		i++
	}
	digits := i - first
	exp := 0
	if i < len(b) && b[i] == mark {
		i++
		point := i
		for i < len(b) {
			c := b[i] - '0'
			if c > 9 {
				break
			}
			mant = mant*10 + uint64(c)
			i++
		}
		exp = point - i
		digits -= exp
	}
	if digits == 0 {
		return 0, start, false
	}
	if i < len(b) && b[i]|0x20 == 'e' {
		if e, after := exponent(b, i+1); after > 0 {
			exp += e
			i = after
		}
	}
	if digits <= 18 && mant < 1<<53 && exp >= -22 && exp <= 22 {
		v = float64(mant)
		if exp < 0 {
			v /= powers[-exp]
		} else {
			v *= powers[exp]
		}
		if neg {
			v = -v
		}
		return v, i, true
	}
	return slow(b[start:i], mark), i, true
}

// exponent reads digits with a sign and returns the index after them, 0 when there are none. Values past
// 9999 are held there: they overflow or vanish either way.
func exponent(b []byte, i int) (e, after int) {
	sign := 1
	if i < len(b) && (b[i] == '-' || b[i] == '+') {
		if b[i] == '-' {
			sign = -1
		}
		i++
	}
	from := i
	for i < len(b) && b[i]-'0' <= 9 {
		if e < 9999 {
			e = e*10 + int(b[i]-'0')
		}
		i++
	}
	if i == from {
		return 0, 0
	}
	return sign * min(e, 9999), i
}

func slow(text []byte, mark byte) float64 {
	buf := append([]byte(nil), text...)
	for k, c := range buf {
		if c == mark {
			buf[k] = '.'
		}
	}
	v, err := strconv.ParseFloat(string(buf), 64)
	if err != nil && !math.IsInf(v, 0) {
		return math.NaN()
	}
	return v
}
