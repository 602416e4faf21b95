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
	say
	*Document
	Lang          string
	Sections      []section
	Coverage      string // of intervals, in per cent
	Valid, Held   int
	Broke         int
	Slipped, Void int
	Found         []found
	Strengths     []strengthRow
	Efficiencies  []ratioRow
	Ratios        []ratioRow
	Groups        map[string][]drawn // drawings of the comparison by their place
	Evidence      []Drop
	Shared        []sharedWarning
	CSS           template.CSS
	MadeText      string
	Cautions      []string
	Plain         []paragraph
	Glossary      []term
	RigFacts      []fact
	SpecimenRows  []specimenRow
	MethodFacts   []fact
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
	s := say{d.In}
	v := &view{
		say: s, Document: d, Lang: d.In.Lang(), Sections: sections(), CSS: template.CSS(css), MadeText: d.Made.UTC().Format("2006-01-02 15:04 UTC"),
		Cautions: drop.Cautions(), Plain: plainWords(), Glossary: glossary(),
		RigFacts: d.Rig.facts(s), SpecimenRows: s.groupSpecimens(d.Specimens), MethodFacts: d.Method.facts(s), Groups: map[string][]drawn{},
	}
	if d.Made.IsZero() {
		v.MadeText = s.in.Say("not stated")
	}
	v.cells()
	v.summary()
	v.comparison()
	v.figures()
	v.drops()
	v.evidence()
	v.limits()
	v.audit()
	return v
}

func (r Rig) facts(s say) []fact {
	mass := s.stated(r.Mass.SI(), r.Mass)
	if r.Mass > 0 && r.MassU > 0 {
		mass = s.in.Say("%s (standard uncertainty %s)", s.in.Number(r.Mass.Text(4)), s.in.Number(r.MassU.Text(2)))
	}
	gravity := s.stated(r.Gravity.SI(), r.Gravity)
	if r.Gravity > 0 {
		gravity = s.in.Number(strings.Replace(r.Gravity.Text(6), "m/s2", "m/s²", 1))
		if r.GravitySource != "" {
			gravity += ", " + s.words(r.GravitySource)
		}
	}
	span := s.in.Say("not stated")
	if r.To > r.From {
		span = s.in.Say("%s to %s", s.in.Number(r.From.Text(3)), s.in.Number(r.To.Text(3)))
	}
	reference := s.in.Say("not stated")
	if r.ReferenceU > 0 {
		reference = s.in.Say("relative standard uncertainty") + " " + s.percent(r.ReferenceU.SI())
	}
	out := []fact{
		s.fact("Rig", s.notStated(r.Name)),
		s.fact("Mass", mass),
		s.fact("Fall height", s.in.Say("standard uncertainty %s", s.stated(r.FallU.SI(), r.FallU))),
		s.fact("Gravity", gravity),
		s.fact("Natural frequency of the load cell with its node", s.stated(r.Frequency.SI(), r.Frequency)),
		s.fact("Damping of the node", s.stated(r.Damping.SI(), r.Damping)),
		s.fact("Stiffness of anchor and load cell", s.stated(r.Stiffness.SI(), r.Stiffness)),
		s.fact("Amplifier, 3 dB", s.stated(r.AntiAlias.SI(), r.AntiAlias)),
		s.fact("Resolution", s.stated(r.Resolution.SI(), r.Resolution)),
		s.statedFact("Impact speed", r.SpeedMethod),
		s.fact("Load cell", s.notStated(r.LoadCell)),
		s.fact("Capacity", s.stated(r.Capacity.SI(), r.Capacity)),
		s.fact("Calibration certificate", s.notStated(r.Certificate)),
		s.fact("Calibrated on", s.notStated(r.Calibrated)),
		s.fact("Valid until", s.notStated(r.Expires)),
		s.fact("Calibrated range", span),
		s.statedFact("Calibration model", r.Model),
		s.statedFact("Residual standard deviation of the fit", r.FitResidual),
		s.statedFact("Test of the model", r.LackOfFit),
		s.fact("Reference force", reference),
	}
	for _, f := range r.More {
		out = append(out, fact{s.text(f.Name), s.text(f.Value)})
	}
	return out
}

// fact is a name with its value, ready to print.
type fact struct{ Name, Value template.HTML }

// fact has a value that is written already.
func (s say) fact(name, value string) fact {
	return fact{s.text(name), template.HTML(template.HTMLEscapeString(value))} //nolint:gosec // escaped
}

// statedFact has a value that is still to be said.
func (s say) statedFact(name, value string) fact { return fact{s.text(name), s.told(value)} }

func (m Method) facts(s say) []fact {
	coverage := s.in.Say("not stated")
	if m.Coverage > 0 {
		coverage = s.percent(m.Coverage)
	}
	out := []fact{
		s.fact("Reduction", s.notStated(m.Version)), s.statedFact("Filter", m.Filter), s.statedFact("Sampling", m.Sampling), s.statedFact("Zero", m.Zero),
		s.statedFact("Impact speed", m.Speed), s.fact("Coverage of uncertainties and intervals", coverage),
	}
	for _, f := range m.More {
		out = append(out, fact{s.text(f.Name), s.text(f.Value)})
	}
	return out
}

// specimenRow is specimens that differ in nothing but their ID.
type specimenRow struct {
	IDs []string
	Specimen
	LengthText, DiameterText, RatingText string
}

func (say say) groupSpecimens(all []Specimen) []specimenRow {
	var rows []specimenRow
	at := map[Specimen]int{}
	for _, s := range all {
		key := s
		key.ID = ""
		i, ok := at[key]
		if !ok {
			i = len(rows)
			at[key] = i
			rows = append(rows, specimenRow{Specimen: key, LengthText: say.stated(s.Length.SI(), s.Length), DiameterText: say.stated(s.Diameter.SI(), s.Diameter), RatingText: say.stated(s.Rating.SI(), s.Rating)})
		}
		rows[i].IDs = append(rows[i].IDs, s.ID)
	}
	return rows
}

