package variation

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/num/uncert"
)

// Precision is what an interlaboratory study says of a method: how far two results lie apart in one
// group (repeatability) and in two (reproducibility). Groups may be laboratories, days, operators or rigs.
type Precision struct {
	Groups, N int
	Mean      float64 // of the group means
	SDMeans   float64 // standard deviation of the group means

	// SDRepeat is s_r, within groups. SDBetween is s_L. SDReproduce is s_R = sqrt(s_r^2 + s_L^2), which is
	// never below s_r.
	SDRepeat, SDBetween, SDReproduce float64

	// RepeatLimit is r = 2.8 s_r: two results of one group differ by more in 5 % of cases. ReproduceLimit is
	// R = 2.8 s_R, for results of two groups.
	RepeatLimit, ReproduceLimit float64

	Level     float64 // of the critical values of h and k
	HCritical float64
	PerGroup  []Consistency
	Warnings  []string
}

// Consistency holds one group against the others. A flag asks for a look; nothing is left out.
type Consistency struct {
	Name      string
	N         int
	Mean, SD  float64 // SD is 0 for a single value
	H         float64 // deviation of its mean, in standard deviations of the means
	K         float64 // its standard deviation over s_r; NaN for a single value
	KCritical float64 // NaN for a single value
	HFlagged  bool    // |H| exceeds HCritical
	KFlagged  bool
}

// LimitFactor makes limits of standard deviations: 1.96 sqrt 2, rounded as both standards round it.
const LimitFactor = 2.8

// AnalysePrecision computes repeatability and reproducibility, with the consistency statistics
//
//	h = (mean_i - mean)/SDMeans, critical (p-1) t/sqrt(p (t^2 + p - 2)), t of p-2 degrees, two-sided
//	k = sd_i/s_r, critical sqrt(nu F/(nu_i F + nu - nu_i)), F of nu_i and nu - nu_i degrees
//
// nu_i = n_i - 1, nu their sum; for equal groups these are the tables of ASTM E691, which uses the level
// 0.005. Unequal groups are taken with the weights of ISO 5725-2, and warned of: h then compares means that
// are not equally sure. At least three groups, and otherwise as AnalyseOneWay. Sources: ASTM E691 (recalled),
// ISO 5725-2:2019, 7.
func AnalysePrecision(groups []Group, level float64) (Precision, error) {
	if len(groups) < 3 {
		return Precision{}, fmt.Errorf("%d groups: at least three are needed to say which one stands apart", len(groups))
	}
	if !(level > 0 && level < 1) {
		return Precision{}, fmt.Errorf("level %g does not lie between 0 and 1; 0.005 is usual", level)
	}
	s, err := summarise(groups)
	if err != nil {
		return Precision{}, err
	}
	a, err := AnalyseOneWay(groups)
	if err != nil {
		return Precision{}, err
	}
	p := Precision{
		Groups: len(groups), N: s.n, Level: level,
		SDRepeat: math.Sqrt(a.WithinVariance), SDBetween: math.Sqrt(a.BetweenVariance),
		SDReproduce: math.Sqrt(a.WithinVariance + a.BetweenVariance),
		HCritical:   hCritical(len(groups), level), Warnings: a.Warnings,
	}
	p.RepeatLimit, p.ReproduceLimit = LimitFactor*p.SDRepeat, LimitFactor*p.SDReproduce
	for i, g := range s.groups {
		p.Mean += (g.mean - p.Mean) / float64(i+1)
	}
	for _, g := range s.groups {
		p.SDMeans += (g.mean - p.Mean) * (g.mean - p.Mean)
	}
	if s.unequal() {
		p.Warnings = append(p.Warnings, "the groups are not equally large: h compares means that are not equally sure")
	}
	p.SDMeans = math.Sqrt(p.SDMeans / float64(len(groups)-1))
	for i, g := range s.groups {
		p.PerGroup = append(p.PerGroup, consistency(p, name(groups[i], i), g, a.WithinDoF))
	}
	return p, nil
}

func (s summary) unequal() bool {
	for _, g := range s.groups {
		if g.n != s.groups[0].n {
			return true
		}
	}
	return false
}

func consistency(p Precision, name string, g groupSummary, dof int) Consistency {
	c := Consistency{Name: name, N: g.n, Mean: g.mean, K: math.NaN(), KCritical: math.NaN()}
	if p.SDMeans > 0 {
		c.H = (g.mean - p.Mean) / p.SDMeans
	}
	c.HFlagged = math.Abs(c.H) > p.HCritical
	if g.n > 1 {
		c.SD = math.Sqrt(g.ss / float64(g.n-1))
		if p.SDRepeat > 0 {
			c.K = c.SD / p.SDRepeat
		}
		c.KCritical = kCritical(g.n-1, dof, p.Level)
		c.KFlagged = c.K > c.KCritical
	}
	return c
}

// hCritical bounds |h| of one of p group means, two-sided.
func hCritical(p int, level float64) float64 {
	f := float64(p)
	t := -uncert.StudentQuantile(level/2, f-2)
	return (f - 1) * t / math.Sqrt(f*(t*t+f-2))
}

// kCritical bounds k of a group with own degrees of freedom out of all. A group that has all of them is compared with
// itself: k is 1, and the bound is +Inf.
func kCritical(own, all int, level float64) float64 {
	if own == all {
		return math.Inf(1)
	}
	nu, rest := float64(own), float64(all-own)
	f := fUpper(level, nu, rest)
	return math.Sqrt(float64(all) * f / (nu*f + rest))
}
