package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/view"
)

// onlyPrefix starts the name of a field that keeps the drops at one level of a factor.
const onlyPrefix = "only."

type comparisonPage struct {
	*view.ComparisonView
	Answers, Others []view.Contrast // of the factor asked about, and of the others
	Asked           url.Values
	Checks          *view.ChecksView
}

// comparisonAsked reads what the address asks for.
func comparisonAsked(q url.Values) (o view.ComparisonOptions, err error) {
	o = view.ComparisonOptions{Measure: q.Get("measure"), Along: q.Get("along"), By: q.Get("by"), Dist: q.Get("dist"), Goodness: q.Get("goodness") == "on", Only: map[string]string{}}
	for name := range q {
		if f, ok := strings.CutPrefix(name, onlyPrefix); ok && q.Get(name) != "" {
			o.Only[f] = q.Get(name)
		}
	}
	number := func(field string, text string, least, most float64) (float64, error) {
		// A comma is a decimal sign in any language, so that an address can be passed on.
		v, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
		if err != nil || !(v >= least && v <= most) {
			return 0, fmt.Errorf("%s: %q is no number from %g to %g", field, text, least, most)
		}
		return v, nil
	}
	o.Confidence, o.Seed = 0.95, 1
	if t := q.Get("confidence"); t != "" {
		if o.Confidence, err = number("confidence", t, 0.5, 1); err != nil {
			return o, err
		}
	}
	for _, t := range strings.FieldsFunc(strings.Join(q["quantile"], " "), func(r rune) bool { return r == ' ' || r == ';' }) {
		p, err := number("quantile", t, 1e-6, 1-1e-6)
		if err != nil {
			return o, err
		}
		o.Quantiles = append(o.Quantiles, p)
	}
	if t := q.Get("bootstrap"); t != "" {
		n, err := strconv.Atoi(t)
		if err != nil || n < 0 {
			return o, fmt.Errorf("bootstrap: %q is no number of draws; write for example 2000", t)
		}
		o.Bootstrap = n
	}
	if t := q.Get("seed"); t != "" {
		if o.Seed, err = strconv.ParseUint(t, 10, 64); err != nil || o.Seed == 0 {
			return o, fmt.Errorf("seed: %q is no whole number above 0", t)
		}
	}
	return o, nil
}

// showComparison is what the cells say about each other, asked as the address says.
func (s *Server) showComparison(w http.ResponseWriter, r *http.Request) error {
	o, err := comparisonAsked(r.URL.Query())
	if err != nil {
		return err
	}
	o.In = localeOf(r).Locale
	v, err := s.waitForComparison(r.Context(), o)
	if err != nil {
		return err
	}
	s.compared.Store(true)
	if v == nil {
		return s.showWorking(w, r)
	}
	p := comparisonPage{ComparisonView: v, Asked: r.URL.Query()}
	if p.Checks, err = view.Checks(r.Context(), s.s, localeOf(r).Locale); err != nil {
		return err
	}
	for _, c := range v.Contrasted() {
		if c.Factor == v.By {
			p.Answers = append(p.Answers, c)
		} else {
			p.Others = append(p.Others, c)
		}
	}
	return s.render(w, r, http.StatusOK, "comparison", p)
}

// readyComparison has the usual comparison worked out beside everything else where somebody has looked at it: exact tests of
// hundreds of drops take seconds.
func (s *Server) readyComparison(ctx context.Context) {
	if !s.compared.Load() || !s.comparing.CompareAndSwap(false, true) {
		return
	}
	go func() {
		defer s.comparing.Store(false)
		// Whoever asks meets the error.
		_, _ = view.ComparisonOf(ctx, s.s, view.ComparisonOptions{})
	}()
}

// All are the contrasts in the order shown.
func (p comparisonPage) All() []view.Contrast { return append(slices.Clone(p.Answers), p.Others...) }

