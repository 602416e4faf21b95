package limits

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"sync"

	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/exact"
	"github.com/hardcatch/hardcatch/internal/num/uncert"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Peak is what one specimen's drop says of the force of a whole arrest. Each specimen enters once.
type Peak struct {
	Lo, Hi   quantity.Force // where the peak lies: equal when it was measured; Hi is +Inf when it is only known to be at least Lo
	Expanded quantity.Force // expanded uncertainty of 95 %, k = 2
}

// Rule is what must be shown before a limit counts as kept: that the share Content of such specimens stays below it, with Confidence.
type Rule struct {
	Content    float64 `json:"content"`
	Confidence float64 `json:"confidence"`
}

// Usual is the rule of 95 % of specimens with 95 % confidence.
func Usual() Rule { return Rule{0.95, 0.95} }

// Judgement is how the next specimen stands to a limit.
type Judgement struct {
	Rule
	Verdict Verdict `json:"verdict"`
	N       int     `json:"n"` // specimens it rests on
	Bounds  int     `json:"n_at_least"`
	// Bound is the upper tolerance bound: the share Content of specimens lies below it, with Confidence. Null with fewer than two peaks, or where one is only
	// known to be at least something.
	Bound *quantity.Force `json:"tolerance_bound_N"`
	// QuantileLo is the lower bound, with Confidence, of the quantile of which Bound is the upper one.
	QuantileLo *quantity.Force `json:"quantile_lo_N"`
	// Next is the upper prediction bound: the peak of one more specimen lies below it, with Confidence.
	Next *quantity.Force `json:"next_specimen_bound_N"`
	// MoreDrops would about be needed to show that the limit is kept, by the rule of MoreDrops; null where no number would, or none is needed.
	MoreDrops *int             `json:"more_drops"`
	Text      message.Sentence `json:"statement"`
}

// Sample is the peaks of some specimens, prepared to be held against any number of limits.
type Sample struct {
	rule             Rule
	n, bounds        int
	certain, reached float64 // highest lower and highest upper end of a peak with its uncertainty
	mean, sd, u      float64 // of the most that the peaks may be
	loMean, loSD     float64 // of the least that they may be
	odd              bool    // a peak or its uncertainty is no number
}

// JudgeNext holds the next specimen against a limit: see Sample.Judge.
func JudgeNext(peaks []Peak, limit quantity.Force, r Rule) (Judgement, error) {
	s, err := NewSample(peaks, r)
	if err != nil {
		return Judgement{}, err
	}
	return s.Judge(limit), nil
}

// NewSample prepares peaks. It fails for a rule outside 0 to 1, for a content below one half or a confidence not above it.
func NewSample(peaks []Peak, r Rule) (*Sample, error) {
	if !(r.Content >= 0.5 && r.Content < 1) || !(r.Confidence > 0.5 && r.Confidence < 1) {
		return nil, fmt.Errorf("a share of %g of specimens with confidence %g cannot be shown; both lie between 0.5 and 1, and 0.95 is usual", r.Content, r.Confidence)
	}
	s := &Sample{rule: r, n: len(peaks), certain: math.Inf(-1), reached: math.Inf(-1)}
	for _, p := range peaks {
		u := math.Abs(p.Expanded.SI())
		if math.IsNaN(p.Lo.SI() + p.Hi.SI() + u) {
			s.odd = true
			continue
		}
		if math.IsInf(p.Hi.SI(), 1) {
			s.bounds++
		}
		s.certain, s.reached = math.Max(s.certain, p.Lo.SI()-u), math.Max(s.reached, p.Lo.SI()+u)
		if !math.IsInf(p.Hi.SI(), 1) {
			s.reached = math.Max(s.reached, p.Hi.SI()+u)
		}
		s.u = math.Max(s.u, u/2)
	}
	if s.n > 0 && s.bounds == 0 && !s.odd {
		s.mean, s.sd = s.extreme(peaks, 1)
		s.loMean, s.loSD = s.extreme(peaks, -1)
	}
	return s, nil
}

// extreme is mean and standard deviation of the choice of values within the peaks' ends for which the bound comes out highest (side 1) or lowest (-1). The upper
// bound is convex in the values, so that its maximum takes ends only; of these, the values above a threshold take the upper end and the others the lower one. The
// lower bound takes all lower ends, or those that spread most.
func (s *Sample) extreme(peaks []Peak, side float64) (mean, sd float64) {
	if !slices.ContainsFunc(peaks, func(p Peak) bool { return p.Lo != p.Hi }) {
		x := make([]float64, len(peaks))
		for i, p := range peaks {
			x[i] = p.Lo.SI()
		}
		return Moments(x)
	}
	order := slices.Clone(peaks)
	slices.SortStableFunc(order, func(a, b Peak) int {
		if d := (a.Lo + a.Hi) - (b.Lo + b.Hi); d != 0 {
			return int(math.Copysign(1, d.SI()))
		}
		return 0
	})
	best := math.Inf(-1)
	x := make([]float64, len(order))
	for cut := range len(order) + 1 {
		for i, p := range order {
			x[i] = p.Hi.SI()
			if i < cut {
				x[i] = p.Lo.SI()
			}
		}
		m, d := Moments(x)
		up, down := s.ends(m, d)
		if v := map[bool]float64{true: up, false: -down}[side > 0]; v > best {
			best, mean, sd = v, m, d
		}
	}
	return mean, sd
}

