package csvtrace

import (
	"fmt"
	"math"
	"strconv"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// fewest is the smallest number of samples that make a record.
const fewest = 8

// settled is the even time base of a record and where its rows stand on it.
type settled struct {
	rate    float64 // Hz
	start   float64 // s
	samples int
	at      []int32   // sample of each row, -1 = left out; nil = each row is the sample of its number
	uneven  []float64 // times of the rows left in, strictly rising, in steps of the new base; nil = on the base
}

// sampleOf is the sample that stands for a row, or the one before it when the row was left out.
func (s *settled) sampleOf(row int) int {
	if s.at == nil {
		return row
	}
	for row = min(row, len(s.at)-1); row > 0 && s.at[row] < 0; {
		row--
	}
	k := max(int(s.at[max(row, 0)]), 0)
	if s.uneven != nil {
		return int(s.uneven[k])
	}
	return k
}

// settle finds the even base of the rows read.
func (r *reader) settle() (*settled, error) {
	if r.rows < fewest {
		return nil, fmt.Errorf("%s:%d: only %s can be read, and at least %d samples are needed; check that this is the whole record", r.f.name, r.first+1, count(r.rows, "row", "rows"), fewest)
	}
	if r.timeAt < 0 {
		return &settled{rate: r.rate, samples: r.rows}, nil
	}
	b := &r.base
	for i, row := range b.nights {
		if i == 0 {
			r.f.once(drop.Note, "midnight", r.lineOf(row), "the clock passes midnight; a day was added", "")
		}
	}
	if b.even {
		l := b.fitted()
		if err := r.settleUnit(l.step, l.step*float64(r.rows-1)); err != nil {
			return nil, err
		}
		f := fit{line: b.fitted(), even: true, strict: b.strict, spread: b.spread, odd: b.odd}
		if b.strict {
			f.start = b.line.start
		}
		f.coarse = !f.strict && b.resolution() > f.step/3
		return r.onLine(f)
	}
	f := fitLine(b.times, b.resolution())
	if err := r.settleUnit(b.meanStep()); err != nil {
		return nil, err
	}
	if s, err := r.counted(); s != nil || err != nil {
		return s, err
	}
	if f.even {
		return r.onLine(f)
	}
	if !(f.median > 0) {
		return nil, fmt.Errorf("%s:%d: the times do not rise (%s throughout or falling); check the time column, or leave it out and state the rate, for example --rate \"1 kHz\"", r.f.name, r.first+1, r.show(b.times[0]))
	}
	return r.disordered(f)
}

// onLine is the base of times that lie on a line.
func (r *reader) onLine(f fit) (*settled, error) {
	q := r.base.resolution()
	n := float64(f.n)
	u := 1e-9 * f.step // of the step
	if f.strict {
		u = math.Max(u, 4*f.spread/math.Pow(n, 1.5))
	} else {
		// Scatter averages out; the rounding of times does so only as often as its digit changes out of step.
		u = math.Max(u, slopeU(math.Max(q/math.Sqrt(12), f.rms), n))
		u = math.Max(u, 1.5*q/(n*float64(1+f.odd)))
	}
	if u > 0.25*f.step {
		return nil, fmt.Errorf("%s:%d: the times are printed in steps of %s, too coarse to tell the rate of %d samples; export them with more digits, or without the time column and state the rate", r.f.name, r.first+1, r.span(q), r.rows)
	}
	s := &settled{samples: r.rows, start: r.time0().seconds(f.start)}
	s.rate = r.roundRate(f.step, u)
	if f.coarse {
		g := drop.Note
		if u > 1e-3*f.step {
			g = drop.Warning
		}
		r.f.once(g, "coarse-times", r.first+1, fmt.Sprintf("the times are printed in steps of %s, too coarse for samples %s apart; the straight line through all of them gives %s ± %s", r.span(q), r.span(f.step), hz(s.rate), quantity.Frequency(s.rate*u/f.step).Text(2)),
			"let the logger print more digits")
	}
	if f.jitter {
		r.f.once(drop.Note, "jitter", r.first+1, fmt.Sprintf("the times lie up to %s from an even base (%.2g %% of a step); they were taken as even", r.span(f.largest), 100*f.largest/f.step), "")
	}
	r.compareRate(s.rate)
	return s, nil
}

// slopeU is three standard uncertainties of the least-squares slope through n points that scatter by sd.
func slopeU(sd, n float64) float64 { return 3 * sd * math.Sqrt(12/(n*n*n)) }

// time0 is the unit of the time column.
func (r *reader) time0() timeScale { return r.plan.time }

// roundRate is the rate for a step of the column, rounded to the fewest digits of rate or step that lie
// within u of the step.
func (r *reader) roundRate(step, u float64) float64 {
	t := r.time0()
	if r.cols[r.timeAt].role == roleIndex {
		if k := math.Round(step); math.Abs(step-k) <= math.Max(u, 1e-6) && k > 0 {
			return r.plan.rate / k
		}
		return r.plan.rate / step
	}
	rate, period := t.perSecond(1/step), t.seconds(step)
	rel := u / step
	if rel > 1e-3 {
		return rate
	}
	for d := 1; d < 17; d++ {
		if v := digitsOf(rate, d); math.Abs(v-rate) <= rel*rate {
			return v
		}
		if v := digitsOf(period, d); math.Abs(v-period) <= rel*period {
			return 1 / v
		}
	}
	return rate
}

func digitsOf(v float64, d int) float64 {
	out, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', d-1, 64), 64)
	if err != nil {
		return v
	}
	return out
}

// compareRate holds the rate of the time column against one that was stated.
func (r *reader) compareRate(found float64) {
	if r.cols[r.timeAt].role == roleIndex || r.plan.rate == 0 || math.Abs(found/r.plan.rate-1) <= 0.01 {
		return
	}
	where, line := "stated", r.first+1
	if r.stated.hz == r.plan.rate {
		where, line = "named by the line "+strconv.Quote(sample([]byte(r.stated.text))), r.stated.line
	}
	r.f.once(drop.Warning, "rate-contradicted", line, fmt.Sprintf("the time column gives %s, but %s is %s; the time column was used", hz(found), hz(r.plan.rate), where), "check the unit of the time column")
}

// show prints a time of the column with its digits and unit.
func (r *reader) show(t float64) string {
	d := 0
	if r.base.low < 0 {
		d = min(-r.base.low, 12)
	}
	switch r.cols[r.timeAt].role {
	case roleIndex:
		return "sample " + strconv.FormatFloat(t, 'f', d, 64)
	case roleClock:
		whole := math.Floor(t)
		day := int(whole) % secondsPerDay
		text := fmt.Sprintf("%02d:%02d:%02d", day/3600, day/60%60, day%60)
		return text + strconv.FormatFloat(t-whole, 'f', d, 64)[1:]
	}
	return strconv.FormatFloat(t, 'f', d, 64) + " " + r.time0().text
}

// span prints a difference of times of the column.
func (r *reader) span(t float64) string {
	return quantity.Duration(r.time0().seconds(t)).Text(3)
}
