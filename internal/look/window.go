package look

import (
	"context"
	"fmt"
	"math"
	"strconv"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// TraceWindow is a stretch of a record, thinned to the width at which it is drawn: each column keeps its least and
// largest value, so that no peak is lost. Times are on the record's clock.
type TraceWindow struct {
	Drop     string             `json:"drop"`
	Rate     quantity.Frequency `json:"rate_Hz"`
	Samples  int                `json:"samples"` // of the whole record
	First    quantity.Duration  `json:"first_s"` // of the whole record
	Last     quantity.Duration  `json:"last_s"`
	Exact    bool               `json:"exact"` // every sample of the stretch is there
	T        Times              `json:"t_s"`
	Raw      Series             `json:"raw_N"`      // before the filter
	Filtered Series             `json:"filtered_N"` // empty when no filter was applied
	Moved    Series             `json:"moved_m"`    // from taut to the end of the first arrest, else null
	Speed    Series             `json:"speed_mps"`  // downward; as moved_m
	Events   []TraceEvent       `json:"events"`
}

// TraceEvent is a moment of the record.
type TraceEvent struct {
	Kind   string            `json:"kind"` // "taut", "peak", "slack", "break", "end of record", "taut again"
	T      quantity.Duration `json:"t_s"`
	ByHand bool              `json:"by_hand"`
}

// Series is numbers as JSON with six digits; what is not a number is null.
type Series []float64

// Times are seconds as JSON, to 0.1 µs.
type Times []float64

// MarshalJSON writes the times short.
func (t Times) MarshalJSON() ([]byte, error) {
	b := make([]byte, 0, 10*len(t)+2)
	b = append(b, '[')
	for i, v := range t {
		if i > 0 {
			b = append(b, ',')
		}
		b = strconv.AppendFloat(b, math.Round(v*1e7)/1e7, 'g', -1, 64)
	}
	return append(b, ']'), nil
}

// MarshalJSON writes the numbers short.
func (s Series) MarshalJSON() ([]byte, error) {
	b := make([]byte, 0, 9*len(s)+2)
	b = append(b, '[')
	for i, v := range s {
		if i > 0 {
			b = append(b, ',')
		}
		if math.IsNaN(v) || math.IsInf(v, 0) {
			b = append(b, "null"...)
			continue
		}
		b = strconv.AppendFloat(b, v, 'g', 6, 64)
	}
	return append(b, ']'), nil
}

// widest is the largest number of columns that may be asked for.
const widest = 4000

// Window gives a stretch of a drop's record in px columns. A stretch of nothing is the whole record.
func (s *Campaign) Window(ctx context.Context, id string, from, to quantity.Duration, px int) (*TraceWindow, error) {
	if px < 2 || px > widest || math.IsNaN(from.SI()) || math.IsNaN(to.SI()) {
		return nil, fmt.Errorf("drop %s: a stretch from %v to %v in %d columns cannot be drawn; ask for 2 to %d columns", id, from, to, px, widest)
	}
	l, err := s.Look(ctx, id)
	if err != nil {
		return nil, err
	}
	return l.window(id, from, to, px), nil
}

func (l *Look) window(id string, from, to quantity.Duration, px int) *TraceWindow {
	n := len(l.Force)
	dt, start := 1/l.Rate.SI(), l.Start.SI()
	w := &TraceWindow{Drop: id, Rate: l.Rate, Samples: n, First: l.Start, Last: quantity.Duration(start + float64(n-1)*dt), Events: l.events(), Filtered: Series{}}
	a, b := 0, n
	if to > from {
		// One sample more on each side, so that the line runs on to the edge.
		a = int(math.Min(math.Max(math.Floor((from.SI()-start)/dt)-1, 0), float64(n)))
		b = int(math.Min(math.Max(math.Ceil((to.SI()-start)/dt)+2, 0), float64(n)))
	}
	w.Exact = b-a <= 2*px
	size := 2 * px
	if w.Exact {
		size = max(b-a, 0)
	}
	w.T = make(Times, 0, size)
	for _, s := range []*Series{&w.Raw, &w.Moved, &w.Speed} {
		*s = make(Series, 0, size)
	}
	if w.Exact {
		for i := a; i < b; i++ {
			w.put(l, start+float64(i)*dt, i, l.Raw.At(i))
			if l.Low != nil {
				w.Filtered = append(w.Filtered, l.Low.At(i))
			}
		}
		return w
	}
	for c := range px {
		i, j := a+c*(b-a)/px, a+(c+1)*(b-a)/px
		first, second := columnOf(l.Raw, i, j, w.Raw)
		w.put(l, start+float64(i)*dt, i, first)
		w.put(l, start+float64(i+j)/2*dt, (i+j)/2, second)
		if l.Low != nil {
			first, second = columnOf(l.Low, i, j, w.Filtered)
			w.Filtered = append(w.Filtered, first, second)
		}
	}
	return w
}

// columnOf is least and largest value of a column, the one nearer to the value before first.
func columnOf(b *Band, i, j int, before Series) (first, second float64) {
	lo, hi, ok := b.Span(i, j)
	if !ok {
		return math.NaN(), math.NaN()
	}
	if n := len(before); n > 0 && math.Abs(before[n-1]-hi) < math.Abs(before[n-1]-lo) {
		return hi, lo
	}
	return lo, hi
}

func (w *TraceWindow) put(l *Look, t float64, i int, raw float64) {
	x, v := math.NaN(), math.NaN()
	if k := i - l.WholeReduction.First; k >= 0 && k < len(l.Moved) {
		x, v = l.Moved[k], l.Speed[k]
	}
	w.T, w.Raw, w.Moved, w.Speed = append(w.T, t), append(w.Raw, raw), append(w.Moved, x), append(w.Speed, v)
}

func (l *Look) events() []TraceEvent {
	h := l.Reduction.Settings.Hand
	out := []TraceEvent{
		{"taut", l.Taut, !h.None() && h.Taut != nil},
		{"peak", l.Peak, !h.None() && h.Peak != nil},
		{l.EndKind, l.End, !h.None() && h.Slack != nil},
	}
	for _, a := range l.Reduction.LaterArrests {
		out = append(out, TraceEvent{"taut again", a.Taut, false})
	}
	return out
}
