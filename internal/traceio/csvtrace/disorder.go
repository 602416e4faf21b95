package csvtrace

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
)

// longestBridge is the largest number of missing samples that a straight line may stand in for.
const longestBridge = 3

// mostSwell bounds how many samples an even base may hold for each row, and fewSamples are never too many for
// times that are uneven throughout.
const (
	mostSwell  = 16
	fewSamples = 1 << 21
	mostValues = 1 << 22 // of all channels
)

// disordered finds the base of times that are not even as they stand: it leaves out what goes back, joins
// what repeats, and then places the rest on a base with gaps, or resamples it.
func (r *reader) disordered(f fit) (*settled, error) {
	t := r.base.times
	r.bridgeTimes(t, f.median)
	coarse := r.isCoarse(t, f.median)
	at, u, rows := r.order(t, f.median, coarse)
	if len(u) < fewest {
		return nil, fmt.Errorf("%s:%d: only %d samples have rising times, and at least %d are needed; check the time column", r.f.name, r.first+1, len(u), fewest)
	}
	if s, err := r.lattice(at, u, rows, coarse); s != nil || err != nil {
		return s, err
	}
	if coarse {
		at, u, rows = r.order(t, f.median, false)
		if len(u) < fewest {
			return nil, fmt.Errorf("%s:%d: only %d samples have rising times, and at least %d are needed; check the time column", r.f.name, r.first+1, len(u), fewest)
		}
	}
	return r.resample(at, u, rows)
}

// bridgeTimes fills times that could not be read from those around them.
func (r *reader) bridgeTimes(t []float64, step float64) {
	last := -1
	for i := 0; i <= len(t); i++ {
		if i < len(t) && math.IsNaN(t[i]) {
			continue
		}
		if i-last > 1 {
			for k := last + 1; k < i; k++ {
				switch {
				case last < 0 && i == len(t):
				case last < 0:
					t[k] = t[i] - float64(i-k)*step
				case i == len(t) || t[i] <= t[last]:
					t[k] = t[last] + float64(k-last)*step
				default:
					t[k] = t[last] + (t[i]-t[last])*float64(k-last)/float64(i-last)
				}
			}
		}
		last = i
	}
}

// isCoarse tells that equal times next to each other are a matter of digits: they are frequent, and the rising
// steps are of the last digit.
func (r *reader) isCoarse(t []float64, median float64) bool {
	same := 0
	for i := 1; i < len(t); i++ {
		if t[i] == t[i-1] {
			same++
		}
	}
	return same*10 >= len(t) && median <= 1.5*r.base.resolution()
}

// order leaves out rows that go back in time and, unless times are coarse, joins rows of one time. at is the
// place in u of each row, -1 for those left out; rows is the first row of each time in u.
func (r *reader) order(t []float64, step float64, coarse bool) (at []int32, u []float64, rows []int32) {
	at = make([]int32, len(t))
	same := 1e-6 * step // what is nearer differs by rounding only
	for i, v := range t {
		n := len(u)
		switch {
		case n == 0 || v > u[n-1]+same || coarse && v == u[n-1]:
			at[i] = int32(n)
			u, rows = append(u, v), append(rows, int32(i))
		case v >= u[n-1]-same:
			at[i] = int32(n - 1)
			r.f.row(drop.Warning, "repeated-time", "", r.lineOf(i), i, func() string {
				return fmt.Sprintf("the time is repeated (%s again)", r.show(v))
			}, "the mean of the readings at one time was kept; check whether the logger doubled lines or prints too few digits")
		default:
			before := u[n-1]
			wayOut := "sort or cut the record at the logger restart; readings that do not advance the time were left out"
			if n > 1 && rows[n-1] == int32(i-1) && before-u[n-2] > 1.5*step && v > u[n-2] && v-u[n-2] < 2.5*step {
				// The row before leapt ahead for one line: it is the odd one.
				at[i-1], at[i] = -1, int32(n-1)
				u[n-1], rows[n-1] = v, int32(i)
				wayOut = "correct the line before, which leaps ahead and was left out"
			} else {
				at[i] = -1
			}
			r.f.row(drop.Fault, "backward-time", "", r.lineOf(i), i, func() string {
				return fmt.Sprintf("time goes backwards (%s after %s)", r.show(v), r.show(before))
			}, wayOut)
		}
	}
	return at, u, rows
}

