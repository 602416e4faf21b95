package report

import (
	"fmt"
	"html/template"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
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
