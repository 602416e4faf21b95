package foresee

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/identify"
	"github.com/hardcatch/hardcatch/internal/jobs"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/plan"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
)

// LeftOutRecord is a drop that does not count for the campaign's own model.
type LeftOutRecord struct {
	Drop string           `json:"drop"`
	Why  message.Sentence `json:"why"`
}

// Own is a campaign's own model. The JSON names are stable: names are added, never changed.
type Own struct {
	Campaign string `json:"campaign"`
	Invented bool   `json:"invented"`
	*identify.Model
	Records  []LeftOutRecord `json:"records_left_out"`
	Cautions []string        `json:"cautions"`
	Head     string          `json:"head"`

	entered *look.Entered
	names   map[string]string // textile of a specimen
	factors []string          // that vary
}

// OwnQuestion says which drops count, and how long may be worked on them.
type OwnQuestion struct {
	Cells []string // words of the cells that count; none = all
	Seed  uint64
	Quick bool // only what predictions need
}

// Identify fits the campaign's own model to its records.
func Identify(ctx context.Context, a *look.Access, path string, q OwnQuestion) (out *Own, err error) {
	err = a.View(ctx, path, func(c *look.Entered, s store.Reader) error {
		out, err = identifyEntered(ctx, a, c, s, q)
		return err
	})
	return out, err
}

func identifyEntered(ctx context.Context, a *look.Access, c *look.Entered, s store.Reader, q OwnQuestion) (*Own, error) {
	out := &Own{Campaign: c.Info.Name, Invented: c.Info.Invented, Records: []LeftOutRecord{}, Cautions: drop.Cautions(), Head: c.Head.Hash.String(), entered: c, names: textileNames(c), factors: varying(c)}
	drops := out.choose(q)
	if !slices.ContainsFunc(drops, func(d drop.Drop) bool { return d.Role != drop.Check }) {
		return nil, message.Say("no drop of this campaign can be fitted: it takes records with a mass and a length of the specimen, of drops that are not void").Error()
	}
	kept, err := s.Reductions(ctx)
	if err != nil {
		return nil, err
	}
	byDrop := map[string]store.Reduction{}
	for _, r := range kept {
		byDrop[r.Value.Drop] = r.Value
	}
	records, done := make([]identify.Record, len(drops)), 0
	err = jobs.Local(ctx, len(drops), func() func(context.Context, int) error {
		return func(ctx context.Context, i int) error {
			w, err := a.WholeOf(ctx, s, byDrop[drops[i].ID])
			if err != nil {
				return err
			}
			records[i] = out.record(drops[i], w)
			return nil
		}
	}, func(int) bool {
		done++
		a.Progress("records", done, len(drops))
		return true
	})
	if err != nil {
		return nil, fmt.Errorf("identify: %w", err)
	}
	seed := q.Seed
	if seed == 0 {
		seed = 1
	}
	in := identify.Input{Records: records, Seed: seed, Quick: q.Quick, Rig: identify.Rig{Stiffness: rigStiffness(c.Rig).SI(), NodeMass: c.Rig.NodeMass.SI(), DampingRatio: c.Rig.Damping.SI()}}
	usual := arrest.StartingRig()
	if in.Rig.NodeMass == 0 {
		in.Rig.NodeMass = usual.NodeMass.SI()
	}
	if in.Rig.DampingRatio == 0 {
		in.Rig.DampingRatio = usual.DampingRatio.SI()
	}
	out.Model, err = identify.Fit(ctx, in)
	if err != nil {
		return nil, fmt.Errorf("identify: %w", stopped(err))
	}
	out.Diagnostics.LeftOut = len(out.Records)
	return out, nil
}

// choose lists the drops that count, and says why others do not.
func (o *Own) choose(q OwnQuestion) []drop.Drop {
	c := o.entered
	var out []drop.Drop
	used := map[string]bool{}
	leave := func(d drop.Drop, why message.Sentence) { o.Records = append(o.Records, LeftOutRecord{d.ID, why}) }
	for _, d := range c.Taken() {
		r := c.Reduction[d.ID]
		outcome, _ := look.Standing(r, c.Decisions[d.ID])
		steel := d.Role == drop.Check
		again := used[d.Specimen.ID] || d.Prior > 0
		if outcome != drop.Void {
			used[d.Specimen.ID] = true
		}
		switch {
		case r == nil:
			leave(d, message.Say("it has no record"))
		case outcome == drop.Void:
			leave(d, message.Say("it is void"))
		case c.Entry(d).LeftOut != "":
			leave(d, message.Say("finding %s leaves it out until it is settled", message.Own(c.Entry(d).LeftOut)))
		case outcome == drop.Slipped:
			leave(d, message.Say("it slipped: what held it is not in the model"))
		case d.Specimen.Length <= 0 || d.Mass <= 0 && c.Rig.Mass <= 0:
			leave(d, message.Say("the length of the specimen or the mass is not known"))
		case d.Fall <= 0:
			leave(d, message.Say("it has no free fall"))
		case steel && !ofSet("steel-wire", d.Specimen):
			leave(d, message.Say("a check drop on a link that is not of steel"))
		case again && !steel:
			leave(d, message.Say("its specimen was dropped before: what that left behind is not in the model"))
		case r.AuditVerdict == reduce.Disagrees:
			leave(d, message.Say("its audit disagrees"))
		case !r.ScaleKnown:
			leave(d, message.Say("the scale of its force is not known"))
		case !steel && !o.asked(d, q.Cells):
			leave(d, message.Say("its cell was not asked for"))
		default:
			out = append(out, d)
		}
	}
	return out
}

