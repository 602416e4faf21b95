package reduce

import (
	"math"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
)

// One sample has no slope, two have their difference, three and more a parabola.
func TestEdge(t *testing.T) {
	const dt = 1e-3
	x := []float64{5, 7, 12, 20} // 5 + u/2 + 3 u^2/2
	if e := edgeOf(x, dt, 2, 2, 1, 0.1); e.known || e.at != 1 {
		t.Errorf("nothing was measured there: %+v", e)
	}
	for _, c := range []struct {
		from, to, at         int
		noise                float64
		force, slope, slopeU float64
	}{
		{1, 2, 1, 0.1, 7, 0, 100},
		{1, 3, 2, 0.1, 12, 5000, 5100},
		// Force and slope at either end: 1/2 + 3 u. Exact, so that the noise remains: 0.1 sqrt(192/27)/dt and 0.1 sqrt(192/64)/dt.
		{0, 3, 2, 0.1, 12, 6500, 100 * math.Sqrt(192.0/27)},
		{0, 4, 3, 0.1, 20, 9500, 100 * math.Sqrt(3)},
		{0, 4, 0, 0.1, 5, 500, 100 * math.Sqrt(3)},
	} {
		e := edgeOf(x, dt, c.from, c.to, c.at, c.noise)
		if !e.known || e.at != c.at {
			t.Errorf("%+v: %+v", c, e)
		}
		near(t, "force", e.force, c.force, 1e-9, 0)
		near(t, "slope", e.slope, c.slope, 1e-9, 1e-9)
		near(t, "slope's error", e.slopeU, c.slopeU, 1e-9, 0)
	}
	near(t, "a falling pair", edgeOf([]float64{7, 2}, dt, 0, 2, 0, 0).slopeU, 5000, 1e-12, 0)
	// (-1, 3, -3, 1) is orthogonal to every parabola: it leaves 20 over one degree of freedom, and the noise where that is more.
	wavy := []float64{-1, 3, -3, 1}
	near(t, "left over", edgeOf(wavy, dt, 0, 4, 0, 0).slopeU, math.Sqrt(20)*math.Sqrt(3)/dt, 1e-9, 0)
	near(t, "more noise", edgeOf(wavy, dt, 0, 4, 0, 5).slopeU, 5*math.Sqrt(3)/dt, 1e-9, 0)
	// Five points: 1, -4, 6, -4, 1 has no second degree in it either way: (2, -1, -2, -1, 2) . it = 2 + 4 - 12 + 4 + 2 = 0; 70 over two.
	near(t, "of five", edgeOf([]float64{1, -4, 6, -4, 1}, dt, 0, 5, 0, 0).slopeU, math.Sqrt(35*192.0/125)/dt, 1e-9, 0)
}

// Two stretches are one with no more than two samples, or an eighth of both together, between them.
func TestUnseenIn(t *testing.T) {
	for _, c := range []struct {
		a, b drop.Stretch
		want int
	}{
		{drop.Stretch{From: 10, To: 12}, drop.Stretch{From: 14, To: 16}, 1},
		{drop.Stretch{From: 10, To: 12}, drop.Stretch{From: 15, To: 17}, 2},
		{drop.Stretch{From: 10, To: 20}, drop.Stretch{From: 23, To: 34}, 1}, // 24/8 = 3
		{drop.Stretch{From: 10, To: 20}, drop.Stretch{From: 23, To: 33}, 2},
	} {
		c.a.Is, c.b.Is = drop.Lost, drop.Lost
		got := unseenIn(drop.Mask{c.a, c.b}, 0, 100)
		if len(got) != c.want || got[0].From != 10 || got[len(got)-1].To != c.b.To {
			t.Errorf("%+v: %+v", c, got)
		}
	}
	// Of one of two kinds the graver is said, and what lies beyond stays so.
	pair := func(a, b drop.Evidence) unseen {
		return unseenIn(drop.Mask{{From: 10, To: 12, Is: a, Why: "a"}, {From: 13, To: 15, Is: b, Why: "b"}}, 0, 100)[0]
	}
	if u := pair(drop.Bridged, drop.Saturated); u.Is != drop.Saturated || u.Why != "b" || !u.beyond {
		t.Errorf("%+v", u)
	}
	if u := pair(drop.Saturated, drop.Bridged); u.Is != drop.Saturated || u.Why != "a" || !u.beyond {
		t.Errorf("%+v", u)
	}
	if u := pair(drop.Lost, drop.Lost); u.Why != "a" || u.beyond {
		t.Errorf("%+v", u)
	}
	if u := pair(drop.OutOfRange, drop.OutOfRange); !u.beyond {
		t.Errorf("%+v", u)
	}
}

