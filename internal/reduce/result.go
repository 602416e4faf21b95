package reduce

import (
	"encoding/json"
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/uncert"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Reduction is what one trace says: measures, their uncertainty, the audit, and how it was got. The JSON
// names are stable: names are added, never changed.
type Reduction struct {
	Version  string   `json:"version"`
	Record   string   `json:"record"`
	SHA256   string   `json:"sha256"`
	Settings Settings `json:"settings"`

	// Peak is the best value of the peak force and PeakMethod says how it was got.
	Peak         quantity.Force     `json:"peak_N"`
	PeakRaw      quantity.Force     `json:"peak_raw_N"`
	PeakFiltered quantity.Force     `json:"peak_filtered_N"`
	PeakTime     quantity.Duration  `json:"peak_time_s"` // on the record's clock
	PeakMethod   string             `json:"peak_method"`
	Alone        *RecordAlone       `json:"alone,omitempty"` // what the record gives without a peak set by hand
	PeakU        quantity.Force     `json:"peak_u_N"`        // standard
	PeakExpanded quantity.Force     `json:"peak_expanded_N"`
	PeakK        float64            `json:"peak_k"`
	PeakDoF      DoF                `json:"peak_dof"`
	Coverage     float64            `json:"coverage"`
	ScaleKnown   bool               `json:"force_scale_known"` // false: the uncertainty leaves the force scale out
	LowerBound   bool               `json:"lower_bound"`       // the specimen broke or slipped, or the record does not show the peak: the arrest force is higher
	Clipped      bool               `json:"clipped"`           // the record is cut off at the top: the peak itself is higher
	PeakHidden   bool               `json:"peak_hidden"`       // the record does not show the peak: the peak itself is higher, or may be
	PeakBound    Bound              `json:"peak_bound,omitempty"`
	PeakInterval *[2]quantity.Force `json:"peak_interval_N,omitempty"` // where the top was rebuilt: the peak lies between them
	PeakReason   string             `json:"peak_bound_reason,omitempty"`

	Mask       drop.EvidenceCounts `json:"mask"`                 // of the samples of the first arrest
	Unmeasured []UnmeasuredStretch `json:"unmeasured,omitempty"` // stretches of the record that were not measured

	Rate            quantity.Frequency  `json:"rate_Hz"`
	Taut            quantity.Duration   `json:"taut_s"` // on the record's clock
	TimeToPeak      quantity.Duration   `json:"time_to_peak_s"`
	ArrestEnd       string              `json:"arrest_end"` // "slack", "break" or "end of record"
	ArrestDuration  quantity.Duration   `json:"arrest_duration_s"`
	RiseRate        *quantity.ForceRate `json:"rise_rate_Nps"` // null, as the two stiffnesses, where the record does not show the peak
	Impulse         quantity.Impulse    `json:"impulse_Ns"`
	EnergyAbsorbed  quantity.Energy     `json:"energy_absorbed_J"`
	EnergyReturned  *quantity.Energy    `json:"energy_returned_J"`
	MaxElongation   quantity.Length     `json:"max_elongation_m"`
	SecantStiffness *quantity.Stiffness `json:"secant_stiffness_Npm"`
	TangentStiff    *quantity.Stiffness `json:"tangent_stiffness_Npm"`
	LossFactor      *quantity.Ratio     `json:"loss_factor"` // (absorbed - returned)/absorbed
	ReboundSpeed    *quantity.Speed     `json:"rebound_speed_mps"`
	ImpactSpeed     quantity.Speed      `json:"impact_speed_mps"`
	Tail            *quantity.Force     `json:"tail_N"`
	LaterArrests    []LaterArrest       `json:"later_arrests"`
	Zero            quantity.Force      `json:"zero_N"`
	NoiseSD         quantity.Force      `json:"noise_N"`
	PulseLength     quantity.Duration   `json:"pulse_length_s"` // half-sine of the same peak and curvature
	Measures        []Measure           `json:"measures"`
	PeakBudget      []BudgetRow         `json:"peak_budget"`
	Bias            []BiasTerm          `json:"peak_bias"`
	Outcome         Proposal            `json:"outcome"`
	Evidence        []string            `json:"outcome_evidence"`
	Audit           []Check             `json:"audit"`
	AuditVerdict    Verdict             `json:"audit_verdict"`
	Judgement       *Judgement          `json:"judgement"` // null where the record allows none
	Findings        []drop.Finding      `json:"findings"`
	Warnings        []string            `json:"warnings"`
	Steps           []Step              `json:"steps"`
}

// UnmeasuredStretch is a stretch of the record that was not measured, on the record's clock too.
type UnmeasuredStretch struct {
	drop.Stretch
	FromTime quantity.Duration `json:"from_s"`
	ToTime   quantity.Duration `json:"to_s"` // of its last sample
}

// LaterArrest is an arrest after the first.
type LaterArrest struct {
	Taut   quantity.Duration `json:"taut_s"`
	Peak   quantity.Force    `json:"peak_N"`
	Flight quantity.Duration `json:"flight_s"` // since the arrest before went slack
}

// Measure is a number with its uncertainty and budget.
type Measure struct {
	Name   string      `json:"name"`
	Unit   string      `json:"unit"`
	Value  float64     `json:"value"`
	U      float64     `json:"u"` // standard
	DoF    DoF         `json:"dof"`
	Budget []BudgetRow `json:"budget"`

	// Bound is how the measure is known where its window touches samples that were not measured, and Reason why.
	Bound    Bound       `json:"bound,omitempty"`
	Interval *[2]float64 `json:"interval,omitempty"` // with Bound "interval"
	Reason   string      `json:"reason,omitempty"`
}

// BudgetRow is an uncertainty component as printed.
type BudgetRow struct {
	Label        string  `json:"label"`
	Kind         string  `json:"kind"`
	Shape        string  `json:"shape"`
	U            float64 `json:"u"`
	Sensitivity  float64 `json:"sensitivity"`
	Contribution float64 `json:"contribution"`
	DoF          DoF     `json:"dof"`
}

// BiasTerm is one known way in which the peak reads wrong. It is printed and enters the budget; the
// peak is not corrected by it.
type BiasTerm struct {
	Source string          `json:"source"` // sampling, filter, rig frequency
	Bias   *quantity.Force `json:"bias_N"` // shown minus true; null when it cannot be told
	Text   string          `json:"text"`
}

// Step is one recorded step of the reduction.
type Step struct {
	Name    string         `json:"name"`
	Version string         `json:"version"`
	Args    map[string]any `json:"args,omitempty"`
}

// Proposal is the outcome the record suggests. A person confirms or overrides it.
type Proposal string

// Undecided is the proposal when the record does not tell.
const Undecided Proposal = "undecided"

// DoF is a number of degrees of freedom; +Inf is written "inf".
type DoF float64

// MarshalJSON writes "inf" for infinitely many.
func (d DoF) MarshalJSON() ([]byte, error) {
	if math.IsInf(float64(d), 1) {
		return []byte(`"inf"`), nil
	}
	return json.Marshal(float64(d))
}

// UnmarshalJSON reads what MarshalJSON writes.
func (d *DoF) UnmarshalJSON(b []byte) error {
	if string(b) == `"inf"` {
		*d = DoF(math.Inf(1))
		return nil
	}
	var v float64
	if err := json.Unmarshal(b, &v); err != nil {
		return fmt.Errorf("degrees of freedom: %w", err)
	}
	*d = DoF(v)
	return nil
}

// String prints at most one decimal, or "inf".
func (d DoF) String() string {
	if math.IsInf(float64(d), 1) {
		return "inf"
	}
	if d > 1e5 {
		return "over 1e5"
	}
	return quantity.Significant(math.Floor(float64(d)*10)/10, 3)
}

func rows(parts []uncert.Component) []BudgetRow {
	out := make([]BudgetRow, len(parts))
	for i, c := range parts {
		out[i] = BudgetRow{c.Label, c.Kind, c.Shape, c.U, c.Sensitivity, c.Contribution(), DoF(c.DoF)}
	}
	return out
}

// notes are what the steps said, in their order: warnings for a person, and what was done for whoever repeats it. They are only ever added to.
type notes struct {
	Warnings []string
	Steps    []Step
}

func (n *notes) warn(format string, args ...any) {
	n.Warnings = append(n.Warnings, fmt.Sprintf(format, args...))
}

func (n *notes) step(name string, args map[string]any) {
	n.Steps = append(n.Steps, Step{Name: name, Version: Version, Args: args})
}
