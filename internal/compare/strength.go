package compare

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/num/exact"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Strength is a distribution fitted to strengths of which some were only held. The names in JSON are stable. Values are
// in N, or in whatever bare numbers were given.
type Strength struct {
	Dist  string   `json:"dist"`
	N     int      `json:"n"`
	Broke int      `json:"broke"` // seen
	Held  int      `json:"held"`  // known from below
	Other int      `json:"bounded_above,omitempty"`
	Shape *float64 `json:"shape,omitempty"`
	Scale *float64 `json:"scale,omitempty"`
	Mu    *float64 `json:"mu,omitempty"`
	Sigma *float64 `json:"sigma,omitempty"`
	// SE are the standard errors of the parameters by their names.
	SE        map[string]float64 `json:"se"`
	LogLik    float64            `json:"loglik"`
	AIC       float64            `json:"aic"`
	Mean      float64            `json:"mean_N"`
	Quantiles []Quantile         `json:"quantiles"`
	KM        []Survival         `json:"km"`
	// Others are the families that were not asked for, for comparison by AIC.
	Others []Alternative `json:"other_dists"`
	// Complete are the figures that need every value to be seen; null where one was only held.
	Complete *UncensoredFigures `json:"complete"`
	Goodness *Goodness          `json:"goodness_of_fit"`
	Warnings []message.Sentence `json:"warnings"`
}

// Quantile is a quantile with its interval; a side that the data do not bound is null.
type Quantile struct {
	P          float64  `json:"p"`
	Value      float64  `json:"value_N"`
	Lo         *float64 `json:"lo_N"`
	Hi         *float64 `json:"hi_N"`
	Confidence float64  `json:"confidence"`
	Method     string   `json:"method"`
	Note       string   `json:"note,omitempty"`
}

// Survival is a step of the product-limit estimate, which needs no family: Kaplan-Meier, or Turnbull where values are
// bounded above. Lo and Hi are the log-log interval, SE is Greenwood's; null where not defined.
type Survival struct {
	Value    float64  `json:"value_N"`
	Survival float64  `json:"survival"`
	SE       *float64 `json:"se"`
	Lo       *float64 `json:"lo"`
	Hi       *float64 `json:"hi"`
}

// Alternative is another family on the same values.
type Alternative struct {
	Dist   string  `json:"dist"`
	LogLik float64 `json:"loglik"`
	AIC    float64 `json:"aic"`
}

// UncensoredFigures are figures from values that were all seen.
type UncensoredFigures struct {
	Mean           float64  `json:"mean_N"`
	SD             float64  `json:"sd_N"`
	Characteristic *float64 `json:"characteristic_N"` // 5 % quantile at 75 % confidence, lognormal
	LessThreeSD    *float64 `json:"mean_less_three_sd_N"`
	// ThreeSDContent is the share above it that the values show at 75 % confidence.
	ThreeSDContent *float64         `json:"mean_less_three_sd_content"`
	Outlier        message.Sentence `json:"outlier,omitempty"` // flagged, never dropped
}

// Goodness is an Anderson-Darling type statistic with its p by parametric bootstrap.
type Goodness struct {
	A2         float64 `json:"a2"`
	P          float64 `json:"p"`
	Replicates int     `json:"replicates"`
}

// StrengthOptions say how strengths are fitted.
type StrengthOptions struct {
	Family     censor.Family
	Confidence float64
	Quantiles  []float64
	Source     censor.Source // of the bootstrap of the goodness of fit; nil leaves it out
	// Text prints a lower bound with its unit; nil = bare numbers.
	Text func(float64) string
}

func (o StrengthOptions) text(v float64) string {
	if o.Text == nil {
		return quantity.Below(v, 4)
	}
	return o.Text(v)
}

// Printer prints values of a unit as they are, as lower and as upper bounds.
type Printer struct{ Value, Down, Up func(float64) string }

// PrinterOf prints forces ("N") with a prefix, and other values with the unit behind them; all to four digits, lower bounds rounded down and upper ones up.
func PrinterOf(unit string) Printer {
	if unit == "N" {
		return Printer{
			func(v float64) string { return quantity.Force(v).String() },
			func(v float64) string { return quantity.Force(v).Down(4) },
			func(v float64) string { return quantity.Force(v).Up(4) },
		}
	}
	with := func(number string) string { return strings.TrimSpace(number + " " + unit) }
	return Printer{
		func(v float64) string { return with(quantity.Significant(v, 4)) },
		func(v float64) string { return with(quantity.Below(v, 4)) },
		func(v float64) string { return with(quantity.Above(v, 4)) },
	}
}