// lattice places times on an even base with whole steps missing here and there. It returns nil when they do
// not fit one.
func (r *reader) lattice(at []int32, u []float64, rows []int32, coarse bool) (*settled, error) {
	q := r.base.resolution()
	step, big := r.usualStep(u, coarse)
	if !(step > 0) {
		return nil, nil
	}
	k := make([]int64, len(u))
	gaps := 0
	for i := 1; i < len(u); i++ {
		k[i] = k[i-1] + 1
		if d := u[i] - u[i-1]; d > big {
			if d/step > 1e15 || k[i] > 1<<52 {
				return nil, fmt.Errorf("%s:%d: %s lies too far after %s; look for a stray time, or cut the record there", r.f.name, r.lineOf(int(rows[i])), r.show(u[i]), r.show(u[i-1]))
			}
			if whole := int64(math.Round(d / step)); whole > 1 {
				k[i] += whole - 1
				gaps++
			}
		}
	}
	l, largest, rms := lineOver(k, u)
	tol := math.Max(0.75*math.Max(q, 1e-6*step), evenShare*step)
	if step > 3*q {
		tol = math.Max(tol, 1.05*q) // least squares may lie a digit off, which is no whole step here
	}
	if !(l.step > 0) || largest > tol || gaps > 3 && gaps*20 > len(u) {
		return nil, nil
	}
	samples := k[len(k)-1] + 1
	if samples > int64(mostSwell*len(u)+1000) || samples > int64(r.limit) || samples > r.roomOf(len(u)) {
		i := widest(u)
		return nil, fmt.Errorf("%s:%d: a gap from %s to %s would hold more samples than the record has; cut the record there", r.f.name, r.lineOf(int(rows[i])), r.show(u[i-1]), r.show(u[i]))
	}
	r.sayGaps(k, u, rows)
	for i, x := range at {
		if x >= 0 {
			at[i] = int32(k[x])
		}
	}
	n := float64(len(u))
	uStep := math.Max(1e-9*l.step, slopeU(math.Max(q/math.Sqrt(12), rms), n))
	s := &settled{samples: int(samples), at: at, start: r.time0().seconds(l.start), rate: r.roundRate(l.step, uStep)}
	if !coarse {
		s.start = r.time0().seconds(u[0])
	}
	r.compareRate(s.rate)
	return s, nil
}

// roomOf is how many samples a base may hold so that all channels together need no more memory than mostValues numbers, or a
// few times that of the rows when there are more of them.
func (r *reader) roomOf(rows int) int64 {
	return max(mostValues/int64(len(r.vals)), int64(mostSwell/2*rows))
}

// usualStep is the mean of the steps that are not gaps, and the step from which one is a gap.
func (r *reader) usualStep(u []float64, coarse bool) (step, gap float64) {
	m := medianStep(u)
	gap = 1.5 * m
	if coarse {
		gap = m + 1.5*r.base.resolution()
	}
	sum, n := 0.0, 0
	for i := 1; i < len(u); i++ {
		if d := u[i] - u[i-1]; d < gap {
			sum += d
			n++
		}
	}
	if n == 0 {
		return 0, gap
	}
	if !coarse {
		gap = math.Max(gap, math.Min(m+1.01*r.base.resolution(), 1.99*m))
	}
	return sum / float64(n), gap
}

func (r *reader) sayGaps(k []int64, u []float64, rows []int32) {
	for i := 1; i < len(k); i++ {
		lost := int(k[i] - k[i-1] - 1)
		if lost == 0 {
			continue
		}
		from, to := int(k[i-1])+1, int(k[i])
		g, kind, wayOut := drop.Warning, "gap", "they were bridged by a straight line; a peak between them is lost"
		if lost > longestBridge {
			g, kind, wayOut = drop.Fault, "long-gap", "they are NaN here; cut the record at the gap, or leave the drop out if the arrest lies in it"
		} else {
			r.bridged = append(r.bridged, [2]int{from, to})
		}
		r.f.stretch(g, kind, "", from, to, func() int { return r.lineOf(int(rows[i])) }, func() string {
			return fmt.Sprintf("%s missing between %s and %s", count(lost, "sample is", "samples are"), r.show(u[i-1]), r.show(u[i]))
		}, wayOut)
	}
}

func widest(u []float64) int {
	best := 1
	for i := 2; i < len(u); i++ {
		if u[i]-u[i-1] > u[best]-u[best-1] {
			best = i
		}
	}
	return best
}

// lineOver is the least-squares line of u over k.
func lineOver(k []int64, u []float64) (l line, largest, rms float64) {
	n := float64(len(u))
	last := float64(k[len(k)-1])
	slope := (u[len(u)-1] - u[0]) / last
	var mx, me float64
	for i := range u {
		mx += float64(k[i]) / n
		me += (u[i] - u[0] - slope*float64(k[i])) / n
	}
	var sxx, sxe float64
	for i := range u {
		x := float64(k[i]) - mx
		sxx += x * x
		sxe += x * (u[i] - u[0] - slope*float64(k[i]) - me)
	}
	more := sxe / sxx
	l = line{start: u[0] + me - more*mx, step: slope + more, n: len(u)}
	var ss float64
	for i := range u {
		e := u[i] - l.start - l.step*float64(k[i])
		largest = math.Max(largest, math.Abs(e))
		ss += e * e
	}
	return l, largest, math.Sqrt(ss / n)
}
