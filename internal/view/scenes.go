package view

import (
	"context"
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/figure"
	"github.com/hardcatch/hardcatch/internal/foresee"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// SceneView is a campaign's peaks beside bands of what falls of the trade give, for illustration.
type SceneView struct {
	*foresee.SceneReport
	Campaign string      `json:"campaign"` // empty without one
	Invented bool        `json:"invented"`
	Peaks    []ScenePeak `json:"campaign_peaks"`
	Drawing  *Drawing    `json:"-"`
}

// ScenePeak is what the peaks of a cell of the campaign lie between. Where a specimen let go or a record was cut off, the arrest force is at
// least that.
type ScenePeak struct {
	Cell    string         `json:"cell"`
	Drops   int            `json:"drops"` // that are valid and were measured
	Low     quantity.Force `json:"low_N"`
	High    quantity.Force `json:"high_N"`
	AtLeast bool           `json:"at_least"`
}

// BesideScenes puts the campaign in the file at path beside the scenes.
func BesideScenes(ctx context.Context, a *look.Access, path string, s *foresee.SceneReport, in message.Locale) (*SceneView, error) {
	r, err := ResultsOf(ctx, a, path)
	if err != nil {
		return nil, err
	}
	return besideScenes(r, s, in), nil
}

// ScenesOf puts an open campaign beside the scenes.
func ScenesOf(c *Campaign, in message.Locale) (*SceneView, error) {
	s, err := foresee.Scenes()
	if err != nil {
		return nil, err
	}
	return besideScenes(c.Results, s, in), nil
}

// ScenesAlone are the scenes without a campaign.
func ScenesAlone(s *foresee.SceneReport, in message.Locale) *SceneView {
	return besideScenes(nil, s, in)
}

func besideScenes(r *Results, s *foresee.SceneReport, in message.Locale) *SceneView {
	v := &SceneView{SceneReport: s, Peaks: []ScenePeak{}}
	if r != nil {
		v.Campaign, v.Invented = r.Campaign, r.Invented
		for _, c := range r.Cells {
			if p, ok := scenePeak(c); ok {
				v.Peaks = append(v.Peaks, p)
			}
		}
	}
	v.Drawing = drawn(v.figure(in), "scenes")
	return v
}

// besideScenes gives the report its peaks beside the scenes, where there are any.
func (d *Report) besideScenes(r *Results, in message.Locale, draw bool) error {
	s, err := foresee.Scenes()
	if err != nil {
		return fmt.Errorf("report: %w", err)
	}
	if v := besideScenes(r, s, in); len(v.Peaks) > 0 {
		if d.Scenes = v; !draw {
			v.Drawing = nil
		}
	}
	return nil
}

// scenePeak is the range of a cell's peaks, and whether there are any.
func scenePeak(c CellResult) (ScenePeak, bool) {
	p := ScenePeak{Cell: c.Name(), Low: quantity.Force(math.Inf(1))}
	for _, d := range c.Drops {
		if d.Peak == nil || d.Outcome == drop.Void || d.Outcome == "" {
			continue
		}
		p.Drops++
		p.Low, p.High = min(p.Low, *d.Peak), max(p.High, highEnd(&d))
		p.AtLeast = p.AtLeast || d.LowerBound
	}
	return p, p.Drops > 0
}

// shownPeaks is how many cells have a row of their own in the drawing: all, or none of many.
func shownPeaks(p []ScenePeak) int {
	if len(p) > 6 {
		return 0
	}
	return len(p)
}

// figure draws bands and peaks on one axis.
func (v *SceneView) figure(in message.Locale) figure.Intervals {
	f := figure.Intervals{
		Frame: figure.Frame{Title: in.Say("Beside what falls give"), In: in, Width: panelWidth, Note: in.Say("For illustration: never what a person bears.")},
		Axis:  in.Say("Force (kN)"), Same: math.NaN(), Means: map[figure.Certainty]string{},
	}
	kilo := func(f quantity.Force) float64 { return f.SI() / 1000 }
	row := func(group, name string, lo, mid, hi float64, form string) {
		amount := in.Say(form, in.Number(quantity.Significant(lo, 3)), in.Number(quantity.Significant(hi, 3)))
		f.Rows = append(f.Rows, figure.Interval{Group: group, Name: name, Amount: amount, Value: mid, Lo: lo, Hi: hi, Seen: math.NaN()})
	}
	const plain = "%s to %s kN"
	group := in.Say("This campaign, rigid mass, lowest to highest peak")
	for _, p := range v.Peaks[:shownPeaks(v.Peaks)] {
		row(group, in.Names(p.Cell), kilo(p.Low), math.NaN(), kilo(p.High), map[bool]string{false: plain, true: "at least %s to %s kN"}[p.AtLeast])
		group = ""
	}
	if rest := v.Peaks[shownPeaks(v.Peaks):]; len(rest) > 0 {
		all := rest[0]
		for _, p := range rest {
			all.Low, all.High, all.AtLeast = min(all.Low, p.Low), max(all.High, p.High), all.AtLeast || p.AtLeast
		}
		row(group, in.Say("%d cells together", len(rest)), kilo(all.Low), math.NaN(), kilo(all.High), map[bool]string{false: plain, true: "at least %s to %s kN"}[all.AtLeast])
	}
	for _, s := range v.Scenes {
		title := in.Tell(s.Title)
		row(title, in.Say("at the person"), kilo(s.Person.Low), kilo(s.Person.Mid), kilo(s.Person.High), plain)
		if s.Connector != nil {
			row("", in.Say("on the upper connector"), kilo(s.Connector.Low), kilo(s.Connector.Mid), kilo(s.Connector.High), plain)
			row("", in.Say("at the belayer"), kilo(s.Anchor.Low), kilo(s.Anchor.Mid), kilo(s.Anchor.High), plain)
		}
	}
	return f
}
