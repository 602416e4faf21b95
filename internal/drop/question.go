package drop

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Asked is what a question asks about.
type Asked string

// What may be asked.
const (
	AskStrength      Asked = "strength"          // of the specimens, N
	AskPeak          Asked = "peak force"        // arrest force at the anchor, N
	AskBreaks        Asked = "break probability" // share of such drops that break
	AskStrengthRatio Asked = "strength ratio"    // of two kinds of specimens
	AskPeakRatio     Asked = "peak ratio"        // of two kinds of drops
)

// AllAsked lists what may be asked.
func AllAsked() []Asked {
	return []Asked{AskStrength, AskPeak, AskBreaks, AskStrengthRatio, AskPeakRatio}
}

// IsRatio tells that two groups of drops are set against each other.
func (a Asked) IsRatio() bool { return a == AskStrengthRatio || a == AskPeakRatio }

// IsForce tells that the answer is a force in N; else it is a bare number.
func (a Asked) IsForce() bool { return a == AskStrength || a == AskPeak }

// Side is the side on which a bound has to hold for a yes.
type Side string

// The sides.
const (
	AtLeast Side = "at least"
	AtMost  Side = "at most"
)

// Question is what a campaign is asked, with the rule by which its drops answer. The rule is a claim: a quantity lies on one side of a bound. The answer is
// yes when the one-sided bound of the quantity on that side, at the confidence 1 - WrongYes, keeps the bound; no when the one-sided bound on the other side,
// at the confidence 1 - WrongNo, does not reach it; else it cannot be told yet.
type Question struct {
	ID   string `json:"id"`
	Text string `json:"question,omitempty"` // in the words of who asks
	Of   Asked  `json:"of"`
	// Quantile is the share of specimens or drops below the value that is asked about; 0 of a break probability, which has none.
	Quantile quantity.Ratio `json:"quantile,omitempty"`
	// Where are the levels of the drops that are asked about. Of a ratio they are those of its upper part, and Against the levels of the lower part that
	// differ from them.
	Where   map[string]string `json:"where,omitempty"`
	Against map[string]string `json:"against,omitempty"`
	Side    Side              `json:"side"`
	Bound   float64           `json:"bound,omitempty"`  // in SI units; 0 where the rating is the bound
	Rating  bool              `json:"rating,omitempty"` // the bound is the rated strength of the specimens
	// WrongYes and WrongNo are the largest allowed risks of a yes and of a no that are wrong.
	WrongYes quantity.Ratio `json:"wrong_yes"`
	WrongNo  quantity.Ratio `json:"wrong_no"`
	// Withdrawn is why the question is asked no longer; it stays in the logbook.
	Withdrawn string `json:"withdrawn,omitempty"`
}

// Confidence is that of the bound for a yes.
func (q Question) Confidence() float64 { return 1 - q.WrongYes.SI() }

// BoundText is the bound with its unit.
func (q Question) BoundText() string {
	switch {
	case q.Rating:
		return "rating"
	case q.Of.IsForce():
		return ForceText(q.Bound)
	case q.Of == AskBreaks:
		return quantity.Percent(q.Bound)
	}
	return strconv.FormatFloat(q.Bound, 'g', 6, 64)
}

// ForceText prints a force that was stated, in N, without figures that were not written: 12 kN, not 12.00 kN.
func ForceText(newtons float64) string {
	if math.Abs(newtons) < 1000 {
		return strconv.FormatFloat(newtons, 'g', 6, 64) + " N"
	}
	return strconv.FormatFloat(newtons/1000, 'g', 6, 64) + " kN"
}

// usualRisk is the risk of a wrong answer where none is stated. Common practice, no source.
const usualRisk = 0.05

// Bounds of risks and quantiles: beyond them no campaign of drops answers.
const (
	leastRisk     = 1e-4
	mostRisk      = 0.5
	leastQuantile = 1e-4
)

// Written is a question as a person writes it, in a plan or behind a command. Empty fields are not given.
type Written struct {
	ID         string            `yaml:"name"`
	Text       string            `yaml:"question"`
	Of         string            `yaml:"of"`
	Quantile   string            `yaml:"quantile"`
	Where      map[string]string `yaml:"where"`
	Against    map[string]string `yaml:"against"`
	AtLeast    string            `yaml:"at_least"`
	AtMost     string            `yaml:"at_most"`
	Confidence string            `yaml:"confidence"`
	WrongYes   string            `yaml:"wrong_yes"`
	WrongNo    string            `yaml:"wrong_no"`
}

// FieldError is what is wrong with a field of a question, by its name in a file.
type FieldError struct {
	Field string
	Err   error
}