// usual are the quantiles shown where none are asked for.
var usual = []float64{0.01, 0.05, 0.1, 0.5}

// FitStrength fits a family by maximum likelihood with calibrated intervals, and puts the product-limit estimate beside it.
// Where no fit exists the error is a sentence that says why and what may be said instead.
func FitStrength(values []censor.Value, o StrengthOptions) (*Strength, error) {
	s, _, err := fitStrength(values, o)
	return s, err
}

func fitStrength(values []censor.Value, o StrengthOptions) (*Strength, *censor.Model, error) {
	if err := checkConfidence(o.Confidence); err != nil {
		return nil, nil, err
	}
	m, err := censor.Fit(values, o.Family)
	if err != nil {
		return nil, nil, insteadOf(values, err, o)
	}
	m = m.Calibrated()
	s := &Strength{Dist: o.Family.String(), N: m.N, Broke: m.Exact, Held: m.Right, Other: m.Left + m.Interval, SE: map[string]float64{}, LogLik: m.LogLik, AIC: m.AIC, Mean: m.Mean(), Others: []Alternative{}, Warnings: message.TellAll(m.Warnings)}
	for _, p := range m.Params {
		v := p.Value
		switch p.Name {
		case "shape":
			s.Shape = &v
		case "scale":
			s.Scale = &v
		case "mu":
			s.Mu = &v
		case "sigma":
			s.Sigma = &v
		}
		s.SE[p.Name] = p.SE
	}
	quantiles := o.Quantiles
	if len(quantiles) == 0 {
		quantiles = usual
	}
	for _, p := range quantiles {
		q, err := m.QuantileInterval(p, o.Confidence)
		if err != nil {
			return nil, nil, fmt.Errorf("quantile %g: %w", p, err)
		}
		out := Quantile{P: p, Value: q.Estimate, Confidence: o.Confidence, Method: q.Method, Note: q.Note}
		if !q.OpenLo && q.Lo*FarRatio > q.Estimate {
			out.Lo = &q.Lo
		}
		if !q.OpenHi && q.Hi < q.Estimate*FarRatio {
			out.Hi = &q.Hi
		}
		s.Quantiles = append(s.Quantiles, out)
	}
	if err := s.curve(values, o.Confidence); err != nil {
		return nil, nil, err
	}
	s.alternatives(values, o.Family)
	s.complete(values)
	s.goodness(m, o.Source)
	return s, m, nil
}

// insteadOf adds to the reason why there is no fit what can be said all the same.
func insteadOf(values []censor.Value, err error, o StrengthOptions) error {
	if !errors.Is(err, censor.ErrNotIdentified) {
		return err
	}
	n, least := 0, math.Inf(1)
	for _, v := range values {
		if v.Kind() != censor.RightCensored {
			return err
		}
		n += v.N()
		least = math.Min(least, v.Lo)
	}
	held, e := censor.SuccessRun(n, o.Confidence)
	if e != nil {
		return err
	}
	return message.Say("%s. What may be said: all %d held at least %s, so that at %g %% confidence at least %s %% of such specimens hold that", err, n, o.text(least), 100*o.Confidence, RoundOutward(100*held, math.Floor)).Error(err)
}

func (s *Strength) curve(values []censor.Value, confidence float64) error {
	estimate := censor.KaplanMeier
	if s.Other > 0 {
		estimate = censor.Turnbull
	}
	c, err := estimate(values, confidence)
	if err != nil {
		return err
	}
	s.KM = []Survival{}
	for _, p := range c.Points {
		s.KM = append(s.KM, Survival{Value: p.Value, Survival: p.Survival, SE: finite(p.SE), Lo: finite(p.LogLogLo), Hi: finite(p.LogLogHi)})
	}
	s.Warnings = append(s.Warnings, message.TellAll(c.Warnings)...)
	return nil
}

func finite(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}

