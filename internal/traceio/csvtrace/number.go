package csvtrace

import (
	"encoding/binary"
	"math/bits"

	"github.com/hardcatch/hardcatch/internal/num/decimal"
)

// pad is how many bytes past the end of a text scan may look at. They are never part of a number.
const pad = 16

var wholePow10 = [9]uint64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8}

// mostDigits is how many decimal digits always fit a uint64.
const mostDigits = 19

// digits reads up to eight decimal digits at b[i:] as one number: n of them with value v. All eight bytes
// are converted at once (the pairwise sums of Lemire, "Number parsing at a gigabyte per second", Software:
// Practice and Experience 51 (2021) 1700-1727).
func digits(b []byte, i int) (v uint64, n int) {
	t := binary.LittleEndian.Uint64(b[i:]) ^ 0x3030303030303030
	other := (t + 0x7676767676767676 | t) & 0x8080808080808080
	n = bits.TrailingZeros64(other) >> 3
	t <<= 64 - 8*uint(n)
	t = t*10 + t>>8
	return (t&0x000000FF000000FF*0x000F424000000064 + t>>16&0x000000FF000000FF*0x0000271000000001) >> 32, n
}

// scan reads a plain decimal number at b[i:], sign, digits, decimal mark, digits, exponent, as
// mantissa x 10^exp. end is the index after it, or -1 when no number stands there or it has more than 19
// digits; see parse for those. b must reach pad bytes past the text.
func scan(b []byte, i int, mark byte) (mantissa uint64, exp int, negative bool, end int) {
	if c := b[i]; c == '-' || c == '+' {
		negative = c == '-'
		i++
	}
	v, n := digits(b, i)
	i += n
	count := n
	for m := n; m == 8 && count <= mostDigits; {
		var w uint64
		w, m = digits(b, i)
		v = v*wholePow10[m] + w
		i += m
		count += m
	}
	if b[i] == mark {
		i++
		for m := 8; m == 8 && count <= mostDigits; {
			var w uint64
			w, m = digits(b, i)
			v = v*wholePow10[m] + w
			i += m
			exp -= m
			count += m
		}
	}
	if count == 0 || count > mostDigits {
		return 0, 0, false, -1
	}
	if b[i]|0x20 == 'e' {
		e, after := decimal.Exponent(b, i+1)
		if after < 0 {
			return 0, 0, false, -1
		}
		exp += e
		i = after
	}
	return v, exp, negative, i
}

// number is what a whole field says.
type number struct {
	value float64 // correctly rounded, with the shift asked for
	exp   int     // the last digit stands for 10^exp
	ok    bool    // the field is a number and nothing else
}

// parse reads a whole field as a number of any length, times 10^shift.
func parse(field []byte, mark byte, shift int) number {
	end, exp := grammar(field, mark)
	if end == 0 || end != len(field) {
		return number{}
	}
	return number{value: decimal.Rounded(field, mark, shift), exp: exp, ok: true}
}

// grammar is the length of the number at the start of field, 0 without one, and the power of ten of its last
// digit.
func grammar(field []byte, mark byte) (end, exp int) {
	i, count := 0, 0
	if len(field) > 0 && (field[0] == '-' || field[0] == '+') {
		i = 1
	}
	for ; i < len(field) && field[i]-'0' <= 9; i++ {
		count++
	}
	if i < len(field) && field[i] == mark {
		for i++; i < len(field) && field[i]-'0' <= 9; i++ {
			count++
			exp--
		}
	}
	if count == 0 {
		return 0, 0
	}
	if i < len(field) && field[i]|0x20 == 'e' {
		e, after := decimal.Exponent(field[i+1:], 0)
		if after < 0 {
			return i, exp
		}
		exp += e
		i += 1 + after
	}
	return i, exp
}
