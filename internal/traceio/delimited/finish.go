package delimited

import (
	"fmt"
	"math"

	"hardcatch/internal/drop"
	"hardcatch/internal/num/dsp"
	"hardcatch/internal/quantity"
)

// fewest samples that make a record.
const fewest = 8

// bridged is the largest number of missing samples that a straight line may stand in for without making
// the record faulty.
const bridged = 5

// most bounds the number of samples on an even base: a record may not swell to more than twenty times its
// rows, which takes hours of gap or a stray time.
func (s *scan) most(rows int) int { return 20*rows + 1000 }

func (s *scan) finish() (*drop.Trace, error) {
	if s.rows < fewest {
		return nil, fmt.Errorf("%s:%d: only %d rows of numbers are found, at least %d are needed; is this the record?", s.name, s.layout.line, s.rows, fewest)
	}
	t := &drop.Trace{Name: s.name, Format: Format{}.Name()}
	switch {
	case s.timeAt < 0:
		rate, err := s.rate()
		if err != nil {
			return nil, err
		}
		t.Rate = quantity.Frequency(rate)
		if s.opts.Rate == 0 {
			s.note(drop.Note, "rate-from-preamble", s.name+":1", fmt.Sprintf("there is no time column; the rate %s is from the preamble (%q)", t.Rate, clip(s.layout.rateFrom)), "")
		}
	case s.clock.times == nil && s.clock.last > s.clock.first:
		s.regular(t)
	case s.clock.times == nil:
		return nil, fmt.Errorf("%s:%d: the times do not rise (%s s throughout); check the time column", s.name, s.layout.line, seconds(s.clock.first))
	default:
		if err := s.irregular(t); err != nil {
			return nil, err
		}
	}
	if !(t.Rate > 0) || math.IsInf(t.Rate.SI(), 0) {
		return nil, fmt.Errorf("%s:%d: the times do not rise; check the time column", s.name, s.layout.line)
	}
	if s.timeAt >= 0 && s.opts.Rate > 0 && s.cols[s.timeAt].role != roleIndex {
		if r := t.Rate.SI() / s.opts.Rate.SI(); r < 0.999 || r > 1.001 {
			s.note(drop.Warning, "rate-differs", s.name, fmt.Sprintf("the time column gives %s where %s was stated; the time column was used", t.Rate, s.opts.Rate), "leave --rate out, or correct it")
		}
	}
	s.channels(t)
	t.Findings = s.findings
	return t, nil
}

func (s *scan) regular(t *drop.Trace) {
	step := s.clock.step()
	t.Start, t.Rate = quantity.Duration(s.clock.first), quantity.Frequency(1/step)
	if r := math.Round(1 / step); math.Abs(1/step-r) < 1e-9*r {
		t.Rate = quantity.Frequency(r)
	}
	if s.clock.resolution > 0.5*step && s.clock.tol > 0.1*s.clock.resolution*1.01 {
		s.note(drop.Note, "coarse-times", s.place0(), fmt.Sprintf("the times are printed in steps of %s, too coarse for samples each %s; the rate %s is the one that fits all of them", quantity.Duration(s.clock.resolution).Text(3), quantity.Duration(step).Text(3), t.Rate), "")
	}
}

func (s *scan) place0() string { return fmt.Sprintf("%s:%d", s.name, s.layout.line) }

// irregular sorts out repeated and backward times, and puts the rest on an even base.
func (s *scan) irregular(t *drop.Trace) error {
	times := s.dropDisorder()
	if len(times) < fewest {
		return fmt.Errorf("%s:%d: only %d samples with rising times are left, at least %d are needed; check the time column", s.name, s.layout.line, len(times), fewest)
	}
	steps := make([]float64, len(times)-1)
	for i := range steps {
		steps[i] = times[i+1] - times[i]
	}
	nominal := median(steps)
	slack := math.Max(1.05*s.clock.resolution, 0.01*nominal)
	even := true
	for _, d := range steps {
		if d < nominal-slack || d > nominal+slack && d < 1.5*nominal {
			even = false
			break
		}
	}
	t.Start = quantity.Duration(times[0])
	if even && s.onGrid(t, times, steps, nominal, slack) {
		return nil
	}
	return s.resample(t, times, steps, nominal)
}

// dropDisorder leaves out samples whose time does not rise: those at a repeated time are averaged into one,
// those that go back are left out.
func (s *scan) dropDisorder() []float64 {
	in := s.clock.times
	out := in[:0:0]
	weight := 1.0
	for i, v := range in {
		n := len(out)
		switch {
		case n == 0 || v > out[n-1]:
			for c := range s.cols {
				if s.cols[c].role == roleValue {
					s.cols[c].values[n] = s.cols[c].values[i]
				}
			}
			out = append(out, v)
			weight = 1
		case v == out[n-1]:
			s.noteAt(i, drop.Warning, "repeated-time", fmt.Sprintf("the time %s s stands twice; the values were averaged", seconds(v)), "a logger that prints too few digits does this; export with more")
			weight++
			for c := range s.cols {
				if s.cols[c].role == roleValue {
					y := s.cols[c].values
					y[n-1] += (y[i] - y[n-1]) / weight
				}
			}
		default:
			s.noteAt(i, drop.Fault, "backward-time", fmt.Sprintf("time goes backwards (%s s after %s s); the sample was left out", seconds(v), seconds(out[n-1])), "sort the lines, or cut the record where the logger restarted")
		}
	}
	for c := range s.cols {
		if s.cols[c].role == roleValue {
			s.cols[c].values = s.cols[c].values[:len(out)]
		}
	}
	return out
}