func (s *Strength) alternatives(values []censor.Value, chosen censor.Family) {
	best := ""
	least := s.AIC - 2
	for _, f := range []censor.Family{censor.Weibull, censor.Lognormal, censor.Normal, censor.Exponential} {
		if f == chosen {
			continue
		}
		m, err := censor.Fit(values, f)
		if err != nil {
			continue
		}
		s.Others = append(s.Others, Alternative{Dist: f.String(), LogLik: m.LogLik, AIC: m.AIC})
		if m.AIC < least {
			best, least = f.String(), m.AIC
		}
	}
	if best != "" {
		s.Warnings = append(s.Warnings, message.Say("by Akaike's criterion a %s distribution describes these values better (%.1f against %.1f); the low quantiles depend on that choice", best, least, s.AIC))
	}
}

func (s *Strength) complete(values []censor.Value) {
	if s.Broke != s.N || s.N < 2 {
		return
	}
	var x []float64
	for _, v := range values {
		for range v.N() {
			x = append(x, v.Lo)
		}
	}
	i, _ := meanInterval(x, 0.95)
	c := &UncensoredFigures{Mean: i.mean, SD: i.sd}
	if k, err := exact.CharacteristicValue(x, exact.LogNormal); err == nil {
		c.Characteristic = finite(k.Value)
		s.Warnings = append(s.Warnings, message.TellAll(k.Warnings)...)
	}
	if k, err := exact.MeanLessThreeSD(x); err == nil {
		c.LessThreeSD, c.ThreeSDContent = finite(k.Value), finite(k.Content)
		s.Warnings = append(s.Warnings, message.TellAll(k.Warnings)...)
	}
	if o, err := exact.Grubbs(x, exact.Either, 0.05); err == nil && o.Flagged {
		c.Outlier = message.Say("%s lies far from the others (Grubbs' test, p = %s): look at its record; it counts unless a cause is found there", quantity.Significant(o.Value, 4), probability(o.P))
		s.Warnings = append(s.Warnings, c.Outlier)
	}
	s.Complete = c
}

// goodnessReplicates keeps a fit with its check below a second for a hundred values; of more than 200 values fewer samples are drawn, down to
// 199, with which the standard error of a p-value of 0.05 is 0.015.
func goodnessReplicates(values int) int { return min(499, max(199, 499*200/max(1, values))) }

func (s *Strength) goodness(m *censor.Model, source censor.Source) {
	if source == nil || s.Other > 0 || s.Broke < 3 || s.N > 2000 {
		return
	}
	g, err := censor.GoodnessOfFit(m, source, goodnessReplicates(s.N))
	if err != nil {
		s.Warnings = append(s.Warnings, message.Say("goodness of fit: ").Say("%s", err))
		return
	}
	s.Goodness = &Goodness{A2: g.A2, P: g.P, Replicates: g.Replicates}
	s.Warnings = append(s.Warnings, message.TellAll(g.Warnings)...)
	if g.P < SignificanceLevel {
		s.Warnings = append(s.Warnings, message.Say("a %s distribution does not describe these values (Anderson-Darling type test, p = %s): use the product-limit estimate, and no quantile below the lowest break", s.Dist, probability(g.P)))
	}
}

// Statement words the quantiles.
func (s *Strength) Statement(print Printer) message.Sentence {
	var b message.Sentence
	text := print.Value
	if s.Other > 0 {
		b = b.Say("%d {specimen|specimens}: the strength of %d was seen, %d held, and of %d it is known between bounds or from above.", s.N, s.Broke, s.Held, s.Other)
	} else {
		b = b.Say("%d {specimen|specimens}, %d broke and %d held.", s.N, s.Broke, s.Held)
	}
	for _, q := range s.Quantiles {
		if q.P != 0.05 && q.P != 0.5 {
			continue
		}
		what := message.Say("%g %% of such specimens are weaker than", 100*q.P)
		switch {
		case q.Lo != nil && q.Hi != nil:
			b = b.Say(" By the %s fit %s %s (%s to %s, %g %% confidence).", s.Dist, what, text(q.Value), print.Down(*q.Lo), print.Up(*q.Hi), 100*q.Confidence)
		case q.Lo != nil:
			b = b.Say(" By the %s fit %s %s (at least %s; these values give no upper bound).", s.Dist, what, text(q.Value), print.Down(*q.Lo))
		case q.Hi != nil:
			b = b.Say(" By the %s fit %s %s (at most %s; these values give no lower bound).", s.Dist, what, text(q.Value), print.Up(*q.Hi))
		default:
			b = b.Say(" By the %s fit %s %s, but these values bound that on neither side.", s.Dist, what, text(q.Value))
		}
	}
	return b
}
