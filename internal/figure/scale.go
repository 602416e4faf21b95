package figure

import "math"

// scale maps values from lo..hi onto places from a..b. With log, lo and hi are logarithms.
type scale struct {
	lo, hi, a, b float64
	log          bool
}

func (s scale) at(v float64) float64 { return s.a + (v-s.lo)/(s.hi-s.lo)*(s.b-s.a) }

// place is where a value stands, be the scale of logarithms or not.
func (s scale) place(v float64) float64 {
	if s.log {
		v = math.Log(v)
	}
	return s.at(v)
}

// low and high are the ends as values.
func (s scale) low() float64 {
	if s.log {
		return math.Exp(s.lo)
	}
	return s.lo
}

func (s scale) high() float64 {
	if s.log {
		return math.Exp(s.hi)
	}
	return s.hi
}

func (s scale) holds(v float64) bool { return v >= s.lo && v <= s.hi }

// tick is a marked value of a scale.
type tick struct {
	v    float64
	text string
}

// ticks marks lo..hi at a step of 1, 2 or 5 times a power of ten, the smallest step that gives at most
// most steps.
func ticks(lo, hi float64, most int) []tick {
	if !(hi-lo > speck/10) || !drawable(hi-lo) || most < 1 {
		return nil
	}
	step, decimals := niceStep((hi - lo) / float64(most))
	var out []tick
	for i := math.Ceil(lo/step - 1e-9); i*step <= hi+1e-9*step; i++ {
		v := i * step
		if i == 0 {
			v = 0
		}
		out = append(out, tick{v, minus(fixed(v, decimals))})
	}
	return out
}

// niceStep is the smallest 1, 2 or 5 times a power of ten that is not below least, with the decimals
// that its multiples need.
func niceStep(least float64) (step float64, decimals int) {
	e := math.Floor(math.Log10(least))
	for _, m := range []float64{1, 2, 5, 10} {
		step = m * math.Pow(10, e)
		if step >= least*(1-1e-9) {
			if m == 10 {
				e++
			}
			break
		}
	}
	return step, int(math.Max(0, -e))
}

// niceTop is the first tick at or above hi for an axis that starts at lo with at most most steps.
func niceTop(lo, hi float64, most int) float64 {
	if !(hi-lo > speck/10) || !drawable(hi-lo) {
		return lo + 1
	}
	step, _ := niceStep((hi - lo) / float64(most))
	return math.Ceil(hi/step-1e-9) * step
}

// minus writes a true minus sign.
func minus(s string) string {
	if len(s) > 0 && s[0] == '-' {
		return "\u2212" + s[1:]
	}
	return s
}