// Tangents of 1000 N/s from both sides, 10 ms apart, meet 5 N up; from 100 and 103 N they meet at (3 + 10)/2000 = 6.5 ms.
func TestCeiling(t *testing.T) {
	at := func(l, r edge) float64 {
		l.at, r.at = 20, 30
		return ceiling(l, r, 1e-3)
	}
	seen := func(force, slope, u float64) edge { return edge{force: force, slope: slope, slopeU: u, known: true} }
	inf := math.Inf(1)
	for _, c := range []struct {
		what string
		l, r edge
		want float64
	}{
		{"alike", seen(100, 1000, 0), seen(100, -1000, 0), 105},
		{"the right higher", seen(100, 1000, 0), seen(103, -1000, 0), 106.5},
		{"three standard errors more", seen(100, 700, 100), seen(103, -400, 200), 106.5},
		{"steeper on the left", seen(100, 3000, 0), seen(100, -1000, 0), 107.5},
		{"both fall", seen(100, -500, 0), seen(50, -1000, 0), 100},
		{"both rise", seen(50, 1000, 0), seen(100, 500, 0), 100},
		{"both fall, from alike", seen(100, -500, 0), seen(100, -1000, 0), 100},
		{"both rise, to alike", seen(100, 1000, 0), seen(100, 500, 0), 100},
		{"both rise, the right more", seen(100, 1000, 0), seen(100, 2000, 0), 100},
		{"a valley", seen(100, -1000, 0), seen(90, 1000, 0), 100},
		{"the tangent passes below the right", seen(100, 1000, 0), seen(130, -1000, 0), 130},
		{"the tangent passes below the left", seen(130, 1000, 0), seen(100, -1000, 0), 130},
		{"only the right, which rises", edge{}, seen(100, 301, 100), 100},
		{"only the right, which may not rise", edge{}, seen(100, 300, 100), inf},
		{"only the left, which falls", seen(100, -301, 100), edge{}, 100},
		{"only the left, which may not fall", seen(100, -300, 100), edge{}, inf},
		{"only the left, which rises", seen(100, 1000, 0), edge{}, inf},
		{"only the right, which falls", edge{}, seen(100, -1000, 0), inf},
		{"neither", edge{slope: -1000}, edge{slope: 1000}, inf},
	} {
		if got := at(c.l, c.r); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%s: %g, want %g", c.what, got, c.want)
		}
	}
}

// domed is an arrest of 10 000 N - 4 (i - 150)^2 from sample 100 to 200, at 1 kHz.
func domed() *told {
	w := bare()
	w.forceN = make([]float64, 301)
	for i := 100; i <= 200; i++ {
		w.forceN[i] = 1e4 - 4*sq(float64(i-150))
	}
	w.ev = events{first: 100, taut: 0.1, endAt: 200, end: 0.2, endKind: "slack"}
	w.lowN = w.forceN
	return w
}

