package variation

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/num/uncert"
)

// Rule is what points of a steady process rarely do.
type Rule int

// The rules of a chart.
const (
	BeyondOthers  Rule = iota // a point outside the limits that the others set
	BeyondKnown               // a point farther from the others than a known spread allows
	RangeBeyond               // the moving range, beyond its limit
	AverageBeyond             // the weighted average, beyond its limits
	LastingShift              // the points from one on differ from those before
)

// String is what the rule says, in plain words.
func (r Rule) String() string {
	switch r {
	case BeyondOthers:
		return "outside the limits that the other drops set"
	case BeyondKnown:
		return "farther from the other drops than the uncertainty of measurement allows"
	case RangeBeyond:
		return "moving range beyond its upper limit"
	case AverageBeyond:
		return "weighted average beyond its limits"
	case LastingShift:
		return "a lasting change: the drops from here on differ from those before"
	}
	return fmt.Sprintf("rule %d", int(r))
}

// Violation is a rule broken.
type Violation struct {
	Rule  Rule
	Index int // of the last point of the pattern, from 0
	First int // of its first point
}

// FewPoints is the number of points below which limits are many times as wide as the scatter alone would make them, so that a known
// spread is used beside it. Common practice, no source.
const FewPoints = 8

// Chart holds points in the order they were made against each other.
type Chart struct {
	N          int
	FalseAlarm float64 // at most: the chance that a steady normal process breaks any rule
	// Centre, Lower and Upper are of the points that are outside neither kind of limits: their mean, and the limits that they set to one further point.
	Centre, Lower, Upper float64
	// Of each point: the limits that the others set, the narrower of both kinds.
	LowerEach, UpperEach []float64
	Ranges               []float64 // |x(i) - x(i-1)|, one fewer than the points
	RangeUpper           float64
	// Average is the weighted average after each point, with its limits about the mean of all points.
	Average, AverageLower, AverageUpper []float64
	// Widest is the largest half width of LowerEach to UpperEach among the points inside: what is off by less may go unnoticed.
	Widest     float64
	Violations []Violation
}

// ChartPoints holds every point, moving range, weighted average and split against the rest, and no point sets its own limits. Each is a
// contrast c of the n points x with sum c = 0 and sum c^2 = 1, for which
//
//	t = c'x/sqrt((S - (c'x)^2)/(n - 2)), S = sum (x - mean)^2
//
// has Student's distribution with n - 2 degrees of freedom when the points are independent, normal and alike. For a single point it is
// its distance from the mean of the others over their standard deviation times sqrt(1 + 1/(n - 1)). The weighted average is
// z(i) = weight x(i) + (1 - weight) z(i-1), begun at the mean.
//
// With known > 0, a standard deviation known from elsewhere, and fewer than FewPoints points, each point is also held against the others with
// the larger of known and their standard deviation and the normal quantile; that part of the false alarm holds only where the points scatter
// no more than known.
//
// The chance falseAlarm is shared evenly among the rules and within a rule among its contrasts (Bonferroni), so that the chance of any
// false alarm is at most falseAlarm. At least 3 finite points that are not all equal, weight in (0, 1], falseAlarm in (0, 1).
// Sources: Cook and Weisberg, Residuals and Influence in Regression (1982), 2.2.1 (the deleted residual; recalled); Roberts, Technometrics 1 (1959)
// 239-250 (the weighted average).
func ChartPoints(x []float64, known, weight, falseAlarm float64) (Chart, error) {
	if len(x) < 3 {
		return Chart{}, fmt.Errorf("%d points: a chart needs at least 3, and %d or more to see much", len(x), FewPoints)
	}
	if err := finite(x); err != nil {
		return Chart{}, err
	}
	if allEqual(x) {
		return Chart{}, fmt.Errorf("all %d points are equal (%g): they show no spread; read them to more digits", len(x), x[0])
	}
	if !(weight > 0 && weight <= 1) {
		return Chart{}, fmt.Errorf("a weight of %g for the newest point does not lie between 0 and 1; 0.2 to 0.3 is usual", weight)
	}
	if !(falseAlarm > 0 && falseAlarm < 1) {
		return Chart{}, fmt.Errorf("a chance of a false alarm of %g does not lie between 0 and 1; 0.01 is usual", falseAlarm)
	}
	c := &charting{x: x, n: float64(len(x)), Chart: Chart{N: len(x), FalseAlarm: falseAlarm}}
	if len(x) < FewPoints && known > 0 && !math.IsInf(known, 1) {
		c.known = known
	}
	c.mean, c.squares = moments(x)
	rules := 3.0
	if c.known > 0 {
		rules++
	}
	if len(x) > 3 {
		rules++
	}
	c.share = falseAlarm / rules
	c.singles()
	c.ranges()
	c.average(weight)
	c.shift()
	return c.Chart, nil
}

func finite(x []float64) error {
	for i, v := range x {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("point %d is %g; leave out what was not measured", i+1, v)
		}
	}
	return nil
}

