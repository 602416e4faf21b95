package acquire

import "github.com/hardcatch/hardcatch/internal/quantity"

// ViewSpan is the time that one view covers.
const ViewSpan = quantity.Duration(0.02)

// View is a short stretch of the stream for the screen.
type View struct {
	State   Phase   `json:"state"`
	First   int64   `json:"first"`
	Samples int     `json:"samples"`
	Missing int     `json:"missing"` // lost among them
	Ranges  []Range `json:"ranges"`  // one for each channel
}

// Range is what one channel showed; NaN-free numbers only count when Any is true.
type Range struct {
	Min  float64 `json:"min"`
	Max  float64 `json:"max"`
	Last float64 `json:"last"`
	Any  bool    `json:"any"`
}

// viewer makes views of a stream.
type viewer struct {
	span int64
	v    View
	end  int64
}

func newViewer(d *Description) *viewer {
	return &viewer{span: max(1, int64(d.Rate.SI()*ViewSpan.SI()+0.5)), v: View{Ranges: make([]Range, len(d.Channels))}, end: -1}
}

// add takes samples and gives each view that is complete to show.
func (w *viewer) add(b *Block, state Phase, show func(View)) {
	n := b.Len()
	for at := 0; at < n; {
		i := b.First + int64(at)
		if w.end < 0 || i >= w.end {
			w.finish(state, show)
			w.v.First = i - i%w.span
			w.end = w.v.First + w.span
		}
		to := int(min(int64(n), w.end-b.First))
		for c := range w.v.Ranges {
			w.v.Ranges[c].add(b.Values[c][at:to])
		}
		w.v.Samples += to - at
		at = to
		if b.First+int64(at) == w.end {
			w.finish(state, show)
		}
	}
}

func (r *Range) add(v []float64) {
	for _, x := range v {
		switch {
		case x != x:
			continue
		case !r.Any:
			*r = Range{x, x, x, true}
			continue
		case x < r.Min:
			r.Min = x
		case x > r.Max:
			r.Max = x
		}
		r.Last = x
	}
}

func (w *viewer) finish(state Phase, show func(View)) {
	if w.v.Samples == 0 {
		return
	}
	out := w.v
	out.State, out.Missing = state, int(w.span)-out.Samples
	out.Ranges = append([]Range(nil), out.Ranges...)
	show(out)
	w.v.Samples, w.end = 0, -1
	clear(w.v.Ranges)
}
