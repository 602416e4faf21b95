package look

import "math"

// Band gives the least and largest value of any stretch of a series quickly: each level holds them for twice as
// many values as the one below.
type Band struct {
	v      []float64
	levels [][]pair // levels[k][i] is of values i*2^(k+4) up to (i+1)*2^(k+4)
}

type pair struct{ lo, hi float64 }

const bandBits = 4

var noPair = pair{math.Inf(1), math.Inf(-1)}

func (p pair) with(q pair) pair { return pair{min(p.lo, q.lo), max(p.hi, q.hi)} }

// NewBand prepares a series, which must not change afterwards. Values that are not numbers count as gaps.
func NewBand(v []float64) *Band {
	b := &Band{v: v}
	const first = 1 << bandBits
	level := make([]pair, 0, len(v)/first+1)
	for i := 0; i < len(v); i += first {
		level = append(level, spanOf(v[i:min(i+first, len(v))]))
	}
	b.levels = append(b.levels, level)
	for len(level) > 1 {
		next := make([]pair, 0, (len(level)+1)/2)
		for i := 0; i < len(level); i += 2 {
			p := level[i]
			if i+1 < len(level) {
				p = p.with(level[i+1])
			}
			next = append(next, p)
		}
		b.levels, level = append(b.levels, next), next
	}
	return b
}

func spanOf(v []float64) pair {
	p := noPair
	for _, x := range v {
		if x < p.lo {
			p.lo = x
		}
		if x > p.hi {
			p.hi = x
		}
	}
	return p
}

// Len is the number of values.
func (b *Band) Len() int { return len(b.v) }

// At is one value.
func (b *Band) At(i int) float64 { return b.v[i] }

// Span is the least and largest value from index from up to to (exclusive); ok is false when there is none.
func (b *Band) Span(from, to int) (lo, hi float64, ok bool) {
	from, to = max(from, 0), min(to, len(b.v))
	p := noPair
	for from < to {
		k := -1
		for s := bandBits; k+1 < len(b.levels) && from&(1<<s-1) == 0 && from+1<<s <= to; s++ {
			k++
		}
		if k < 0 {
			next := min(to, (from|(1<<bandBits-1))+1)
			p = p.with(spanOf(b.v[from:next]))
			from = next
			continue
		}
		p = p.with(b.levels[k][from>>(k+bandBits)])
		from += 1 << (k + bandBits)
	}
	return p.lo, p.hi, p.lo <= p.hi
}