// moments are the mean and the sum of squares about it.
func moments(x []float64) (mean, squares float64) {
	for i, v := range x {
		mean += (v - mean) / float64(i+1)
	}
	for _, v := range x {
		squares += (v - mean) * (v - mean)
	}
	return mean, squares
}

type charting struct {
	Chart
	x               []float64
	n, known, share float64 // share of the false alarm for each rule
	mean, squares   float64
}

// quantile of one of so many two-sided comparisons.
func (c *charting) quantile(of int, dof float64) float64 {
	return -uncert.StudentQuantile(c.share/float64(of)/2, dof)
}

// bound is the largest |c'x| that a contrast of length 1 may have, the rest of the scatter being what the value leaves of it.
func (c *charting) bound(value, t float64) float64 {
	return t * math.Sqrt(math.Max(0, c.squares-value*value)/(c.n-2))
}

func (c *charting) singles() {
	t := c.quantile(len(c.x), c.n-2)
	z := c.quantile(len(c.x), math.Inf(1))
	rest := make([]float64, 0, len(c.x))
	var inside []float64
	for i, v := range c.x {
		rest = append(append(rest[:0], c.x[:i]...), c.x[i+1:]...)
		alike := allEqual(rest)
		if alike {
			rest = rest[:1:1] // their mean without rounding
		}
		centre, squares := moments(rest)
		sd := math.Sqrt(squares / (c.n - 2))
		wide := math.Sqrt(1 + 1/(c.n-1))
		half, rule := t*sd*wide, BeyondOthers
		out := math.Abs(v-centre) > half
		if by := z * math.Max(c.known, sd) * wide; c.known > 0 && (by < half || alike) {
			// Others that are all alike were read too coarsely to show their scatter.
			out = out && !alike
			half = by
			if !out && math.Abs(v-centre) > half {
				out, rule = true, BeyondKnown
			}
		}
		c.LowerEach, c.UpperEach = append(c.LowerEach, centre-half), append(c.UpperEach, centre+half)
		if out {
			c.Violations = append(c.Violations, Violation{Rule: rule, Index: i, First: i})
		} else {
			inside = append(inside, v)
			c.Widest = math.Max(c.Widest, half)
		}
	}
	if len(inside) < 2 {
		inside = c.x
	}
	var squares float64
	c.Centre, squares = moments(inside)
	m := float64(len(inside))
	sd, wide := math.Sqrt(squares/(m-1)), math.Sqrt(1+1/m)
	half := c.quantile(len(c.x), m-1) * sd * wide
	if c.known > 0 {
		half = math.Min(half, z*math.Max(c.known, sd)*wide)
	}
	c.Lower, c.Upper = c.Centre-half, c.Centre+half
}

// ranges draws the one line that every range which breaks its limit passes, and no other: r^2/2 > t^2 (S - r^2/2)/(n - 2) is the same as
// r > sqrt(2 S t^2/(n - 2 + t^2)).
func (c *charting) ranges() {
	t := c.quantile(len(c.x)-1, c.n-2)
	c.RangeUpper = math.Sqrt(2*c.squares/(c.n-2+t*t)) * t
	for i := 1; i < len(c.x); i++ {
		r := math.Abs(c.x[i] - c.x[i-1])
		c.Ranges = append(c.Ranges, r)
		if r > c.RangeUpper {
			c.Violations = append(c.Violations, Violation{Rule: RangeBeyond, Index: i, First: i - 1})
		}
	}
}

func (c *charting) average(weight float64) {
	t := c.quantile(len(c.x), c.n-2)
	z, before := c.mean, 0
	sum, squares := 0.0, 0.0 // of the weights of the points so far
	for i, v := range c.x {
		z = weight*v + (1-weight)*z
		sum, squares = weight+(1-weight)*sum, weight*weight+(1-weight)*(1-weight)*squares
		length := math.Sqrt(squares - sum*sum/c.n)
		half := length * c.bound((z-c.mean)/length, t)
		c.Average = append(c.Average, z)
		c.AverageLower, c.AverageUpper = append(c.AverageLower, c.mean-half), append(c.AverageUpper, c.mean+half)
		side := 0
		if math.Abs(z-c.mean) > half {
			side = int(math.Copysign(1, z-c.mean))
		}
		if side != 0 && side != before {
			c.Violations = append(c.Violations, Violation{Rule: AverageBeyond, Index: i, First: i})
		}
		before = side
	}
}

// shift sets the mean of the last points against that of the first at every split that leaves two on either side; the clearest is told.
func (c *charting) shift() {
	splits := len(c.x) - 3
	if splits < 1 {
		return
	}
	t := c.quantile(splits, c.n-2)
	at, most, sum := 0, 0.0, c.x[0]-c.mean
	for k := 2; k <= len(c.x)-2; k++ {
		sum += c.x[k-1] - c.mean
		m := float64(k)
		value := math.Abs(sum) / math.Sqrt(m*(c.n-m)/c.n)
		if value > c.bound(value, t) && value > most {
			at, most = k, value
		}
	}
	if at > 0 {
		c.Violations = append(c.Violations, Violation{Rule: LastingShift, Index: len(c.x) - 1, First: at})
	}
}