// Moments are the mean of values and their standard deviation, with n - 1; 0 of a single one.
func Moments(x []float64) (mean, sd float64) {
	for _, v := range x {
		mean += v / float64(len(x))
	}
	if len(x) < 2 {
		return mean, 0
	}
	for _, v := range x {
		sd += (v - mean) * (v - mean)
	}
	return mean, math.Sqrt(sd / float64(len(x)-1))
}

// ends are the bounds of the quantile that the rule asks about, of a sample of this mean and standard deviation.
func (s *Sample) ends(mean, sd float64) (upper, lower float64) {
	if s.n < 2 {
		return mean, mean
	}
	return Ends(s.n, mean, sd, s.u, s.rule.Content, s.rule.Confidence)
}

// Ends are the one-sided bounds, each with the confidence given, of the quantile content, at mean + z sd, of n normal values, 2 or more. The margin for the sample,
// (k - z) sd with the exact factor k, and that for what a measurement may share with every other (its standard uncertainty u times the normal quantile) combine as
// variances do. The scatter that a measurement adds of its own is in sd already, so that the bounds are on the safe side. NaN where they cannot be computed.
func Ends(n int, mean, sd, u, content, confidence float64) (upper, lower float64) {
	z, measured := uncert.NormalQuantile(content), uncert.NormalQuantile(confidence)*u
	at := mean + z*sd
	return at + math.Hypot((factor(n, content, confidence)-z)*sd, measured), at - math.Hypot((z-factor(n, content, 1-confidence))*sd, measured)
}

type factorOf struct {
	n                   int
	content, confidence float64
}

// factors keeps what exact.OneSidedFactor gave.
var factors sync.Map

// factor is exact.OneSidedFactor, kept: the same few are asked for by every limit of every cell and by every simulated campaign. NaN where it cannot be
// computed.
func factor(n int, content, confidence float64) float64 {
	key := factorOf{n, content, confidence}
	if k, ok := factors.Load(key); ok {
		return k.(float64)
	}
	k, err := exact.OneSidedFactor(n, content, confidence)
	if err != nil {
		k = math.NaN() // no bound is below anything then
	}
	factors.Store(key, k)
	return k
}

// Judge holds the next specimen against a limit. It
//
//   - exceeds, when a peak that was seen lies above the limit with all of its interval;
//   - stays below, when the upper tolerance bound of the rule does (ISO 16269-6:2014, one-sided, both parameters unknown; recalled), every peak was measured, and none
//     comes near the limit with its uncertainty;
//   - is within reach, when a peak does come near it, or more than the rule allows would pass it by the estimate itself;
//   - cannot be told otherwise: more drops may tell.
//
// Peaks are taken as normal. One specimen, or peaks that are all the same, show no scatter and keep below nothing.
func (s *Sample) Judge(limit quantity.Force) Judgement {
	j := Judgement{Rule: s.rule, N: s.n, Bounds: s.bounds}
	l := limit.SI()
	z := uncert.NormalQuantile(s.rule.Content)
	known := s.n > 1 && s.bounds == 0 && !s.odd && s.sd > 0
	if known {
		hi, _ := s.ends(s.mean, s.sd)
		_, lo := s.ends(s.loMean, s.loSD)
		n := float64(s.n)
		next := s.mean + math.Hypot(uncert.StudentQuantile(s.rule.Confidence, n-1)*s.sd*math.Sqrt(1+1/n), uncert.NormalQuantile(s.rule.Confidence)*s.u)
		j.Bound, j.QuantileLo, j.Next = ptr(hi), ptr(math.Max(lo, 0)), ptr(next)
	}
	estimate := s.mean + z*s.sd + uncert.NormalQuantile(s.rule.Confidence)*s.u
	switch {
	case s.n == 0:
		j.Verdict = CannotTell
	case s.certain > l:
		j.Verdict = Exceeds
	case s.reached >= l:
		j.Verdict = WithinReach
	case s.odd, s.bounds > 0:
		j.Verdict = CannotTell
	case known && j.Bound.SI() < l:
		j.Verdict = Below
	case known && estimate >= l:
		j.Verdict = WithinReach
	default:
		j.Verdict = CannotTell
		if known {
			j.MoreDrops = s.more(l)
		}
	}
	j.Text = s.say(j, l, z)
	return j
}