// asked tells whether the cell of a drop has all the words of one of the cells asked for.
func (o *Own) asked(d drop.Drop, cells []string) bool {
	if len(cells) == 0 {
		return true
	}
	name := strings.ToLower(o.cell(d))
	return slices.ContainsFunc(cells, func(cell string) bool {
		for w := range strings.SplitSeq(strings.ToLower(cell), ",") {
			if !strings.Contains(name, strings.TrimSpace(w)) {
				return false
			}
		}
		return true
	})
}

// cell names the cell of a drop by the factors that vary.
func (o *Own) cell(d drop.Drop) string {
	levels := d.Levels()
	var words []string
	for _, f := range o.factors {
		if l := levels[f]; l != "" {
			words = append(words, l)
		}
	}
	if len(words) == 0 {
		return "all"
	}
	return strings.Join(words, ", ")
}

// varying are the factors that vary among the trial drops.
func varying(c *look.Entered) []string {
	var trial []drop.Drop
	for _, e := range c.Drops {
		if e.Role != drop.Check {
			trial = append(trial, e)
		}
	}
	return drop.VaryingFactors(trial)
}

// textileNames says of every specimen of which textile it is: material and construction, and conditioning where a campaign has several of a material.
func textileNames(c *look.Entered) map[string]string {
	conditions := map[string]map[string]bool{}
	base := func(s drop.Specimen) string {
		return strings.TrimSuffix(strings.TrimSpace(s.Material)+", "+strings.TrimSpace(s.Construction), ", ")
	}
	for _, d := range c.Drops {
		b := base(d.Specimen)
		if conditions[b] == nil {
			conditions[b] = map[string]bool{}
		}
		conditions[b][strings.TrimSpace(d.Specimen.Conditioning)] = true
	}
	out := map[string]string{}
	for _, d := range c.Drops {
		b := base(d.Specimen)
		name := b
		if k := strings.TrimSpace(d.Specimen.Conditioning); len(conditions[b]) > 1 && k != "" {
			name += ", " + k
		}
		out[d.Specimen.ID] = name
	}
	return out
}

// setOf is the starting set of a specimen's material, "" when there is none.
func setOf(s drop.Specimen) string {
	for _, set := range arrest.StartingSetNames() {
		if ofSet(set, s) {
			return set
		}
	}
	return ""
}

// record is a drop as the model takes it.
func (o *Own) record(d drop.Drop, w *reduce.WholeReduction) identify.Record {
	r := w.Reduction
	set := r.Settings
	out := identify.Record{
		Drop: d.ID, Cell: o.cell(d), Specimen: d.Specimen.ID, Textile: o.names[d.Specimen.ID], Set: setOf(d.Specimen), Steel: d.Role == drop.Check,
		Mass: set.Mass.SI(), Fall: set.Fall.SI(), FallU: set.FallU.SI(), Length: d.Specimen.Length.SI(), Gravity: set.Gravity.SI(),
		Rate: w.Rate.SI(), Force: w.Force, Taut: (w.Taut - w.Start).SI(), End: (w.End - w.Start).SI(), Peak: r.Peak.SI(), PeakU: r.PeakU.SI(),
	}
	if out.Gravity == 0 {
		g, _ := o.entered.Rig.G()
		out.Gravity = g.SI()
	}
	if plan.IsTied(d.Specimen.Knot) {
		out.Knot = strings.ToLower(strings.TrimSpace(d.Specimen.Knot))
	}
	outcome, _ := look.Standing(r, o.entered.Decisions[d.ID])
	out.Broke = outcome == drop.Broke || w.EndKind == "break"
	if len(r.Unmeasured) > 0 {
		out.Lost = make([]bool, len(w.Force))
		for _, u := range r.Unmeasured {
			for i := max(u.From, 0); i < u.To && i < len(out.Lost); i++ {
				out.Lost[i] = true
			}
		}
	}
	return out
}

// Says names the model in a line: how many drops it stands on.
func (o *Own) Says() message.Sentence {
	return message.Say("this campaign's model, %d drops", o.Diagnostics.Drops)
}

// forceU is the relative standard uncertainty of the force scale, from the peaks' budgets: the least of them.
func (o *Own) forceU() float64 {
	best := 0.0
	for _, d := range o.entered.Drops {
		r := o.entered.Reduction[d.ID]
		if r == nil || !(r.Peak > 0) || !r.ScaleKnown {
			continue
		}
		if u := r.PeakU.SI() / r.Peak.SI(); best == 0 || u < best {
			best = u
		}
	}
	return best
}
