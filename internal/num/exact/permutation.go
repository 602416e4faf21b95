package exact

import (
	"fmt"
	"math"
	"sort"
)

// Pair is two cells that differ in nothing but the factor asked about.
type Pair struct{ A, B []float64 }

// Source is a stream of uniform numbers on [0, 1), seeded by the caller.
type Source interface{ Float64() float64 }

// Sampling says what to do where the splits are too many to be counted.
type Sampling struct {
	Source Source // needed only then
	Draws  int    // 0 is DefaultDraws, down to 9,999 where groups are large
	Always bool   // draw even where all splits can be counted
}

// DefaultDraws makes the standard error of a p-value of 0.05 about 0.0007.
const DefaultDraws = 99_999

// Permutation is a test of the claim that the labels A and B mean nothing: that within each pair every
// split of the values into groups of these sizes was as likely as the one seen.
type Permutation struct {
	// Difference is A minus B, in the unit of the values or of their scores: over several pairs the mean
	// of the differences with weights nA nB/(nA + nB).
	Difference float64

	// TwoSided is the share of splits whose difference is as far from 0 or farther, Greater of those at
	// least as high, Less of those at most as high.
	TwoSided, Greater, Less float64

	Exact  bool    // all splits were counted; otherwise (r+1)/(Draws+1) with r of Draws as extreme
	Splits float64 // how many there are
	Draws  int     // 0 when exact
	SE     float64 // standard error of TwoSided from drawing; 0 when exact

	// SmallestValues is the smallest TwoSided that any split of these very values gives, SmallestDesign
	// the smallest that groups of these sizes could have given with any values.
	SmallestValues, SmallestDesign float64

	Pairs    int // that were used
	Warnings []string
}

// room is how many different sums each of the two halves of the work may hold. Their pairs, which are
// the splits, are counted without being listed: 20 against 20 values are 1.4e11 splits of two halves of a
// million sums.
const room = 2_000_000

// MeanDifference tests the difference of means of A and B by permutation within each pair; one pair is
// the plain two-group test. All splits are counted where that is possible: up to about 40 values a pair,
// more with ties. Otherwise splits are drawn from the source. The values may be logarithms; the
// difference is then that of logarithms.
//
// A pair with an empty side says nothing: it is left out with a warning. An error tells that no pair is
// left, that a value is not finite, that all values are equal or that a source is needed.
//
// Source: Fisher 1935 and Pitman, J. R. Stat. Soc. Suppl. 4 (1937) 119-130; counting by sums as Pagano
// and Tritchler, J. Am. Stat. Assoc. 78 (1983) 435-440; (r+1)/(B+1) as Davison and Hinkley, Bootstrap
// Methods, 1997, 4.2 (recalled).
func MeanDifference(pairs []Pair, s Sampling) (Permutation, error) {
	return permute(pairs, s, func(all []float64) ([]float64, error) { return all, nil })
}

// stratum is one pair as the engine sees it: scores less their mean, those of A first.
type stratum struct {
	dev []float64
	nA  int
}

// permute scores each pair, A first, and tests the scores.
func permute(pairs []Pair, s Sampling, score func(all []float64) ([]float64, error)) (Permutation, error) {
	var strata []stratum
	var warnings []string
	for i, p := range pairs {
		all := append(append([]float64{}, p.A...), p.B...)
		for j, v := range all {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return Permutation{}, fmt.Errorf("pair %d: value %d is %g; leave out what was not measured", i+1, j+1, v)
			}
		}
		if len(p.A) == 0 || len(p.B) == 0 {
			warnings = append(warnings, fmt.Sprintf("pair %d has %d against %d values and says nothing about the difference; left out", i+1, len(p.A), len(p.B)))
			continue
		}
		scores, err := score(all)
		if err != nil {
			return Permutation{}, fmt.Errorf("pair %d: %w", i+1, err)
		}
		strata = append(strata, centred(scores, len(p.A)))
	}
	t, err := test(strata, s)
	t.Warnings = append(warnings, t.Warnings...)
	return t, err
}