type cellRow struct {
	Number  int
	DropIDs []string
	Levels  []string // by factor
	Name    string
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
					row.Levels[k] = together(v.name(l.Value))
					name = append(name, v.name(l.Value))
				}
			}
		}
		row.Name = strings.Join(name, ", ")
		for _, d := range v.Document.Drops {
			if d.Cell == row.Number {
				row.DropIDs = append(row.DropIDs, d.ID)
			}
		}
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
	Number   int
	SVG      template.HTML
	Caption  string
	Half     bool
	Invented bool
}

func (v *view) figures() {
	n := 0
	together := func(place string, figures []Figure) {
		for _, f := range figures {
			if f.Drawing != nil {
				n++
				v.Groups[place] = append(v.Groups[place], v.draw(f, n))
			}
		}
	}
	if k := v.Document.Comparison; k != nil {
		together("ratios", k.RatioFigures)
		together("strengths", k.Curves)
		defer func() { together("checks", k.CheckFigures) }() // these stand after the others
	}
	for _, f := range v.Document.Figures {
		if f.Drawing == nil {
			continue
		}
		n++
		if k := len(v.FigureGroups); k == 0 || v.FigureGroups[k-1].Name != f.Group {
			v.FigureGroups = append(v.FigureGroups, figureGroup{Name: f.Group})
		}
		g := &v.FigureGroups[len(v.FigureGroups)-1]
		g.Figures = append(g.Figures, v.draw(f, n))
	}
}

// draw numbers a drawing. It escapes what it is given; its bytes may stand in the page as they are.
func (v *view) draw(f Figure, n int) drawn {
	return drawn{Number: n, SVG: template.HTML(f.Drawing.SVG(fmt.Sprintf("figure%d", n))), Caption: f.Caption, Half: f.Half, Invented: v.Invented} //nolint:gosec // see above
}

type dropRow struct {
	Drop
	Condition int
	Record    int // number of its record in the list of records, 0 = none
}

// drops numbers the conditions under which peaks were measured, so that each peak can state its own.
func (v *view) drops() {
	condition := func(d Drop) int {
		if d.Peak == nil {
			return 0
		}
		text := v.condition(d)
		for i, c := range v.Conditions {
			if c == text {
				return i + 1
			}
		}
		v.Conditions = append(v.Conditions, text)
		return len(v.Conditions)
	}
	records := 0
	row := func(d Drop) dropRow {
		r := dropRow{Drop: d, Condition: condition(d)}
		if d.kept() {
			records++
			r.Record = records
		}
		return r
	}
	for _, d := range v.Document.Drops {
		v.DropRows = append(v.DropRows, row(d))
	}
	for _, d := range v.Document.CheckDrops {
		v.CheckRows = append(v.CheckRows, row(d))
	}
	for _, d := range v.everyDrop() {
		if d.Outcome == drop.Void {
			v.Voided = append(v.Voided, d)
		}
		for _, k := range d.Decisions {
			v.decide(d, k)
		}
		if d.kept() {
			v.Records = append(v.Records, d)
		}
	}
}

// kept tells that the drop's record is in the list of records.
func (d Drop) kept() bool { return d.Record != "" || d.SHA256 != "" }

// sharedWarning is a warning that many drops have, printed once.
type sharedWarning struct {
	Text  string
	Drops []string
}

// manyDrops is how many drops make a warning stand once for all.
const manyDrops = 4

// evidence takes out what many drops have in common.
func (v *view) evidence() {
	drops := map[string][]string{}
	for _, d := range v.everyDrop() {
		for _, w := range d.Warnings {
			drops[w] = append(drops[w], d.ID)
		}
	}
	said := map[string]bool{}
	for _, d := range v.everyDrop() {
		var own []string
		for _, w := range d.Warnings {
			switch {
			case len(drops[w]) < manyDrops:
				own = append(own, w)
			case !said[w]:
				said[w] = true
				v.Shared = append(v.Shared, sharedWarning{w, drops[w]})
			}
		}
		d.Warnings = own
		if len(d.Evidence)+len(d.Bias)+len(d.Warnings) > 0 {
			v.Evidence = append(v.Evidence, d)
		}
	}
}

func (v *view) everyDrop() []Drop {
	return append(append([]Drop(nil), v.Document.Drops...), v.Document.CheckDrops...)
}

func (s say) condition(d Drop) string {
	filter, speed := s.in.Say("not stated"), s.in.Say("not stated")
	if d.Filter != "" {
		filter = s.words(d.Filter)
	}
	if d.Speed != "" {
		speed = s.words(d.Speed)
	}
	return s.in.Say("sample rate %s; filter %s; rig frequency %s; impact speed %s", s.stated(d.Rate.SI(), d.Rate), filter, s.stated(d.RigRings.SI(), d.RigRings), speed)
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
		v.LimitsAgainst = v.in.Say("%s of drop %s", v.peak(&l.Peak, &l.Expanded, l.LowerBound), l.Drop)
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
					row.Verdicts[i] = v.brief(c)
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
func (s say) brief(c Check) string {
	mark := s.words(c.Verdict)
	switch c.Verdict {
	case Agrees:
		mark = "✓"
	case NotPossible:
		return none
	}
	// A check that agrees at more than 3 standard uncertainties asks for no more than expected, not for the
	// same: the distance says nothing there.
	if z, ok := c.ratio(); ok && (c.Verdict != Agrees || z <= 3) {
		mark += " " + s.in.Number(decimals(z, 1))
	}
	return mark
}
