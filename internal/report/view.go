package report

import (
	"fmt"
	"html/template"
	"sort"
	"strings"

	"hardcatch/internal/drop"
)

// view is a document with what the page needs worked out.
type view struct {
	*Document
	CSS           template.CSS
	MadeText      string
	Cautions      []string
	Plain         []paragraph
	Glossary      []term
	RigFacts      []Fact
	SpecimenRows  []specimenRow
	MethodFacts   []Fact
	Factors       []string
	CellRows      []cellRow
	FigureGroups  []figureGroup
	Conditions    []string // of the peaks, numbered from 1
	DropRows      []dropRow
	CheckRows     []dropRow
	LimitsAgainst string
	LimitGroups   []limitGroup
	Sources       []string // of the limits, numbered from 1
	LimitCells    []string
	LimitRows     []limitRow
	CheckNames    []string
	AuditRows     []auditRow
	FindingRows   []findingRow
	Voided        []Drop
	DecisionRows  []decisionRow
	Records       []Drop
}

func newView(d *Document, css string) *view {
	v := &view{
		Document: d, CSS: template.CSS(css), MadeText: d.Made.UTC().Format("2006-01-02 15:04 UTC"),
		Cautions: drop.Cautions(), Plain: plainWords(), Glossary: glossary(),
		RigFacts: d.Rig.facts(), SpecimenRows: groupSpecimens(d.Specimens), MethodFacts: d.Method.facts(),
	}
	if d.Made.IsZero() {
		v.MadeText = "not stated"
	}
	v.cells()
	v.figures()
	v.drops()
	v.limits()
	v.audit()
	return v
}

func (r Rig) facts() []Fact {
	mass := stated(r.Mass.SI(), r.Mass)
	if r.Mass > 0 && r.MassU > 0 {
		mass = fmt.Sprintf("%s (standard uncertainty %s)", r.Mass.Text(4), r.MassU.Text(2))
	}
	gravity := stated(r.Gravity.SI(), r.Gravity)
	if r.Gravity > 0 {
		gravity = strings.Replace(r.Gravity.Text(6), "m/s2", "m/s²", 1)
		if r.GravitySource != "" {
			gravity += ", " + r.GravitySource
		}
	}
	span := "not stated"
	if r.To > r.From {
		span = r.From.Text(3) + " to " + r.To.Text(3)
	}
	reference := "not stated"
	if r.ReferenceU > 0 {
		reference = "relative standard uncertainty " + percent(r.ReferenceU.SI())
	}
	out := []Fact{
		{"Rig", notStated(r.Name)},
		{"Mass", mass},
		{"Fall height", "standard uncertainty " + stated(r.FallU.SI(), r.FallU)},
		{"Gravity", gravity},
		{"Natural frequency of the load cell with its node", stated(r.Frequency.SI(), r.Frequency)},
		{"Damping of the node", stated(r.Damping.SI(), r.Damping)},
		{"Stiffness of anchor and load cell", stated(r.Stiffness.SI(), r.Stiffness)},
		{"Amplifier, 3 dB", stated(r.AntiAlias.SI(), r.AntiAlias)},
		{"Resolution", stated(r.Resolution.SI(), r.Resolution)},
		{"Impact speed", notStated(r.SpeedMethod)},
		{"Load cell", notStated(r.LoadCell)},
		{"Capacity", stated(r.Capacity.SI(), r.Capacity)},
		{"Calibration certificate", notStated(r.Certificate)},
		{"Calibrated on", notStated(r.Calibrated)},
		{"Valid until", notStated(r.Expires)},
		{"Calibrated range", span},
		{"Calibration model", notStated(r.Model)},
		{"Residual standard deviation of the fit", notStated(r.FitResidual)},
		{"Test of the model", notStated(r.LackOfFit)},
		{"Reference force", reference},
	}
	return append(out, r.More...)
}

func (m Method) facts() []Fact {
	coverage := "not stated"
	if m.Coverage > 0 {
		coverage = percent(m.Coverage)
	}
	out := []Fact{
		{"Reduction", notStated(m.Version)}, {"Filter", notStated(m.Filter)}, {"Sampling", notStated(m.Sampling)}, {"Zero", notStated(m.Zero)},
		{"Impact speed", notStated(m.Speed)}, {"Coverage of uncertainties and intervals", coverage},
	}
	return append(out, m.More...)
}

// specimenRow is specimens that differ in nothing but their ID.
type specimenRow struct {
	IDs []string
	Specimen
	LengthText, DiameterText, RatingText string
}