func (e *FieldError) Error() string { return e.Err.Error() }

// Unwrap gives the error itself.
func (e *FieldError) Unwrap() error { return e.Err }

func wrong(field, format string, args ...any) error {
	return &FieldError{field, fmt.Errorf(format, args...)}
}

// Read makes the question of what was written. Errors are a *FieldError.
func (w Written) Read() (Question, error) {
	q := Question{ID: strings.TrimSpace(w.ID), Text: strings.Join(strings.Fields(w.Text), " ")}
	if q.ID == "" {
		return q, wrong("name", "the question has no name; give it a short one, for example name: four winters")
	}
	for _, a := range AllAsked() {
		if PlainName(w.Of) == string(a) || a == AskPeak && PlainName(w.Of) == "peak" {
			q.Of = a
		}
	}
	if q.Of == "" {
		return q, wrong("of", "of is %q; a question is of %s", w.Of, listAsked())
	}
	for _, step := range []func(*Question) error{w.readBound, w.readQuantile, w.readLevels, w.readRisks} {
		if err := step(&q); err != nil {
			return q, err
		}
	}
	return q, q.Validate()
}

func listAsked() string {
	var names []string
	for _, a := range AllAsked() {
		names = append(names, string(a))
	}
	return strings.Join(names[:len(names)-1], ", ") + " or " + names[len(names)-1]
}

func (w Written) readBound(q *Question) error {
	text, field := w.AtLeast, "at_least"
	q.Side = AtLeast
	switch {
	case w.AtLeast != "" && w.AtMost != "":
		return wrong("at_most", "at_least and at_most are both given; a question has one of them, ask two questions for a range")
	case w.AtMost != "":
		text, field, q.Side = w.AtMost, "at_most", AtMost
	case w.AtLeast == "":
		return wrong("at_least", "no bound is given; write what would count as yes, for example at_least: 15 kN")
	}
	var err error
	if q.Of.IsForce() && PlainName(text) == "rating" {
		q.Rating = true
	} else {
		q.Bound, err = q.ReadValue(text)
	}
	if err != nil {
		return wrong(field, "%w", err)
	}
	return nil
}

// ReadValue reads a value of what the question asks about, a force or a bare number, in SI units.
func (q Question) ReadValue(text string) (float64, error) {
	if q.Of.IsForce() {
		var f quantity.Force
		err := f.UnmarshalText([]byte(text))
		return f.SI(), err
	}
	var r quantity.Ratio
	err := r.UnmarshalText([]byte(text))
	return r.SI(), err
}

func (w Written) readQuantile(q *Question) error {
	if q.Of == AskBreaks {
		if w.Quantile != "" {
			return wrong("quantile", "a break probability has no quantile; leave it out")
		}
		return nil
	}
	switch text := PlainName(w.Quantile); {
	case text == "median" || text == "" && q.Of.IsRatio():
		q.Quantile = 0.5
	case text != "":
		if err := q.Quantile.UnmarshalText([]byte(w.Quantile)); err != nil {
			return wrong("quantile", "%w", err)
		}
	case q.Side == AtLeast:
		q.Quantile = usualRisk // all but one in twenty keep the bound
	default:
		q.Quantile = 1 - usualRisk
	}
	return nil
}

func (w Written) readLevels(q *Question) error {
	var err error
	if q.Where, err = readLevels("where", w.Where); err != nil {
		return err
	}
	q.Against, err = readLevels("against", w.Against)
	return err
}

func readLevels(field string, levels map[string]string) (map[string]string, error) {
	if len(levels) == 0 {
		return nil, nil
	}
	out := map[string]string{}
	for _, f := range slices.Sorted(maps.Keys(levels)) {
		l := strings.TrimSpace(levels[f])
		if PlainName(f) == "" || l == "" {
			return nil, wrong(field, "%s: a factor and its level are wanted, for example %s: {knot: overhand}", field, field)
		}
		if out[PlainName(f)] != "" {
			return nil, wrong(field, "%s: the factor %s stands twice", field, PlainName(f))
		}
		out[PlainName(f)] = l
	}
	return out, nil
}

