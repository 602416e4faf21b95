package plan

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/num/probit"
	"github.com/hardcatch/hardcatch/internal/num/uncert"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// UpDownDesign is an up-and-down series that has not been made, with the tolerance it is supposed to meet.
type UpDownDesign struct {
	Start, Step quantity.Length
	N           int             // drops
	Mean, SD    quantity.Length // of the normal tolerance
	Quantile    float64         // low share whose height is asked for as well
	Confidence  float64
}

// mostDropsOfSeries bounds a series; nobody makes more drops.
const mostDropsOfSeries = 10_000

// Check reports a design that cannot be simulated.
func (d UpDownDesign) Check() error {
	for _, v := range []struct {
		name  string
		value quantity.Length
	}{{"start", d.Start}, {"step", d.Step}, {"mean", d.Mean}, {"sd", d.SD}} {
		if x := v.value.SI(); !(x > 0) || x > 1000 {
			return fmt.Errorf("%s of %s: it must lie above 0 and within 1000 m; write for example 0.2 m", v.name, v.value)
		}
	}
	if d.N < 2 || d.N > mostDropsOfSeries {
		return fmt.Errorf("%d drops: a series takes from 2 to %d", d.N, mostDropsOfSeries)
	}
	if !(d.Quantile > 0 && d.Quantile < 1) || !(d.Confidence > 0 && d.Confidence < 1) {
		return fmt.Errorf("quantile %g at confidence %g: both lie between 0 and 1", d.Quantile, d.Confidence)
	}
	return nil
}

// UpDownRun is what one simulated series would have told. Heights in m, NaN where there is no estimate.
type UpDownRun struct {
	Broke    int
	Floored  bool // a height of 0 would have come up
	State    probit.Identification
	Classic  float64 // Dixon and Mood's height at which half break
	Spread   float64 // Dixon and Mood's spread
	Half     float64 // by maximum likelihood
	Low      float64 // quantile asked for, by maximum likelihood
	HalfHeld IntervalHit
	LowHeld  IntervalHit
}

// IntervalHit tells whether an interval held the truth.
type IntervalHit struct {
	Any       bool // there was an interval
	Truth     bool
	OpenBelow bool
	OpenAbove bool
}

// Run makes one series with specimens drawn from src.
func (d UpDownDesign) Run(src rand.Source) (UpDownRun, error) {
	rng := rand.New(src)
	drops := make([]UpDownDrop, d.N)
	r := UpDownRun{}
	h := d.Start
	for i := range drops {
		strength := d.Mean.SI() + d.SD.SI()*rng.NormFloat64()
		drops[i] = UpDownDrop{Height: h, Broke: h.SI() >= strength}
		if drops[i].Broke {
			r.Broke++
		}
		var floor bool
		h, floor = NextHeight(drops[i], d.Step)
		r.Floored = r.Floored || floor
	}
	u, err := NewUpDown(drops, d.Step)
	if err != nil {
		return r, err
	}
	r.Classic, r.Spread = math.NaN(), math.NaN()
	if c, err := u.DixonMood(); err == nil {
		r.Classic = c.Mean.SI()
		if c.Spread != nil {
			r.Spread = c.Spread.SI()
		}
	}
	f, err := u.Likelihood(NormalTolerance)
	if err != nil {
		return r, err
	}
	r.State, r.Half = f.State, f.Mean.SI()
	r.Low = f.fit.Quantile(d.Quantile)
	r.HalfHeld = d.holds(f.fit, 0.5)
	r.LowHeld = d.holds(f.fit, d.Quantile)
	return r, nil
}

// Truth is the height at which the share p breaks by the design's tolerance.
func (d UpDownDesign) Truth(p float64) quantity.Length {
	return d.Mean + quantity.Length(d.SD.SI()*uncert.NormalQuantile(p))
}

func (d UpDownDesign) holds(f *probit.Fit, p float64) IntervalHit {
	if f.State == probit.OneOutcome {
		return IntervalHit{}
	}
	h := IntervalHit{Any: true, Truth: f.Holds(p, d.Truth(p).SI(), d.Confidence)}
	h.OpenBelow, h.OpenAbove = f.Open(p, d.Confidence)
	return h
}

// UpDownCharacter is how a design behaves over many runs. Shares are of the runs unless said; what no run gave is nil.
type UpDownCharacter struct {
	Design     UpDownDesign   `json:"-"`
	Runs       int            `json:"-"`
	Classic    UpDownSpread   `json:"dixon_mood"`    // Dixon and Mood's height at which half break
	Half       UpDownSpread   `json:"likelihood"`    // the same by maximum likelihood
	Low        UpDownSpread   `json:"quantile"`      // the low quantile by maximum likelihood
	SpreadTold float64        `json:"spread_told"`   // in which Dixon and Mood's method gives a spread
	SpreadMean *float64       `json:"spread_mean_m"` // of those spreads
	Separated  float64        `json:"separated"`     // in which the likelihood is separated
	OneOutcome float64        `json:"one_outcome"`   // in which all held or all broke
	Flat       float64        `json:"flat"`          // in which breaks were not likelier higher up
	HalfIn     UpDownCoverage `json:"interval_half"`
	LowIn      UpDownCoverage `json:"interval_quantile"`
	Broken     float64        `json:"broken_mean"` // number of specimens broken
	Broken05   int            `json:"broken_p05"`  // 5th and 95th percentile
	Broken95   int            `json:"broken_p95"`
	Floored    float64        `json:"-"` // in which a height of 0 would have come up
}