// With is the address of the same comparison with one thing asked otherwise; empty takes it away.
func (p comparisonPage) With(name, value string) string {
	q := url.Values{}
	for k, v := range p.Asked {
		if k != "done" && (len(v) != 1 || v[0] != "") {
			q[k] = v
		}
	}
	if value == "" {
		q.Del(name)
	} else {
		q.Set(name, value)
	}
	if len(q) == 0 {
		return "/comparison"
	}
	return "/comparison?" + q.Encode()
}

// Chosen tells that something other than the usual is asked for.
func (p comparisonPage) Chosen() bool { return p.With("done", "") != "/comparison" }

// Families of the strengths to choose from.
func (comparisonPage) Families() []string {
	return []string{censor.Weibull.String(), censor.Lognormal.String(), censor.Normal.String(), censor.Exponential.String()}
}

// Confidences to choose from, with the one that is asked for.
func (p comparisonPage) Confidences() []float64 {
	all := []float64{0.9, 0.95, 0.99}
	if !slices.Contains(all, p.Confidence) {
		all = append(all, p.Confidence)
	}
	return all
}

// OnlyOf is the level of a factor to which the drops are kept.
func (p comparisonPage) OnlyOf(factor string) string { return p.Only[factor] }

// Field is the name of the field of a factor.
func (comparisonPage) Field(factor string) string { return onlyPrefix + factor }

// Value writes the measure of a cell in the unit it is drawn in.
func (p comparisonPage) Value(v *float64) string {
	if v == nil {
		return "–"
	}
	return significant(p.Measure.Drawn(*v), 4)
}

// Quantiled are the quantiles that the kinds were asked for.
func (p comparisonPage) Quantiled() []float64 {
	for _, k := range p.Strengths {
		if k.Fit != nil {
			var out []float64
			for _, q := range k.Fit.Quantiles {
				out = append(out, q.P)
			}
			return out
		}
	}
	return nil
}

// strengthText is a strength in kilonewtons.
func strengthText(v float64) string { return quantity.Significant(v/1000, 4) }

// apart is how far a ratio lies from 1, 0 where that is no share that one would speak of.
func apart(ratio *float64) float64 {
	if ratio == nil || *ratio > 2.5 || *ratio < 0.05 {
		return 0
	}
	return *ratio - 1
}

// around writes an interval of which a side may be open.
func (l locale) around(lo, hi *float64, scale float64, digits int) string {
	down := func(v float64) string { return l.number(quantity.Below(v/scale, digits)) }
	up := func(v float64) string { return l.number(quantity.Above(v/scale, digits)) }
	switch {
	case lo == nil && hi == nil:
		return "–"
	case hi == nil:
		return "≥ " + down(*lo)
	case lo == nil:
		return "≤ " + up(*hi)
	}
	return down(*lo) + " … " + up(*hi)
}

// Tests are a contrast in its three respects.
func (p comparisonPage) Tests(c view.Contrast) []compare.Difference {
	return []compare.Difference{c.Strength, c.Measure, c.Breaks}
}

// Warned are all that is doubtful here.
func (p comparisonPage) Warned() []message.Sentence {
	out := slices.Clone(p.Warnings)
	for _, more := range [][]message.Sentence{p.MeasuredEffects().Warnings, p.StrengthEffects.Warnings, p.ComparisonView.Checks.Warnings} {
		out = append(out, more...)
	}
	for _, k := range p.Strengths {
		if k.Fit == nil {
			continue
		}
		for _, w := range k.Fit.Warnings {
			out = append(out, message.Say("%s: %s", message.Names(k.Name), w))
		}
	}
	return out
}

// API is the address of the same for programs.
func (p comparisonPage) API() string { return "/api" + p.With("done", "") }

// apiComparison gives the same to a program.
func (s *Server) apiComparison(w http.ResponseWriter, r *http.Request) error {
	o, err := comparisonAsked(r.URL.Query())
	if err != nil {
		return err
	}
	v, err := view.ComparisonOf(r.Context(), s.s, o)
	if err != nil {
		return err
	}
	s.json(w, http.StatusOK, v)
	return nil
}
