package variation

import (
	"fmt"
	"math"
)

// Rule is a pattern that points of a steady process rarely make.
type Rule int

// The rules, with how often a point of a steady normal process completes them by chance where that is
// simple to say.
const (
	Beyond3Sigma   Rule = iota // 0.27 %
	NineOneSide                // 0.39 %
	SixSteady                  // six points rising or falling
	FourteenZigzag             // fourteen points alternately up and down
	TwoOfThree                 // two of three beyond 2 sigma on one side, the last one too; 0.20 %
	FourOfFive                 // four of five beyond 1 sigma on one side, the last one too; 0.45 %
	FifteenInside              // fifteen within 1 sigma; 0.33 %
	EightOutside               // eight beyond 1 sigma on either side; 0.01 %
	RangeBeyond                // the moving range, beyond its limit
	AverageBeyond              // the weighted average, beyond its limits
)

// String is what the rule says, in plain words.
func (r Rule) String() string {
	switch r {
	case Beyond3Sigma:
		return "beyond 3 sigma"
	case NineOneSide:
		return "nine in a row on one side of the centre"
	case SixSteady:
		return "six in a row rising or falling"
	case FourteenZigzag:
		return "fourteen in a row alternately up and down"
	case TwoOfThree:
		return "two of three beyond 2 sigma on one side"
	case FourOfFive:
		return "four of five beyond 1 sigma on one side"
	case FifteenInside:
		return "fifteen in a row within 1 sigma"
	case EightOutside:
		return "eight in a row beyond 1 sigma, on either side"
	case RangeBeyond:
		return "moving range beyond its upper limit"
	case AverageBeyond:
		return "weighted average beyond its limits"
	}
	return fmt.Sprintf("rule %d", int(r))
}

// RunRules are the eight for single values. Sources: Western Electric, Statistical Quality Control
// Handbook, 1956; Nelson, J. Qual. Technol. 16 (1984) 237-239 (recalled).
var RunRules = []Rule{Beyond3Sigma, NineOneSide, SixSteady, FourteenZigzag, TwoOfThree, FourOfFive, FifteenInside, EightOutside}

// Violation is a rule broken.
type Violation struct {
	Rule  Rule
	Index int // of the point that completed the pattern, from 0
	First int // of the first point of the pattern
}

// pattern is a rule over the last points: whether z, the latest last, breaks it, for the process as it is
// and mirrored.
type pattern struct {
	length   int
	oneSided bool
	broken   func(z []float64) bool
}

var patterns = map[Rule]pattern{
	Beyond3Sigma:   {1, true, func(z []float64) bool { return z[0] > 3 }},
	NineOneSide:    {9, true, func(z []float64) bool { return above(z, 0) == 9 }},
	SixSteady:      {6, true, rises},
	FourteenZigzag: {14, false, zigzags},
	TwoOfThree:     {3, true, func(z []float64) bool { return z[2] > 2 && above(z, 2) >= 2 }},
	FourOfFive:     {5, true, func(z []float64) bool { return z[4] > 1 && above(z, 1) >= 4 }},
	FifteenInside:  {15, false, func(z []float64) bool { return above(z, 1) == 0 && above(mirror(z), 1) == 0 }},
	EightOutside:   {8, false, func(z []float64) bool { return above(z, 1)+above(mirror(z), 1) == 8 }},
}

// broken lists what points, in sigmas from the centre, break: every point beyond 3 sigma, and of any other
// pattern the first point that completes it; a run that goes on is one violation.
func broken(z []float64, rules []Rule) ([]Violation, error) {
	var all []Violation
	for _, r := range rules {
		p, ok := patterns[r]
		if !ok {
			return nil, fmt.Errorf("%v (%d) is no rule for single values", r, int(r))
		}
		last := 0 // side of the run that goes on
		for i := range z {
			side := 0
			if i+1 >= p.length {
				side = p.side(z[i+1-p.length : i+1])
			}
			if side != 0 && (side != last || p.length == 1) {
				all = append(all, Violation{Rule: r, Index: i, First: i + 1 - p.length})
			}
			last = side
		}
	}
	return all, nil
}

// side is 1 when the points break the pattern, -1 when their mirror image does.
func (p pattern) side(z []float64) int {
	if p.broken(z) {
		return 1
	}
	if p.oneSided && p.broken(mirror(z)) {
		return -1
	}
	return 0
}

func mirror(z []float64) []float64 {
	m := make([]float64, len(z))
	for i, v := range z {
		m[i] = -v
	}
	return m
}

func above(z []float64, bound float64) int {
	n := 0
	for _, v := range z {
		if v > bound {
			n++
		}
	}
	return n
}

func rises(z []float64) bool {
	for i := 1; i < len(z); i++ {
		if z[i] <= z[i-1] {
			return false
		}
	}
	return true
}

func zigzags(z []float64) bool {
	for i := 1; i < len(z); i++ {
		step := z[i] - z[i-1]
		if step == 0 || i > 1 && math.Signbit(step) == math.Signbit(z[i-1]-z[i-2]) {
			return false
		}
	}
	return true
}