func groupSpecimens(all []Specimen) []specimenRow {
	var rows []specimenRow
	at := map[Specimen]int{}
	for _, s := range all {
		key := s
		key.ID = ""
		i, ok := at[key]
		if !ok {
			i = len(rows)
			at[key] = i
			rows = append(rows, specimenRow{Specimen: key, LengthText: stated(s.Length.SI(), s.Length), DiameterText: stated(s.Diameter.SI(), s.Diameter), RatingText: stated(s.Rating.SI(), s.Rating)})
		}
		rows[i].IDs = append(rows[i].IDs, s.ID)
	}
	return rows
}

type cellRow struct {
	Number int
	Levels []string // by factor
	Name   string
	Cell
}

func (v *view) cells() {
	for _, c := range v.Document.Cells {
		for _, l := range c.Levels {
			if !contains(v.Factors, l.Name) {
				v.Factors = append(v.Factors, l.Name)
			}
		}
	}
	for i, c := range v.Document.Cells {
		row := cellRow{Number: i + 1, Cell: c, Levels: make([]string, len(v.Factors))}
		var name []string
		for k, f := range v.Factors {
			row.Levels[k] = none
			for _, l := range c.Levels {
				if l.Name == f {
					row.Levels[k] = together(l.Value)
					name = append(name, l.Value)
				}
			}
		}
		row.Name = strings.Join(name, ", ")
		v.CellRows = append(v.CellRows, row)
	}
}

// together keeps a short value on one line.
func together(s string) string {
	if len(s) <= 14 {
		return strings.ReplaceAll(s, " ", "\u00a0")
	}
	return s
}

func contains(list []string, s string) bool {
	for _, l := range list {
		if l == s {
			return true
		}
	}
	return false
}

type figureGroup struct {
	Name    string
	Figures []drawn
}

type drawn struct {
	Number  int
	SVG     template.HTML
	Caption string
	Half    bool
}

func (v *view) figures() {
	n := 0
	for _, f := range v.Document.Figures {
		if f.Drawing == nil {
			continue
		}
		n++
		if k := len(v.FigureGroups); k == 0 || v.FigureGroups[k-1].Name != f.Group {
			v.FigureGroups = append(v.FigureGroups, figureGroup{Name: f.Group})
		}
		g := &v.FigureGroups[len(v.FigureGroups)-1]
		// A drawing escapes what it is given; its bytes may stand in the page as they are.
		svg := template.HTML(f.Drawing.SVG(fmt.Sprintf("figure%d", n)))
		g.Figures = append(g.Figures, drawn{Number: n, SVG: svg, Caption: f.Caption, Half: f.Half})
	}
}

type dropRow struct {
	Drop
	Condition int
}

// drops numbers the conditions under which peaks were measured, so that each peak can state its own.
func (v *view) drops() {
	condition := func(d Drop) int {
		if d.Peak == nil {
			return 0
		}
		text := d.condition()
		for i, c := range v.Conditions {
			if c == text {
				return i + 1
			}
		}
		v.Conditions = append(v.Conditions, text)
		return len(v.Conditions)
	}
	for _, d := range v.Document.Drops {
		v.DropRows = append(v.DropRows, dropRow{d, condition(d)})
	}
	for _, d := range v.Document.CheckDrops {
		v.CheckRows = append(v.CheckRows, dropRow{d, condition(d)})
	}
	for _, d := range v.everyDrop() {
		if d.Outcome == drop.Void {
			v.Voided = append(v.Voided, d)
		}
		for _, k := range d.Decisions {
			v.decide(d, k)
		}
		if d.Record != "" || d.SHA256 != "" {
			v.Records = append(v.Records, d)
		}
	}
}

func (v *view) everyDrop() []Drop {
	return append(append([]Drop(nil), v.Document.Drops...), v.Document.CheckDrops...)
}

func (d Drop) condition() string {
	filter := notStated(d.Filter)
	return fmt.Sprintf("sample rate %s; filter %s; rig frequency %s; impact speed %s", stated(d.Rate.SI(), d.Rate), filter, stated(d.RigRings.SI(), d.RigRings), notStated(d.Speed))
}

// decisionRow is decisions that differ in nothing but drop and time. The decisions on a drop that has more
// than one keep rows of their own, in their order.
type decisionRow struct {
	Drops    []string
	Proposed string
	Last     string // time of the last
	single   bool
	Decision
}

func (v *view) decide(d Drop, k Decision) {
	for i := range v.DecisionRows {
		r := &v.DecisionRows[i]
		same := r.Decision
		same.At = k.At
		if same == k && r.Proposed == d.Proposed && len(d.Decisions) == 1 && r.single {
			r.Drops = append(r.Drops, d.ID)
			r.At, r.Last = min(r.At, k.At), max(r.Last, r.At, k.At)
			return
		}
	}
	v.DecisionRows = append(v.DecisionRows, decisionRow{Drops: []string{d.ID}, Proposed: d.Proposed, Last: k.At, single: len(d.Decisions) == 1, Decision: k})
}