func (s *scan) noteAt(sample int, g drop.Grade, kind, fact, wayOut string) {
	f := s.note(g, kind, fmt.Sprintf("%s:%d", s.name, s.lineOf(sample)), fact, wayOut)
	if f.Count == 1 {
		f.From = sample
	}
	f.To = sample + 1
}

func seconds(v float64) string { return fmt.Sprintf("%.9g", v) }

// onGrid places samples of even steps with gaps between on a grid, and bridges the gaps by straight lines. It
// reports false when the gaps are not whole numbers of steps, which makes the times uneven.
func (s *scan) onGrid(t *drop.Trace, times, steps []float64, nominal, slack float64) bool {
	index := make([]int, len(times))
	missing := 0
	for i, d := range steps {
		if d/nominal > float64(s.most(len(times))) {
			return false
		}
		k := max(1, int(math.Round(d/nominal)))
		if math.Abs(d-float64(k)*nominal) > slack+0.05*nominal {
			return false
		}
		index[i+1] = index[i] + k
		if k > 1 {
			missing += k - 1
		}
	}
	last := index[len(index)-1]
	if last > s.most(len(times)) {
		return false
	}
	for i, d := range steps {
		if k := index[i+1] - index[i]; k > 1 {
			g, what := drop.Warning, "gap"
			if k-1 > bridged {
				g, what = drop.Fault, "long-gap"
			}
			s.noteAt(i+1, g, what, fmt.Sprintf("%d samples are missing (%s s without data before %s s); they were bridged by a straight line", k-1, seconds(d), seconds(times[i+1])), "a peak inside the gap is lost; look whether it lies in the arrest")
		}
	}
	step := (times[len(times)-1] - times[0]) / float64(last)
	half := s.clock.resolution / float64(last)
	t.Rate = quantity.Frequency(roundest(1/(step+half+1e-12*step), 1/(step-half-1e-12*step)))
	if missing == 0 {
		return true
	}
	for c := range s.cols {
		if s.cols[c].role != roleValue {
			continue
		}
		y := s.cols[c].values
		out := make([]float64, last+1)
		for i := range steps {
			k := index[i+1] - index[i]
			for j := range k {
				w := float64(j) / float64(k)
				out[index[i]+j] = y[i] + w*(y[i+1]-y[i])
			}
		}
		out[last] = y[len(y)-1]
		s.cols[c].values = out
	}
	return true
}

// resample interpolates uneven samples onto an even base of the median step, and says how uneven they were.
func (s *scan) resample(t *drop.Trace, times, steps []float64, nominal float64) error {
	rate := roundest(0.98/nominal, 1.02/nominal)
	if rate <= 0 || math.IsInf(rate, 0) {
		return fmt.Errorf("%s:%d: the times rise too little to resample; check the time column", s.name, s.layout.line)
	}
	dt := 1 / rate
	span := times[len(times)-1] - times[0]
	if span/dt > float64(s.most(len(times))) {
		return fmt.Errorf("%s:%d: the times span %s s, at steps of %s s far more samples than the %d rows; look for a stray time or a long gap, and cut the record there", s.name, s.layout.line, seconds(span), seconds(dt), len(times))
	}
	n := int(span/dt+1e-9) + 1
	if n < fewest {
		return fmt.Errorf("%s:%d: only %d samples are left on an even time base; check the time column", s.name, s.layout.line, n)
	}
	least, largest, ss, off := math.Inf(1), 0.0, 0.0, 0
	for _, d := range steps {
		least, largest = math.Min(least, d), math.Max(largest, d)
		ss += (d - nominal) * (d - nominal)
		if math.Abs(d-nominal) > 0.05*nominal {
			off++
		}
	}
	s.note(drop.Warning, "uneven-times", s.place0(), fmt.Sprintf("the sample times are uneven: steps from %s s to %s s, rms %.3g %% off the median %s s, %.3g %% of them more than 5 %% off; the values were interpolated onto steps of %s s",
		seconds(least), seconds(largest), 100*math.Sqrt(ss/float64(len(steps)))/nominal, seconds(nominal), 100*float64(off)/float64(len(steps)), seconds(dt)), "a peak between two samples can be missed; record with an even clock")
	for c := range s.cols {
		if s.cols[c].role != roleValue {
			continue
		}
		out := make([]float64, n)
		dsp.ResampleLinear(out, times, s.cols[c].values, times[0], dt)
		s.cols[c].values = out
	}
	t.Rate, t.Resampled = quantity.Frequency(rate), true
	return nil
}

// channels scales the columns to SI and looks for stretches at the end of the range.
func (s *scan) channels(t *drop.Trace) {
	for i := range s.cols {
		c := &s.cols[i]
		if c.role != roleValue {
			continue
		}
		for _, f := range dsp.FlatTops(c.values) {
			side := "lowest"
			if f.High {
				side = "highest"
			}
			s.noteAt(f.From, drop.Warning, "clipped", fmt.Sprintf("%d samples of column %q stay at its %s value %s: the range cut them off", f.To-f.From, c.name, side, quantity.Significant(c.values[f.From], 6)), "the true value lies beyond; void the drop, or repeat it with a larger range")
		}
		for j, v := range c.values {
			if math.IsInf(v, 0) {
				s.noteAt(j, drop.Fault, "infinite", fmt.Sprintf("column %q holds a number too large to be one", c.name), "correct the line")
				c.values[j] = math.NaN()
			} else if c.scale != 1 {
				c.values[j] = v * c.scale
			}
		}
		t.Channels = append(t.Channels, drop.Channel{Name: c.name, Unit: c.unit.Name, Dim: c.unit.Dim, Factor: c.scale, Kind: c.unit.kind, Values: c.values})
	}
}