func (w Written) readRisks(q *Question) error {
	risk := func(field, text string, usual float64) (quantity.Ratio, error) {
		r := quantity.Ratio(usual)
		if text != "" {
			if err := r.UnmarshalText([]byte(text)); err != nil {
				return 0, wrong(field, "%w", err)
			}
		}
		return r, nil
	}
	confidence, err := risk("confidence", w.Confidence, 1-usualRisk)
	if err != nil {
		return err
	}
	rest := tidy(1 - confidence.SI())
	if q.WrongYes, err = risk("wrong_yes", w.WrongYes, rest); err != nil {
		return err
	}
	if w.Confidence != "" && q.WrongYes.SI() != rest {
		return wrong("wrong_yes", "a confidence of %s allows a wrong yes in %s; wrong_yes says %s, keep one of them", quantity.Percent(confidence.SI()), quantity.Percent(rest), quantity.Percent(q.WrongYes.SI()))
	}
	q.WrongNo, err = risk("wrong_no", w.WrongNo, rest)
	return err
}

// tidy takes away what is left of subtracting in binary: 1 - 0.95 is 0.05.
func tidy(v float64) float64 {
	const places = 1e12
	return float64(int64(v*places+0.5)) / places
}

// Validate reports what makes a question impossible to answer. The error is a *FieldError.
func (q Question) Validate() error {
	side := map[Side]string{AtLeast: "at_least", AtMost: "at_most"}[q.Side]
	switch {
	case strings.TrimSpace(q.ID) == "":
		return wrong("name", "the question has no name; give it a short one")
	case !slices.Contains(AllAsked(), q.Of):
		return wrong("of", "of is %q; a question is of %s", q.Of, listAsked())
	case side == "":
		return wrong("at_least", "the side is %q; it is %s or %s", q.Side, AtLeast, AtMost)
	case q.Rating && !q.Of.IsForce():
		return wrong(side, "only a force is held against a rating")
	case !q.Rating && !(q.Bound > 0 && q.Bound <= quantity.Largest):
		return wrong(side, "a bound of %s is not possible; it lies above 0", q.BoundText())
	case q.Of.IsForce() && q.Bound > mostForce:
		return wrong(side, "a force of %s is not believed; a bare number is newtons, write for example 15 kN", q.BoundText())
	case q.Of == AskBreaks && q.Bound >= 1:
		return wrong(side, "a probability of %s is asked about; it lies between 0 and 100 %%", q.BoundText())
	case q.Of.IsRatio() && q.Bound > 1000:
		return wrong(side, "a ratio of %s is not believed", q.BoundText())
	case q.Of != AskBreaks && !(q.Quantile >= leastQuantile && q.Quantile <= 1-leastQuantile):
		return wrong("quantile", "a quantile of %s is not possible; it lies between 0 and 100 %%, 5 %% is usual", quantity.Percent(q.Quantile.SI()))
	}
	for _, r := range []struct {
		field string
		risk  float64
	}{{"wrong_yes", q.WrongYes.SI()}, {"wrong_no", q.WrongNo.SI()}} {
		if !(r.risk >= leastRisk && r.risk < mostRisk) {
			return wrong(r.field, "%s: a risk of %s is not possible; it lies between 0.01 %% and 50 %%, 5 %% is usual", r.field, quantity.Percent(r.risk))
		}
	}
	return q.validateLevels()
}

// mostForce is beyond any textile, N.
const mostForce = 1e7

func (q Question) validateLevels() error {
	if !q.Of.IsRatio() {
		if len(q.Against) > 0 {
			return wrong("against", "against belongs to a ratio; a question of %s has where alone", q.Of)
		}
		return nil
	}
	differs := false
	for f, l := range q.Against {
		differs = differs || !SameLevel(q.Where[f], l)
	}
	if !differs {
		return wrong("against", "a ratio sets two kinds against each other; write for example where: {knot: overhand}, against: {knot: sewn}")
	}
	return nil
}

// Lower are the levels of the lower part of a ratio.
func (q Question) Lower() map[string]string {
	out := maps.Clone(q.Where)
	if out == nil {
		out = map[string]string{}
	}
	maps.Copy(out, q.Against)
	return out
}

// Fits tells that a drop with these levels has every level of the others.
func Fits(levels, wanted map[string]string) bool {
	for f, l := range wanted {
		if !SameLevel(levels[f], l) {
			return false
		}
	}
	return true
}

// levelDigits are the digits to which Levels prints quantities.
const levelDigits = 3

// SameLevel tells that two levels are one: the same quantity to the digits of Levels, however it is written, 0.6 m and 600 mm, or the same words in large or
// small letters.
func SameLevel(a, b string) bool {
	if strings.EqualFold(strings.TrimSpace(a), strings.TrimSpace(b)) {
		return true
	}
	x, ux, _, errX := quantity.ParseAny(a)
	y, uy, _, errY := quantity.ParseAny(b)
	return errX == nil && errY == nil && ux.Dim == uy.Dim && quantity.Significant(x, levelDigits) == quantity.Significant(y, levelDigits)
}
