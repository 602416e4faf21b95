package csvtrace

import (
	"bytes"
	"time"

	"github.com/hardcatch/hardcatch/internal/num/decimal"
)

// moment is a clock time with or without its day.
type moment struct {
	day     int     // days since 1970-01-01, valid when dated
	dated   bool    //
	seconds float64 // since midnight
	exp     int     // the last digit stands for 10^exp seconds
}

const secondsPerDay = 86400

// clockField reads "13:05", "13:05:00.123", "13:05:00,123", with a date ("2026-03-02", "2026/03/02",
// "02.03.2026") and T or a space before it and Z or an offset such as +01:00 behind it or not. Since csv/2 also with AM or PM behind it,
// "1:05:00.123 PM", with a date such as 3/2/2026, of which only the time is taken, and minutes with seconds alone, "05:00.123".
func clockField(f []byte, old bool) (m moment, ok bool) {
	if day, n := dateAt(f); n > 0 {
		if n == len(f) || f[n] != 'T' && f[n] != 't' && f[n] != ' ' {
			return moment{}, false
		}
		m.day, m.dated = day, true
		f = f[n+1:]
	}
	half := -1
	if !old {
		if !m.dated {
			f = f[slashDate(f):]
		}
		f, half = halfOfDay(f)
	}
	h, n := twoDigits(f, 0)
	if n == 0 || n >= len(f) || f[n] != ':' {
		return moment{}, false
	}
	minute, k := twoDigits(f, n+1)
	if k != 2 || minute > 59 {
		return moment{}, false
	}
	i := n + 1 + k
	if !old && h < 60 && half < 0 && i < len(f) && (f[i] == '.' || f[i] == ',') {
		m.seconds = float64(h)*60 + float64(minute)
		i, ok = m.fraction(f, i)
		return m, ok && i == len(f)
	}
	if h > 24 || half >= 0 && (h < 1 || h > 12) {
		return moment{}, false
	}
	if half >= 0 {
		h = h%12 + half
	}
	m.seconds = float64(h)*3600 + float64(minute)*60
	if i < len(f) && f[i] == ':' {
		second, k := twoDigits(f, i+1)
		if k != 2 || second > 60 {
			return moment{}, false
		}
		i += 1 + k
		m.seconds += float64(second)
		if i < len(f) && (f[i] == '.' || f[i] == ',') {
			if i, ok = m.fraction(f, i); !ok {
				return moment{}, false
			}
		}
	}
	return m, i == len(f) || half < 0 && zone(f[i:])
}

// fraction adds the digits behind the decimal sign at f[i] to the seconds, and is where they end; ok tells that there are any.
func (m *moment) fraction(f []byte, i int) (end int, ok bool) {
	var part uint64
	from := i + 1
	for i++; i < len(f) && f[i]-'0' <= 9; i++ {
		if i-from < 15 {
			part = part*10 + uint64(f[i]-'0')
			m.exp--
		}
	}
	m.seconds += float64(part) / decimal.Pow10(-m.exp)
	return i, i > from
}

// halfOfDay takes AM or PM off the end: half is 0 or 12 hours, -1 without one.
func halfOfDay(f []byte) (rest []byte, half int) {
	if n := len(f); n > 4 {
		half := -1
		switch string(f[n-2:]) {
		case "AM", "am":
			half = 0
		case "PM", "pm":
			half = 12
		}
		if half >= 0 {
			return bytes.TrimRight(f[:n-2], " "), half
		}
	}
	return f, -1
}

// slashDate is the length of a date such as 3/2/2026 with the blank behind it. Whether the day or the month comes first cannot be
// told, so that such a date does not count; a clock that passes midnight is known by its going back.
func slashDate(f []byte) int {
	i := 0
	for part := range 3 {
		from := i
		for i < len(f) && f[i]-'0' <= 9 {
			i++
		}
		end := byte('/')
		if part == 2 {
			end = ' '
		}
		if n := i - from; i >= len(f) || f[i] != end || n < 1 || part < 2 && n > 2 || part == 2 && n != 4 {
			return 0
		}
		i++
	}
	return i
}

func zone(f []byte) bool {
	if len(f) == 1 {
		return f[0] == 'Z' || f[0] == 'z'
	}
	if len(f) < 3 || f[0] != '+' && f[0] != '-' {
		return false
	}
	for _, c := range f[1:] {
		if c-'0' > 9 && c != ':' {
			return false
		}
	}
	return len(f) <= 6
}

func twoDigits(f []byte, i int) (v, n int) {
	for n < 2 && i+n < len(f) && f[i+n]-'0' <= 9 {
		v = v*10 + int(f[i+n]-'0')
		n++
	}
	return v, n
}

// dateAt reads a date at the start of f: n bytes of it, 0 when there is none.
func dateAt(f []byte) (day, n int) {
	if len(f) < 10 {
		return 0, 0
	}
	number := func(from, to int) int {
		v := 0
		for _, c := range f[from:to] {
			if c-'0' > 9 {
				return -1
			}
			v = v*10 + int(c-'0')
		}
		return v
	}
	var y, m, d int
	switch {
	case f[4] == f[7] && (f[4] == '-' || f[4] == '/'):
		y, m, d = number(0, 4), number(5, 7), number(8, 10)
	case f[2] == '.' && f[5] == '.':
		y, m, d = number(6, 10), number(3, 5), number(0, 2)
	default:
		return 0, 0
	}
	if y < 1 || m < 1 || m > 12 || d < 1 || d > 31 {
		return 0, 0
	}
	return int(time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC).Unix() / secondsPerDay), 10
}