// On a flank the tangents meet below what was measured; about the top they meet above it: 10 000 - 4 * 5^2 = 9900 N at 145 and 155, 40 N a sample.
func TestWhereThePeakMayLie(t *testing.T) {
	in := func(is drop.Evidence, from, to int) (*told, unseen) {
		w := domed()
		list := w.findUnseen(drop.Mask{{From: from, To: to, Is: is}})
		if len(list) != 1 {
			t.Fatalf("%d stretches", len(list))
		}
		return w, list[0]
	}
	w, u := in(drop.Lost, 146, 155)
	if !u.top || !u.left.known || !u.right.known || u.left.at != 145 || u.right.at != 155 {
		t.Fatalf("%+v", u)
	}
	near(t, "left", u.left.force, 9900, 1e-9, 0)
	near(t, "left slope", u.left.slope, 4e4, 1e-9, 0)
	near(t, "right slope", u.right.slope, -4e4, 1e-9, 0)
	near(t, "ceiling", u.ceiling, 10100, 1e-9, 0)
	near(t, "measured", w.largestMeasured(drop.Mask{{From: 146, To: 155, Is: drop.Lost}}), 9900, 1e-9, 0)
	near(t, "the end of the range is a bound", w.largestMeasured(drop.Mask{{From: 146, To: 155, Is: drop.Saturated}}), 10000, 1e-9, 0)
	near(t, "of two", w.largestMeasured(drop.Mask{{From: 120, To: 146, Is: drop.Lost}, {From: 149, To: 200, Is: drop.Lost}}), 1e4-4*4, 1e-9, 0)
	if _, u := in(drop.Lost, 115, 120); u.top {
		t.Errorf("on the rise: %+v", u)
	}
	if _, u := in(drop.Lost, 180, 185); u.top {
		t.Errorf("on the fall: %+v", u)
	}
	// Before the first sample nothing was measured; a rise after it that goes on bounds what is lost there, as does a fall before the end.
	if _, u := in(drop.Lost, 99, 103); u.top || u.left.known || u.From != 99 {
		t.Errorf("at the beginning: %+v", u)
	}
	if _, u := in(drop.Lost, 198, 204); u.top || u.right.known || u.To != 202 {
		t.Errorf("at the end: %+v", u)
	}
	// At the end of a range the force may be what it likes, from 0.8 of the largest measured on: 1e4 - 4 * 22^2 = 8064 N at sample 128.
	if _, u := in(drop.Saturated, 120, 129); !u.top {
		t.Errorf("128 stands above 8000 N: %+v", u)
	}
	if _, u := in(drop.Saturated, 120, 128); u.top {
		t.Errorf("127 stands below 8000 N: %+v", u)
	}
}

// The neighbour of a stretch bounds what its edge is read from, and a flank that changes by more than a fifth of the largest is no parabola.
func TestEdgesOfAStretch(t *testing.T) {
	w := domed()
	for i := 124; i < 127; i++ {
		w.forceN[i] = -1e6 // not measured: must not be read
	}
	list := w.findUnseen(drop.Mask{{From: 124, To: 127, Is: drop.Lost}, {From: 134, To: 137, Is: drop.Lost}})
	if len(list) != 2 {
		t.Fatalf("%+v", list)
	}
	force := func(i int) float64 { return 1e4 - 4*sq(float64(i-150)) }
	near(t, "left of the first", list[0].left.force, force(123), 1e-9, 0)
	near(t, "right of the first", list[0].right.force, force(127), 1e-9, 0)
	near(t, "left of the second", list[1].left.force, force(133), 1e-9, 0)
	near(t, "right of the second", list[1].right.force, force(137), 1e-9, 0)
	if list[0].top || list[1].top {
		t.Errorf("%+v", list)
	}
}

func TestStands(t *testing.T) {
	x := []float64{1, 3, 2}
	if !stands(x, 3) || stands(x, 3.1) || stands(nil, 0) {
		t.Error("a value reaches a level when it is no smaller")
	}
}

// The largest force that was measured, of the filtered record and no more than the largest sample; where the channel was at its end counts.
func TestPeakAtLeast(t *testing.T) {
	w := domed()
	w.lowN = append([]float64(nil), w.forceN...)
	w.lowN[140] = 20000
	w.measuredN = 9950
	w.evidence = drop.Mask{{From: 140, To: 141, Is: drop.Lost}, {From: 146, To: 155, Is: drop.Bridged}, {From: 155, To: 156, Is: drop.Saturated}}
	w.lowN[155] = 9930
	p := w.peakAtLeast(peakResult{read: lastSample})
	if p.value != 9930 || p.raw != 9950 || p.filtered != 9930 || p.time != 0.155 || p.read != atTop {
		t.Errorf("%+v", p)
	}
	w.measuredN = 9910
	if p := w.peakAtLeast(peakResult{}); p.value != 9910 || p.filtered != 9930 {
		t.Errorf("no more than the largest sample: %+v", p)
	}
	w.evidence = drop.Mask{{From: 0, To: 300, Is: drop.Lost}}
	if p := w.peakAtLeast(peakResult{value: 5}); p.value != 5 {
		t.Errorf("nothing was measured: %+v", p)
	}
	for _, i := range []int{100, 200} { // both ends of the arrest belong to it
		w.evidence = drop.Mask{{From: 0, To: i, Is: drop.Lost}, {From: i + 1, To: 300, Is: drop.Lost}}
		w.lowN[i] = 3
		if p := w.peakAtLeast(peakResult{value: 5}); p.filtered != 3 {
			t.Errorf("%d: %+v", i, p)
		}
	}
}