// Say words how high the peaks of further specimens may be.
func (s *Sample) Say() message.Sentence {
	switch j := s.Judge(0); {
	case s.n == 0:
		return message.Say("No peak counts yet: nothing bounds the next one.")
	case s.odd:
		return message.Say("A peak or its uncertainty is not known: nothing bounds the next one.")
	case s.bounds > 0:
		return message.Say("Of %d {specimen|specimens} %d {shows|show} only that a whole arrest asks for at least {its|their} peak: nothing bounds the next one from above.", s.n, s.bounds)
	case j.Bound == nil:
		return message.Say("The peaks show no scatter (%d {specimen|specimens}): nothing bounds the next one.", s.n)
	default:
		return message.Say("The next specimen peaks below %s, and %g %% of such specimens below %s (%g %% confidence each, one-sided, peaks taken as normal).", up(j.Next), 100*j.Content, up(j.Bound), 100*j.Confidence)
	}
}

// MostMore is the number of further drops beyond which no advice is given: more is not within reach.
const MostMore = 2000

// ChanceToTell is the chance that the drops that are proposed tell, if the value is what the drops so far say. Common practice, no source.
const ChanceToTell = 0.8

// MoreDrops is the least number of further drops after which the upper bound (else the lower one) of Ends clears the limit with the chance ChanceToTell, mean and scatter
// being those of the n normal values so far: the bound at so many, and beside it so far as the estimate of the quantile may move towards the limit, its standard error
// taken as sd sqrt(1/n + z^2/(2(n-1))). ok is false beyond MostMore.
func MoreDrops(n int, mean, sd, u, content, confidence, limit float64, upper bool) (more int, ok bool) {
	z := uncert.NormalQuantile(content)
	more = 1 + sort.Search(MostMore, func(k int) bool {
		m := n + k + 1
		hi, lo := Ends(m, mean, sd, u, content, confidence)
		move := uncert.NormalQuantile(ChanceToTell) * sd * math.Sqrt(1/float64(m)+z*z/(2*float64(m-1)))
		if upper {
			return hi+move < limit
		}
		return lo-move > limit
	})
	return more, more <= MostMore
}

// more is MoreDrops for the most that the peaks may be.
func (s *Sample) more(limit float64) *int {
	n, ok := MoreDrops(s.n, s.mean, s.sd, s.u, s.rule.Content, s.rule.Confidence, limit, true)
	if !ok {
		return nil
	}
	return &n
}

func ptr(v float64) *quantity.Force {
	f := quantity.Force(v)
	return &f
}

// say words a judgement.
func (s *Sample) say(j Judgement, l, z float64) message.Sentence {
	share, sure := 100*j.Content, 100*j.Confidence
	switch j.Verdict {
	case Exceeds:
		return message.Say("a peak that was seen exceeds it")
	case Below:
		return message.Say("stays below: %g %% of such specimens peak below %s (%g %% confidence, %d {specimen|specimens})", share, up(j.Bound), sure, j.N)
	case WithinReach:
		if s.reached >= l {
			return message.Say("within reach: a peak that was seen may be as high, with its uncertainty")
		}
		return message.Say("within reach: by these %d specimens more than %g %% of such peaks may pass it, and more drops like them would not show otherwise", j.N, math.Round(1e6*(1-j.Content))/1e4)
	}
	switch {
	case s.n == 0:
		return message.Say("cannot be told: no peak counts yet")
	case s.odd:
		return message.Say("cannot be told: a peak or its uncertainty is not known")
	case s.bounds > 0:
		return message.Say("cannot be told: of %d {specimen|specimens} %d {shows|show} only that a whole arrest asks for at least {its|their} peak, and further drops do not mend that", s.n, s.bounds)
	case s.n == 1:
		return message.Say("cannot be told from one specimen, which shows no scatter; with a scatter above %s no number of drops like it would show that it stays below", up(ptr(math.Max(0, (l-s.mean-uncert.NormalQuantile(j.Confidence)*s.u)/z))))
	case s.sd == 0:
		return message.Say("cannot be told: %d peaks that are all the same show no scatter", s.n)
	case j.MoreDrops == nil:
		return message.Say("cannot be told; more than %d more drops would be needed, if they scatter as these do", MostMore)
	}
	return message.Say("cannot be told: %g %% of such specimens peak below %s only (%g %% confidence, %d {specimen|specimens}); about %d more {drop|drops} would tell, with four chances in five, if {it is like these|they scatter as these do}", share, up(j.Bound), sure, j.N, *j.MoreDrops)
}

// up is a force rounded up to three digits, so that a printed upper bound never claims more.
func up(f *quantity.Force) string {
	v := f.SI()
	if !(v > 0) || math.IsInf(v, 1) {
		return f.Text(3)
	}
	step := math.Pow(10, math.Floor(math.Log10(v))-2)
	return quantity.Force(math.Ceil(v/step-1e-9) * step).Text(3)
}
