package render

import (
	"fmt"
	"html/template"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/view"
)

// page is a report with what the page needs worked out.
type page struct {
	say
	*view.Report
	Lang          string
	Sections      []section
	Coverage      string // of intervals, in per cent
	Valid, Held   int
	Broke         int
	Slipped, Void int
	Found         []found
	StrengthRows  []strengthRow
	Efficiencies  []ratioRow
	RatioRows     []ratioRow
	Groups        map[string][]drawn // drawings of the comparison by their place
	Evidence      []view.ReportedDrop
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
	NextSpecimens []numberedText
	LimitGroups   []limitGroup
	Sources       []string // of the limits, numbered from 1
	LimitCells    []string
	LimitRows     []limitRow
	CheckNames    []string
	AuditRows     []auditRow
	FindingRows   []findingRow
	Voided        []view.ReportedDrop
	DecisionRows  []decisionRow
	Records       []view.ReportedDrop
}

func newPage(d *view.Report, css string) *page {
	s := say{d.In}
	v := &page{
		say: s, Report: d, Lang: d.In.Lang(), Sections: sections(), CSS: template.CSS(css), MadeText: d.Made.UTC().Format("2006-01-02 15:04 UTC"),
		Cautions: drop.Cautions(), Plain: plainWords(), Glossary: glossary(),
		RigFacts: rigFacts(s, d.Rig), SpecimenRows: s.groupSpecimens(d.Specimens), MethodFacts: methodFacts(s, d.Method), Groups: map[string][]drawn{},
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

func rigFacts(s say, r view.ReportedRig) []fact {
	g, from := r.G()
	cal := r.LoadCell.Calibration
	mass := s.stated(r.Mass.SI(), r.Mass)
	if r.Mass > 0 && r.MassU > 0 {
		mass = s.in.Say("%s (standard uncertainty %s)", s.in.Number(r.Mass.Text(4)), s.in.Number(r.MassU.Text(2)))
	}
	gravity := s.stated(g.SI(), g)
	if g > 0 {
		gravity = s.in.Number(strings.Replace(g.Text(6), "m/s2", "m/s²", 1))
		if from != "" {
			gravity += ", " + s.in.Text(from)
		}
	}
	span := s.in.Say("not stated")
	if r.Fit != nil && r.Fit.ForceMax > r.Fit.ForceMin {
		span = s.in.Say("%s to %s", s.in.Number(r.Fit.ForceMin.Text(3)), s.in.Number(r.Fit.ForceMax.Text(3)))
	}
	reference := s.in.Say("not stated")
	if cal.ReferenceU > 0 {
		reference = s.in.Say("relative standard uncertainty") + " " + s.percent(cal.ReferenceU.SI())
	}
	model, residual, lack := r.Facts()
	ringing := r.NodeFrequency()
	return []fact{
		s.fact("Rig", s.notStated(r.Name)),
		s.fact("Mass", mass),
		s.fact("Fall height", s.in.Say("standard uncertainty %s", s.stated(r.FallU.SI(), r.FallU))),
		s.fact("Gravity", gravity),
		s.fact("Natural frequency of the load cell with its node", s.stated(ringing.SI(), ringing)),
		s.fact("Damping of the node", s.stated(r.Damping.SI(), r.Damping)),
		s.fact("Stiffness of anchor and load cell", s.stated(r.Stiffness.SI(), r.Stiffness)),
		s.fact("Amplifier, 3 dB", s.stated(r.AntiAlias.SI(), r.AntiAlias)),
		s.fact("Resolution", s.stated(r.Resolution.SI(), r.Resolution)),
		s.statedFact("Impact speed", r.SpeedMethod),
		s.fact("Load cell", s.notStated(r.LoadCell.Serial)),
		s.fact("Capacity", s.stated(r.LoadCell.Capacity.SI(), r.LoadCell.Capacity)),
		s.fact("Calibration certificate", s.notStated(cal.Certificate)),
		s.fact("Calibrated on", s.notStated(cal.Date)),
		s.fact("Valid until", s.notStated(cal.Expires)),
		s.fact("Calibrated range", span),
		s.statedFact("Calibration model", model),
		s.statedFact("Residual standard deviation of the fit", residual),
		s.statedFact("Test of the model", lack),
		s.fact("Reference force", reference),
	}
}

// fact is a name with its value, ready to print.
type fact struct{ Name, Value template.HTML }

// fact has a value that is written already.
func (s say) fact(name, value string) fact {
	return fact{s.in.Markup(name), template.HTML(template.HTMLEscapeString(value))} //nolint:gosec // escaped
}

// statedFact has a value that is still to be said.
func (s say) statedFact(name, value string) fact { return fact{s.in.Markup(name), s.told(value)} }

func methodFacts(s say, m view.Method) []fact {
	coverage, version, zero, sampling, speed := s.in.Say("not stated"), "", "", "", ""
	if m.Reduction != nil {
		version, speed, zero = m.Version, m.Settings.SpeedMethod, "mean of the quiet stretch before the rise; its uncertainty from block means"
		sampling = strings.Join(m.Rates, ", ") + "; peak interpolated by a parabola"
		if m.Coverage > 0 {
			coverage = s.percent(m.Coverage)
		}
	}
	out := []fact{
		s.fact("Reduction", s.notStated(version)), s.statedFact("Filter", strings.Join(m.Filters, "; ")), s.statedFact("Sampling", sampling), s.statedFact("Zero", zero),
		s.statedFact("Impact speed", speed), s.fact("Coverage of uncertainties and intervals", coverage),
	}
	if m.Reduction != nil {
		out = append(out, fact{s.in.Markup("steps shown"), s.in.Markup("those of " + m.Record + "; every drop's are kept in the campaign file")})
	}
	return out
}

// specimenRow is specimens that differ in nothing but their ID.
type specimenRow struct {
	IDs []string
	drop.Specimen
	Prior                                int // earlier drops
	LengthText, DiameterText, RatingText string
}

func (s say) groupSpecimens(all []drop.Drop) []specimenRow {
	type key struct {
		drop.Specimen
		prior int
	}
	var rows []specimenRow
	at := map[key]int{}
	for _, d := range all {
		x := d.Specimen
		x.ID = ""
		k := key{x, d.Prior}
		i, ok := at[k]
		if !ok {
			i = len(rows)
			at[k] = i
			rows = append(rows, specimenRow{Specimen: x, Prior: d.Prior, LengthText: s.stated(x.Length.SI(), x.Length), DiameterText: s.stated(x.Diameter.SI(), x.Diameter), RatingText: s.stated(x.Rating.SI(), x.Rating)})
		}
		rows[i].IDs = append(rows[i].IDs, d.Specimen.ID)
	}
	return rows
}

type cellRow struct {
	Number  int
	DropIDs []string
	Values  []string // levels, by factor
	Names   string   // levels in one line
	view.CellResult
}

func (v *page) cells() {
	v.Factors = view.Factors(v.Report.Cells)
	for i, c := range v.Report.Cells {
		row := cellRow{Number: i + 1, CellResult: c, Values: make([]string, len(v.Factors))}
		var name []string
		for k, f := range v.Factors {
			row.Values[k] = none
			if l, ok := c.Levels[f]; ok {
				row.Values[k] = together(v.name(l))
				name = append(name, v.name(l))
			}
		}
		row.Names = strings.Join(name, ", ")
		for _, d := range v.Report.Drops {
			if d.Cell == row.Number {
				row.DropIDs = append(row.DropIDs, d.Drop)
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

func (v *page) figures() {
	n := 0
	stand := func(place, caption string, half bool, drawings ...*view.Drawing) {
		for _, d := range drawings {
			if d != nil {
				n++
				v.Groups[place] = append(v.Groups[place], v.draw(view.Figure{Drawing: d.Of, Caption: caption, Half: half}, n))
			}
		}
	}
	if k := v.Comparison; k != nil {
		stand("ratios", "Ratios with their 95 % intervals, from the regression over all drops that takes bounds into account.", true, k.Figures.Effects()...)
		stand("strengths", "Shares that hold, with the 95 % interval of the Weibull fit as a band; marks: what broke, and what held and is at least that strong.", true, k.Figures.Curves...)
		defer func() {
			stand("checks", "Check drops between their control limits, with the weighted average and the end of the certificate.", false, v.CheckChart)
		}() // these stand after the others
	}
	if x := v.Report.Scenes; x != nil {
		defer stand("scenes", "Peaks of the campaign and bands of scenes on one axis; the mark is the middle draw of a scene.", false, x.Drawing)
	}
	for _, f := range v.Report.Figures {
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
func (v *page) draw(f view.Figure, n int) drawn {
	return drawn{Number: n, SVG: template.HTML(f.Drawing.SVG(fmt.Sprintf("figure%d", n))), Caption: f.Caption, Half: f.Half, Invented: v.Invented} //nolint:gosec // see above
}