func centred(scores []float64, nA int) stratum {
	mean := 0.0
	for i, v := range scores {
		mean += (v - mean) / float64(i+1)
	}
	d := stratum{dev: make([]float64, len(scores)), nA: nA}
	for i, v := range scores {
		d.dev[i] = v - mean
	}
	return d
}

// test is the engine: the statistic is the sum of the deviations in A over all strata, which is the
// weighted difference times the sum of the weights.
func test(strata []stratum, s Sampling) (Permutation, error) {
	if len(strata) == 0 {
		return Permutation{}, fmt.Errorf("no pair has values on both sides: nothing to compare")
	}
	t := Permutation{Splits: 1, Pairs: len(strata)}
	var seen, weight, scale float64
	values := 0
	for _, d := range strata {
		n := len(d.dev)
		values += n
		t.Splits *= binomial(n, d.nA)
		weight += float64(d.nA) * float64(n-d.nA) / float64(n)
		for i, v := range d.dev {
			scale = math.Max(scale, math.Abs(v))
			if i < d.nA {
				seen += v
			}
		}
	}
	if scale == 0 {
		return Permutation{}, fmt.Errorf("all %d values are equal: no split differs from another, so there is nothing to test", values)
	}
	t.Difference = seen / weight
	tol := 1e-10 * scale
	t.SmallestValues, t.SmallestDesign = smallest(strata, t.Splits, tol)
	if !s.Always {
		splits := t.Splits
		if math.IsInf(splits, 1) {
			splits = 1 // the ways are shares of each pair's splits then
		}
		if h, ok := count(strata, tol, splits != t.Splits); ok {
			t.Exact = true
			t.TwoSided, t.Greater, t.Less = shares(h, seen, tol, splits)
			return t, nil
		}
	}
	return t, draw(&t, strata, s, seen, tol)
}

// count prepares the sums of all splits as pairs of halves: one stratum is cut in two, several are dealt to
// two sides. As shares, the ways of each stratum are divided by its number of splits, so that those of all together do not overflow.
func count(strata []stratum, tol float64, asShares bool) ([]halves, bool) {
	if !countable(strata, tol) {
		return nil, false
	}
	for _, d := range strata {
		if asShares && (len(strata) == 1 || math.IsInf(binomial(len(d.dev), d.nA), 1)) {
			return nil, false
		}
	}
	nothing := tally{sum: []float64{0}, ways: []float64{1}}
	if len(strata) == 1 {
		d := strata[0]
		cut := len(d.dev) / 2
		right := len(d.dev) - cut
		least, most := max(0, d.nA-right), min(d.nA, cut)
		l, ok := choices(nothing, d.dev[:cut], least, most, tol, room)
		if !ok {
			return nil, false
		}
		r, ok := choices(nothing, d.dev[cut:], d.nA-most, d.nA-least, tol, room)
		if !ok {
			return nil, false
		}
		var h []halves
		for j := least; j <= most; j++ {
			h = append(h, halves{l[j], r[d.nA-j]})
		}
		return h, true
	}
	byWork := append([]stratum{}, strata...)
	sort.SliceStable(byWork, func(a, b int) bool {
		return binomial(len(byWork[a].dev), byWork[a].nA) > binomial(len(byWork[b].dev), byWork[b].nA)
	})
	side := [2]tally{nothing, nothing}
	for _, d := range byWork {
		k := 0
		if len(side[1].sum) < len(side[0].sum) {
			k = 1
		}
		if two, ok := ofTwoValues(d); ok {
			side[k] = convolved(side[k], two, tol)
		} else {
			by, ok := choices(side[k], d.dev, d.nA, d.nA, tol, room)
			if !ok {
				return nil, false
			}
			side[k] = by[d.nA]
		}
		if len(side[k].sum) > room {
			return nil, false
		}
		if asShares {
			all := binomial(len(d.dev), d.nA)
			for i := range side[k].ways {
				side[k].ways[i] /= all
			}
		}
	}
	return []halves{{side[0], side[1]}}, true
}