type limitGroup struct {
	Verdict string
	Limits  []sourcedLimit
}

// sourcedLimit is a limit with the number of its source in the list below the table.
type sourcedLimit struct {
	Limit
	Number int
}

type limitRow struct {
	Limit
	Signs []string // by cell
}

func (v *view) limits() {
	order := []string{BrokeBelow, Exceeds, WithinReach, StaysBelow}
	for _, l := range v.Document.Limits {
		if !contains(order, l.Verdict) {
			order = append(order, l.Verdict)
		}
	}
	for _, verdict := range order {
		g := limitGroup{Verdict: verdict}
		for _, l := range v.Document.Limits {
			if l.Verdict == verdict {
				g.Limits = append(g.Limits, sourcedLimit{l, v.source(l.Source)})
			}
		}
		sort.SliceStable(g.Limits, func(i, j int) bool { return g.Limits[i].Value < g.Limits[j].Value })
		if len(g.Limits) > 0 {
			v.LimitGroups = append(v.LimitGroups, g)
		}
	}
	if len(v.Document.Limits) > 0 {
		l := v.Document.Limits[0]
		v.LimitsAgainst = fmt.Sprintf("%s of drop %s", peak(&l.Peak, &l.Expanded, l.LowerBound), l.Drop)
	}
	v.limitsByCell()
}

// source numbers the sources of limits in order of first use, from 1.
func (v *view) source(s string) int {
	for i, known := range v.Sources {
		if known == s {
			return i + 1
		}
	}
	v.Sources = append(v.Sources, s)
	return len(v.Sources)
}

// limitsByCell makes the table of limits that at least one cell exceeds or comes within reach of.
func (v *view) limitsByCell() {
	type key struct{ name, edition, kind string }
	var rows []limitRow
	touched := []bool{}
	for c, cell := range v.Document.Cells {
		v.LimitCells = append(v.LimitCells, fmt.Sprint(c+1))
		for _, l := range cell.Limits {
			at := -1
			for i, r := range rows {
				if (key{r.Name, r.Edition, r.Kind}) == (key{l.Name, l.Edition, l.Kind}) && r.Value == l.Value {
					at = i
				}
			}
			if at < 0 {
				at = len(rows)
				rows = append(rows, limitRow{Limit: l, Signs: make([]string, len(v.Document.Cells))})
				touched = append(touched, false)
			}
			rows[at].Signs[c] = limitSign(l.Verdict)
			touched[at] = touched[at] || l.Verdict != StaysBelow
		}
	}
	for i, r := range rows {
		if touched[i] {
			v.LimitRows = append(v.LimitRows, r)
		}
	}
	sort.SliceStable(v.LimitRows, func(i, j int) bool { return v.LimitRows[i].Value < v.LimitRows[j].Value })
}

func limitSign(verdict string) string {
	switch verdict {
	case Exceeds:
		return "▲"
	case WithinReach:
		return "≈"
	case StaysBelow:
		return "·"
	case BrokeBelow:
		return "▽"
	}
	return verdict
}

type auditRow struct {
	Drop
	Verdicts []string // by check
}

type findingRow struct {
	Drop string
	Void bool
	Check
}

func (v *view) audit() {
	for _, d := range v.everyDrop() {
		for _, c := range d.Checks {
			if !contains(v.CheckNames, c.Name) {
				v.CheckNames = append(v.CheckNames, c.Name)
			}
		}
	}
	for _, d := range v.everyDrop() {
		row := auditRow{Drop: d, Verdicts: make([]string, len(v.CheckNames))}
		for i, name := range v.CheckNames {
			row.Verdicts[i] = none
			for _, c := range d.Checks {
				if c.Name == name {
					row.Verdicts[i] = c.brief()
				}
			}
		}
		if len(d.Checks) > 0 {
			v.AuditRows = append(v.AuditRows, row)
		}
		for _, c := range d.Checks {
			if v.EveryCheck || c.Verdict == Doubtful || c.Verdict == Disagrees {
				v.FindingRows = append(v.FindingRows, findingRow{d.ID, d.Outcome == drop.Void, c})
			}
		}
	}
}

// brief is a verdict with the distance in standard uncertainties where there is one.
func (c Check) brief() string {
	mark := c.Verdict
	switch c.Verdict {
	case Agrees:
		mark = "✓"
	case NotPossible:
		return none
	}
	// A check that agrees at more than 3 standard uncertainties asks for no more than expected, not for the
	// same: the distance says nothing there.
	if z, ok := c.ratio(); ok && (c.Verdict != Agrees || z <= 3) {
		mark += " " + decimals(z, 1)
	}
	return mark
}
