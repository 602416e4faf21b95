// Package decimal turns decimal text into binary numbers, correctly rounded.
package decimal

import (
	"math"
	"strconv"
)

var pow10 = [23]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// Pow10 is 10^n for n from 0 to 22, which are exact in binary. It panics beyond.
func Pow10(n int) float64 { return pow10[n] }

// Exact is mantissa x 10^exp when one rounding gives it: the mantissa below 2^53 and the power of ten up to
// 22 are both exact in binary (Clinger, PLDI 1990).
func Exact(mantissa uint64, exp int, negative bool) (v float64, ok bool) {
	if mantissa >= 1<<53 || uint(exp+22) > 44 {
		return 0, false
	}
	v = float64(mantissa)
	if exp < 0 {
		v /= pow10[-exp]
	} else {
		v *= pow10[exp]
	}
	if negative {
		v = -v
	}
	return v, true
}

// Exponent reads a sign and digits at b[i:]; after is -1 when there are none. Values past 9999 are held there: they
// overflow or vanish either way.
func Exponent(b []byte, i int) (e, after int) {
	negative := false
	if i < len(b) && (b[i] == '-' || b[i] == '+') {
		negative = b[i] == '-'
		i++
	}
	from := i
	for ; i < len(b) && b[i]-'0' <= 9; i++ {
		if e < 9999 {
			e = e*10 + int(b[i]-'0')
		}
	}
	if i == from {
		return 0, -1
	}
	e = min(e, 9999)
	if negative {
		e = -e
	}
	return e, i
}

// Rounded is the number written in text times 10^shift, correctly rounded, by strconv.ParseFloat, for what
// Exact does not reach. It is infinite when too large.
func Rounded(text []byte, mark byte, shift int) float64 {
	var room [64]byte
	buf := append(room[:0], text...)
	e := len(buf)
	for k, c := range buf {
		if c == mark {
			buf[k] = '.'
		}
		if c|0x20 == 'e' {
			e = k
		}
	}
	if shift != 0 {
		if e < len(buf) {
			given, err := strconv.Atoi(string(buf[e+1:]))
			if err != nil {
				given = 9999
				if buf[e+1] == '-' {
					given = -9999
				}
			}
			shift += given
		}
		buf = strconv.AppendInt(append(buf[:e], 'e'), int64(shift), 10)
	}
	v, err := strconv.ParseFloat(string(buf), 64)
	if err != nil && !math.IsInf(v, 0) {
		return math.NaN()
	}
	return v
}