// countable foresees whether the sums fit into the room, before any is formed: as many as the choices of a stratum, or, where its scores stand on a grid or are tied,
// as many as these allow.
func countable(strata []stratum, tol float64) bool {
	if len(strata) == 1 {
		d := strata[0]
		cut := len(d.dev) / 2
		return sums(d.dev[:cut], min(d.nA, cut), tol) <= room && sums(d.dev[cut:], min(d.nA, len(d.dev)-cut), tol) <= room
	}
	logs := make([]float64, len(strata))
	for i, d := range strata {
		logs[i] = math.Log(math.Min(binomial(len(d.dev), d.nA), sums(d.dev, d.nA, tol)))
	}
	sort.Sort(sort.Reverse(sort.Float64Slice(logs)))
	var side [2]float64
	for _, l := range logs {
		k := 0
		if side[1] < side[0] {
			k = 1
		}
		side[k] += l
	}
	if math.Max(side[0], side[1]) <= math.Log(room) {
		return true
	}
	// Sums of strata on one grid fall together.
	gap, reach := 0.0, 0.0
	for _, d := range strata {
		x := append([]float64{}, d.dev...)
		sort.Float64s(x)
		gap = grid(x, gap, tol)
		reach += float64(min(d.nA, len(x)-d.nA)) * (x[len(x)-1] - x[0])
	}
	return gap > 0 && reach/gap <= room
}

// sums bounds how many different sums up to most of the scores have: two to their number, what ties leave of that, or the places of a grid.
func sums(dev []float64, most int, tol float64) float64 {
	if len(dev) == 0 {
		return 1
	}
	x := append([]float64{}, dev...)
	sort.Float64s(x)
	ways, run := 1.0, 1.0
	for i := range x {
		if i+1 < len(x) && x[i+1]-x[i] <= tol {
			run++
			continue
		}
		ways *= run + 1
		run = 1
	}
	if step := grid(x, 0, tol); step > 0 {
		return math.Min(ways, (float64(most)*(x[len(x)-1]-x[0])/step+1)*float64(most+1))
	}
	return ways
}

// finest is the least part of the largest value that still counts as the step of a grid: scores without a pattern have a smaller one.
const finest = 1e-6

// grid is the largest step of which the step so far (0: none) and all gaps of ascending values are multiples, as ranks, rounded values and log-rank scores of few have one; below 0
// where there is none.
func grid(x []float64, so, tol float64) float64 {
	if so < 0 {
		return so
	}
	least := finest * math.Max(math.Abs(x[0]), math.Abs(x[len(x)-1]))
	for i := 1; i < len(x); i++ {
		a, b := x[i]-x[i-1], so
		if a <= tol {
			continue
		}
		// Euclid, with what is left below the least taken for 0.
		for b > least/1000 {
			r := math.Mod(a, b)
			if b-r < least/1000 {
				r = 0
			}
			a, b = b, r
		}
		if so = a; so < least {
			return -1
		}
	}
	return so
}

func shares(h []halves, seen, tol, splits float64) (two, greater, less float64) {
	far := math.Abs(seen)
	for _, p := range h {
		greater += p.atLeast(seen - tol)
		less += p.atMost(seen + tol)
		two += p.atLeast(far-tol) + p.atMost(tol-far)
	}
	if far <= tol {
		two = splits
	}
	return math.Min(1, two/splits), math.Min(1, greater/splits), math.Min(1, less/splits)
}

// drawWork is how many values may be drawn for one test where the caller does not say how many draws there are to be: some 0.05 s of work.
const drawWork = 2_500_000

// enough is how many draws as far out as what was seen end the drawing where the caller does not say how many there are to be: the standard error of the p-value is
// then 5 % of it at most. Drawing until a count is reached gives a valid p-value: Besag and Clifford, Biometrika 78 (1991) 301-304 (recalled).
const enough = 400

