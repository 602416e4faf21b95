package delimited

// clock reads hh:mm:ss with an optional fraction, mm:ss.fff, or a date and time in ISO 8601 form, as seconds
// (since midnight, or since 1970-01-01 when there is a date).
func clock(f []byte) (seconds float64, ok bool) {
	days := 0.0
	if len(f) >= 19 && f[4] == '-' && f[7] == '-' && (f[10] == 'T' || f[10] == ' ') {
		y, a := digits(f, 0, 4)
		m, b := digits(f, 5, 2)
		d, c := digits(f, 8, 2)
		if !a || !b || !c || m < 1 || m > 12 || d < 1 || d > 31 {
			return 0, false
		}
		days = float64(civilDays(y, m, d))
		f = f[11:]
		if n := len(f); f[n-1] == 'Z' {
			f = f[:n-1]
		}
	}
	parts, part, have := [3]float64{}, 0, false
	for i := 0; i < len(f); i++ {
		switch c := f[i]; {
		case c >= '0' && c <= '9':
			parts[part] = parts[part]*10 + float64(c-'0')
			have = true
		case c == ':' && have && part < 2:
			part++
			have = false
		case (c == '.' || c == ',') && have && part > 0:
			v, n, good := number(f, i, c)
			if !good || n != len(f) {
				return 0, false
			}
			parts[part] += v
			return days*86400 + sum(parts, part), true
		default:
			return 0, false
		}
	}
	if part == 0 || !have {
		return 0, false
	}
	return days*86400 + sum(parts, part), true
}

func sum(p [3]float64, part int) float64 {
	if part == 1 {
		return p[0]*60 + p[1]
	}
	return p[0]*3600 + p[1]*60 + p[2]
}

func digits(f []byte, at, n int) (v int, ok bool) {
	for _, c := range f[at : at+n] {
		if c < '0' || c > '9' {
			return 0, false
		}
		v = v*10 + int(c-'0')
	}
	return v, true
}

// civilDays is the number of days from 1970-01-01 in the Gregorian calendar.
func civilDays(y, m, d int) int {
	if m <= 2 {
		y--
		m += 12
	}
	era := y / 400
	yoe := y - era*400
	doy := (153*(m-3)+2)/5 + d - 1
	return era*146097 + yoe*365 + yoe/4 - yoe/100 + doy - 719468
}
