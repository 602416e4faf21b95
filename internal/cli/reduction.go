package cli

import (
	"fmt"
	"strings"

	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

// reduction prints one reduction as text.
func (s *streams) reduction(r *reduce.Reduction) error {
	bound := ""
	switch {
	case r.PeakHidden:
		bound = "  (" + r.PeakWords() + ")"
	case r.LowerBound:
		bound = fmt.Sprintf("  (the specimen %s: a lower bound of the arrest force)", r.Outcome)
	}
	if !r.ScaleKnown {
		bound += "  (± leaves the force scale out: it is not known)"
	}
	lead := ""
	if r.PeakHidden {
		lead = "at least "
	}
	s.say("%s: peak %s%s, k = %.3g, %g %% coverage%s", r.Record, lead, quantity.WithU(r.Peak, r.PeakExpanded), r.PeakK, 100*r.Coverage, bound)
	s.say("outcome proposed: %s", r.Outcome)
	for _, e := range r.Evidence {
		s.say("  - %s", wrap(e, 96, "    "))
	}
	s.heading("How it was read")
	s.say("  %s", wrap(fmt.Sprintf("%s; %s at %s; speed %s, %s; zero %s; noise %s", r.PeakMethod, r.Settings.Filter, r.Rate.Text(4), r.Settings.SpeedMethod, r.ImpactSpeed.Text(4), r.Zero.Text(3), r.NoiseSD.Text(2)), 98, "  "))
	s.heading("Measures")
	rows := [][]string{{"measure", "value", "standard uncertainty"},
		{"peak force, raw", r.PeakRaw.String(), ""}, {"peak force, filtered", r.PeakFiltered.String(), ""},
		{"peak force", r.Peak.String(), r.PeakU.Text(2)}, {"time to peak", r.TimeToPeak.Text(4), ""},
		{"rise rate", shownOf(r.RiseRate), ""}, {"secant stiffness", shownOf(r.SecantStiffness), ""}, {"tangent stiffness", shownOf(r.TangentStiff), ""}}
	for _, m := range r.Measures {
		u := strings.TrimSpace(quantity.Significant(m.U, 2) + " " + m.Unit)
		if m.Bound != reduce.Value {
			u = m.Reason
		}
		rows = append(rows, []string{m.Name, m.Text(), u})
	}
	if r.Tail != nil {
		rows = append(rows, []string{"tail at rest", r.Tail.String(), ""})
	}
	if err := s.table(rows); err != nil {
		return err
	}
	if words := r.UnmeasuredWords(); len(words) > 0 {
		s.heading("What was not measured")
		for _, w := range words {
			s.say("  - %s", w)
		}
		m := r.Mask
		s.say("  of the first arrest %d samples were measured, %d bridged, %d saturated, %d lost, %d out of range", m.Measured, m.Bridged, m.Saturated, m.Lost, m.OutOfRange)
	}
	s.heading("Uncertainty of the peak")
	rows = [][]string{{"component", "kind", "shape", "u", "contribution", "degrees of freedom"}}
	for _, b := range r.PeakBudget {
		rows = append(rows, []string{b.Label, b.Kind, b.Shape, quantity.Force(b.U).Text(2), quantity.Force(b.Contribution).Text(2), b.DoF.String()})
	}
	rows = append(rows, []string{"combined", "", "", "", r.PeakU.Text(2), r.PeakDoF.String()}, []string{"expanded", "", "", fmt.Sprintf("k = %.3g", r.PeakK), r.PeakExpanded.Text(2), ""})
	if err := s.table(rows); err != nil {
		return err
	}
	s.heading("Known biases of the peak (shown minus true, not corrected)")
	for _, b := range r.Bias {
		v := "not known"
		if b.Bias != nil {
			v = b.Bias.Text(2)
		}
		s.say("  %s: %s", b.Source, wrap(v+"; "+b.Text, 94, "    "))
	}
	s.heading("Audit: " + string(r.AuditVerdict))
	rows = [][]string{{"check", "expected", "found", "u", "verdict"}}
	for _, k := range r.Audit {
		rows = append(rows, []string{k.Name, number(k.Expected, k.Unit), number(k.Found, k.Unit), number(k.U, k.Unit), string(k.Verdict)})
	}
	if err := s.table(rows); err != nil {
		return err
	}
	for _, k := range r.Audit {
		s.say("  - %s: %s", k.Name, wrap(k.Meaning, 90, "    "))
	}
	if len(r.Findings) > 0 {
		s.heading("What the reader found")
		for _, f := range r.Findings {
			s.say("  - %s: %s", f.Grade, wrap(f.String(), 94, "    "))
		}
	}
	s.warn(r.Warnings)
	return nil
}

// shownOf prints a quantity, or a dash where the record does not show it.
func shownOf[Q interface{ Text(int) string }](q *Q) string {
	if q == nil {
		return "-"
	}
	return (*q).Text(3)
}

func number(v *float64, unit string) string {
	if v == nil {
		return "-"
	}
	return strings.TrimSpace(quantity.Significant(*v, 4) + " " + unit)
}