// usualDraws is DefaultDraws, less where the groups are so large that it would take longer than drawWork, but at least 9,999, with
// which the standard error of a p-value of 0.05 is 0.0022.
func usualDraws(strata []stratum) int {
	values := 0
	for _, d := range strata {
		values += min(d.nA, len(d.dev)-d.nA)
	}
	return min(DefaultDraws, max(9_999, drawWork/max(1, values)))
}

// draw estimates the shares from random splits.
func draw(t *Permutation, strata []stratum, s Sampling, seen, tol float64) error {
	if s.Source == nil {
		return fmt.Errorf("%.3g splits are too many to count: give a seeded source to draw from", t.Splits)
	}
	t.Draws = s.Draws
	if t.Draws == 0 {
		t.Draws = usualDraws(strata)
	}
	if t.Draws < 99 {
		return fmt.Errorf("%d draws cannot show a p-value; at least 99", t.Draws)
	}
	work := make([][]float64, len(strata))
	for i, d := range strata {
		work[i] = append([]float64{}, d.dev...)
	}
	var two, greater, less int
	for k := range t.Draws {
		sum := 0.0
		for i, d := range strata {
			w := work[i]
			n, sign := d.nA, 1.0
			if n > len(w)-n { // the deviations sum to 0: what is in A is what is not in B with the other sign
				n, sign = len(w)-n, -1
			}
			part := 0.0
			for j := range n {
				k := j + int(s.Source.Float64()*float64(len(w)-j))
				w[j], w[k] = w[k], w[j]
				part += w[j]
			}
			sum += sign * part
		}
		if math.Abs(sum) >= math.Abs(seen)-tol {
			two++
		}
		if sum >= seen-tol {
			greater++
		}
		if sum <= seen+tol {
			less++
		}
		if s.Draws == 0 && two == enough {
			t.Draws = k + 1
			b := float64(t.Draws)
			t.TwoSided, t.Greater, t.Less = enough/b, math.Min(1, float64(greater+1)/b), math.Min(1, float64(less+1)/b)
			t.SE = t.TwoSided * math.Sqrt((1-t.TwoSided)/enough)
			return nil
		}
	}
	b := float64(t.Draws + 1)
	t.TwoSided, t.Greater, t.Less = float64(two+1)/b, float64(greater+1)/b, float64(less+1)/b
	t.SE = math.Sqrt(t.TwoSided * (1 - t.TwoSided) / b)
	return nil
}

// smallest is the smallest two-sided value of any split of these values, and of any values in groups of
// these sizes. The farthest sums put the largest, or the smallest, values into A; ties leave several ways.
// Of any values: the farthest split alone, and its mirror image where all groups are equally large.
func smallest(strata []stratum, splits, tol float64) (values, design float64) {
	highWays, lowWays := 1.0, 1.0
	high, low := 0.0, 0.0
	equal := true
	for _, d := range strata {
		x := append([]float64{}, d.dev...)
		sort.Float64s(x)
		n := len(x)
		equal = equal && n == 2*d.nA
		for _, v := range x[:d.nA] {
			low += v
		}
		for _, v := range x[n-d.nA:] {
			high += v
		}
		lowWays *= waysAt(x, x[d.nA-1], 0, d.nA, tol)
		highWays *= waysAt(x, x[n-d.nA], n-d.nA, n, tol)
	}
	ways := highWays
	switch {
	case math.Abs(high+low) <= tol:
		ways = highWays + lowWays
	case -low > high:
		ways = lowWays
	}
	design = 1 / splits
	if equal {
		design *= 2
	}
	return math.Min(1, ways/splits), math.Min(1, design)
}

// waysAt is in how many ways the values equal to v can fill their places among x[from:to].
func waysAt(x []float64, v float64, from, to int, tol float64) float64 {
	all, inside := 0, 0
	for i, w := range x {
		if math.Abs(w-v) <= tol {
			all++
			if i >= from && i < to {
				inside++
			}
		}
	}
	return binomial(all, inside)
}