// UpDownSpread is the distribution of an estimate over the runs that gave one; nil where fewer than two did.
type UpDownSpread struct {
	Told float64  `json:"told"`
	Bias *float64 `json:"bias_m"`
	SD   *float64 `json:"sd_m"`
	P05  *float64 `json:"p05_m"`
	P95  *float64 `json:"p95_m"`
}

// UpDownCoverage is how often an interval holds the truth, among the runs that gave an interval; nil where none did.
type UpDownCoverage struct {
	Intervals int      `json:"intervals"`
	Covered   *float64 `json:"covered"`
	Lo        *float64 `json:"covered_lo"` // exact 95 % interval of Covered, from the number of runs
	Hi        *float64 `json:"covered_hi"`
	Bounded   *float64 `json:"bounded"` // share of the intervals with two ends
	OpenBelow *float64 `json:"open_below"`
	OpenAbove *float64 `json:"open_above"`
}

// SumUp describes the runs of a design. Runs are summed in the order given, so that the same runs give the same bits.
func (d UpDownDesign) SumUp(runs []UpDownRun) (*UpDownCharacter, error) {
	if len(runs) == 0 {
		return nil, fmt.Errorf("no run of the series was made")
	}
	c := &UpDownCharacter{Design: d, Runs: len(runs)}
	n := float64(len(runs))
	var classic, half, low, spread []float64
	var broken []int
	for _, r := range runs {
		classic, half, low, spread = known(classic, r.Classic), known(half, r.Half), known(low, r.Low), known(spread, r.Spread)
		broken = append(broken, r.Broke)
		c.Broken += float64(r.Broke) / n
		switch r.State {
		case probit.Separated, probit.Touching:
			c.Separated += 1 / n
		case probit.OneOutcome:
			c.OneOutcome += 1 / n
		case probit.Flat:
			c.Flat += 1 / n
		}
		if r.Floored {
			c.Floored += 1 / n
		}
	}
	c.Classic = spreadOf(classic, d.Mean.SI(), n)
	c.Half = spreadOf(half, d.Mean.SI(), n)
	c.Low = spreadOf(low, d.Truth(d.Quantile).SI(), n)
	if c.SpreadTold = float64(len(spread)) / n; len(spread) > 0 {
		c.SpreadMean = new(mean(spread))
	}
	slices.Sort(broken)
	c.Broken05, c.Broken95 = broken[rank(len(broken), 0.05)], broken[rank(len(broken), 0.95)]
	var err error
	if c.HalfIn, err = coverage(runs, func(r UpDownRun) IntervalHit { return r.HalfHeld }); err != nil {
		return nil, err
	}
	c.LowIn, err = coverage(runs, func(r UpDownRun) IntervalHit { return r.LowHeld })
	return c, err
}

func known(list []float64, v float64) []float64 {
	if math.IsNaN(v) {
		return list
	}
	return append(list, v)
}

func mean(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum / float64(len(v))
}

// rank is the place of the p-quantile among n sorted values.
func rank(n int, p float64) int { return min(int(p*float64(n)), n-1) }

func spreadOf(v []float64, truth, runs float64) UpDownSpread {
	s := UpDownSpread{Told: float64(len(v)) / runs}
	if len(v) < 2 {
		return s
	}
	m, squares := mean(v), 0.0
	for _, x := range v {
		squares += (x - m) * (x - m)
	}
	s.Bias, s.SD = new(m-truth), new(math.Sqrt(squares/float64(len(v)-1)))
	slices.Sort(v)
	s.P05, s.P95 = &v[rank(len(v), 0.05)], &v[rank(len(v), 0.95)]
	return s
}

func coverage(runs []UpDownRun, of func(UpDownRun) IntervalHit) (UpDownCoverage, error) {
	var c UpDownCoverage
	covered, below, above, bounded := 0, 0, 0, 0
	for _, r := range runs {
		h := of(r)
		if !h.Any {
			continue
		}
		c.Intervals++
		covered += count(h.Truth)
		below += count(h.OpenBelow)
		above += count(h.OpenAbove)
		bounded += count(!h.OpenBelow && !h.OpenAbove)
	}
	if c.Intervals == 0 {
		return c, nil
	}
	b, err := censor.ExactBinomial(covered, c.Intervals, 0.95)
	n := float64(c.Intervals)
	c.Covered, c.Lo, c.Hi = &b.Estimate, &b.Lo, &b.Hi
	c.Bounded, c.OpenBelow, c.OpenAbove = new(float64(bounded)/n), new(float64(below)/n), new(float64(above)/n)
	return c, err
}

func count(is bool) int {
	if is {
		return 1
	}
	return 0
}
