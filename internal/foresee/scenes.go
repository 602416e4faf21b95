package foresee

import (
	"bytes"
	"context"
	"embed"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/arrest/ensemble"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/traceio/casefile"
)

//go:embed scenes/*.yaml scenes/bands.json
var sceneFiles embed.FS

// Scene is a situation of the trade with ranges, and the band of forces that the model gives for it. It is an illustration, never what a
// person bears.
type Scene struct {
	Title     message.Sentence `json:"title"`
	Published message.Sentence `json:"published"` // what is said elsewhere, with its source; may be empty
	SceneBands
}

// SceneBands are the forces of a scene.
type SceneBands struct {
	ID        string  `json:"id"`
	Person    Band    `json:"person_N"`          // force in the chain at the person
	Anchor    Band    `json:"anchor_N"`          // at the anchor, or at the belayer's end of the rope
	Connector *Band   `json:"upper_connector_N"` // that the rope runs over; null without one
	Parts     float64 `json:"would_part"`        // share of the draws that pass a strength of the chain: the forces are those asked for
	Draws     int     `json:"draws"`
}

// Band is the middle nine tenths of the draws, and the one in the middle.
type Band struct {
	Low  quantity.Force `json:"low"`
	Mid  quantity.Force `json:"mid"`
	High quantity.Force `json:"high"`
}

// SceneReport is all scenes with what has to be said about them.
type SceneReport struct {
	Scenes   []Scene            `json:"scenes"`
	Warnings []message.Sentence `json:"warnings"`
	Cautions []string           `json:"cautions"`
}

// sceneTable are the scenes in order: what they are, and what is published about them. The numbers of their cases are starting values of the
// materials and ranges of common practice, no source.
func sceneTable() []Scene {
	leader := func() message.Sentence {
		return message.Say("live climbers, three fall factors: climber 2.5 to 4 kN, belayer 1.5 to 2 kN, upper connector 4 to 6 kN (from memory of a published study); upper connector 5.8 to 11.6 kN from soft to hard by calculation (after Taupin and Verdier)")
	}
	return []Scene{
		{SceneBands: SceneBands{ID: "step-off-above"}, Title: message.Say("stepping off above the anchor, slack in an HMPE sling (60 to 140 cm)"),
			Published: message.Say("lowest fall that broke a 1.2 m HMPE sling of 22 kN, girth-hitched to a rigid 80 kg: 0.5 m (published series, German)")},
		{SceneBands: SceneBands{ID: "hanging-below"}, Title: message.Say("hanging below the anchor, up to 40 cm of slack in an HMPE sling")},
		{SceneBands: SceneBands{ID: "leader-held-fast"}, Title: message.Say("leader's fall of 2 to 6 m on dynamic rope, the belayer holds fast"), Published: leader()},
		{SceneBands: SceneBands{ID: "leader-belay-slips"}, Title: message.Say("leader's fall of 2 to 6 m on dynamic rope, the belay slips at 1.5 to 3 kN"), Published: leader()},
		{SceneBands: SceneBands{ID: "leader-belayer-lifted"}, Title: message.Say("leader's fall of 2 to 6 m on dynamic rope, the belayer is lifted"), Published: leader()},
		{SceneBands: SceneBands{ID: "cowstail-sewn"}, Title: message.Say("sewn webbing cow's tail of 60 cm on a cable, fall factor 0.5 to 1"),
			Published: message.Say("sewn webbing at fall factor 1 can pass 15 kN; dynamic rope with a knot at each end is best (caving federations, 2006)")},
		{SceneBands: SceneBands{ID: "cowstail-knotted"}, Title: message.Say("cow's tail of 60 cm of dynamic rope, a knot at each end, on a cable, fall factor 0.5 to 1"),
			Published: message.Say("dynamic rope on a dynamic tail, 136 kg: 6 kN on the first drop, above 10 kN on the second (published series)")},
		{SceneBands: SceneBands{ID: "lanyard-absorber"}, Title: message.Say("lanyard with absorber, falling 1.5 to 3.5 m from a platform"),
			Published: message.Say("absorbers in practice 4 to 4.5 kN (an anchor maker's brochure); 2 of 20 rigid 100 kg drops above 6 kN (Carrion et al. 2020)")},
		{SceneBands: SceneBands{ID: "rescuer-and-casualty"}, Title: message.Say("rescuer and casualty, 140 to 200 kg, slack up to 1.1 m on a semi-static rope of 2 to 6 m"),
			Published: message.Say("a new semi-static rope, 100 kg, fall factor 0.3: below 6 kN by EN 1891 A, typically 4.5 to 5.5 kN (from memory)")},
	}
}

// SceneCase is the case of a scene, as YAML that simulate, ensemble and chain read.
func SceneCase(id string) ([]byte, error) {
	b, err := sceneFiles.ReadFile("scenes/" + id + ".yaml")
	if err != nil || strings.ContainsAny(id, "/\\") {
		var ids []string
		for _, s := range sceneTable() {
			ids = append(ids, s.ID)
		}
		return nil, fmt.Errorf("scene: %q is not one of %s", id, strings.Join(ids, ", "))
	}
	return b, nil
}

// sceneDraws is the number of draws behind the kept bands.
const sceneDraws = 512

// Scenes are all scenes with their kept bands, which the tests hold against new draws: nothing is computed to show them beside a campaign.
func Scenes() (*SceneReport, error) {
	b, err := sceneFiles.ReadFile("scenes/bands.json")
	if err != nil {
		return nil, fmt.Errorf("scenes: %w", err)
	}
	var kept []SceneBands
	if err := json.Unmarshal(b, &kept); err != nil {
		return nil, fmt.Errorf("scenes: %w", err)
	}
	list := sceneTable()
	for i := range list {
		at := slices.IndexFunc(kept, func(k SceneBands) bool { return k.ID == list[i].ID })
		if at < 0 {
			return nil, fmt.Errorf("scenes: %s has no kept band", list[i].ID)
		}
		list[i].SceneBands = kept[at]
	}
	return sceneReport(list), nil
}

// AskScenes computes the bands anew from n draws each.
func AskScenes(ctx context.Context, a *look.Access, n int) (*SceneReport, error) {
	if n < 20 || n > 100000 {
		return nil, fmt.Errorf("draws: %d are not possible; take from 20 to 100000", n)
	}
	list := sceneTable()
	for i := range list {
		var err error
		if list[i].SceneBands, err = bandsOf(ctx, list[i].ID, n); err != nil {
			return nil, fmt.Errorf("scene %s: %w", list[i].ID, stopped(err))
		}
		a.Progress("scenes", i+1, len(list))
	}
	return sceneReport(list), nil
}

func sceneReport(list []Scene) *SceneReport {
	return &SceneReport{Scenes: list, Cautions: drop.Cautions(), Warnings: []message.Sentence{
		message.Say("for illustration: what the model gives for ranges of common practice and starting values, no source; never what a person bears"),
		message.Say("a person is not a rigid mass: bands of rigid masses lie above what a person in a harness gives; here the person is two masses on a spring"),
		message.Say("a band is the middle nine tenths of the draws, all ranges drawn evenly and independently; a fall outside the ranges may give any force"),
	}}
}

// bandsOf draws the case of a scene n times.
func bandsOf(ctx context.Context, id string, n int) (SceneBands, error) {
	text, err := SceneCase(id)
	if err != nil {
		return SceneBands{}, err
	}
	plan, err := casefile.ReadPlan(id+".yaml", bytes.NewReader(text))
	if err != nil {
		return SceneBands{}, err
	}
	plan.Case.Unbroken = true
	w, err := ensemble.NewWorker(plan)
	if err != nil {
		return SceneBands{}, err
	}
	var person, anchor, connector []float64
	parts := 0
	for done := 0; done < n; done += ensemble.PartSize {
		size := min(ensemble.PartSize, n-done)
		w.Draw(done/ensemble.PartSize, size)
		for i := range size {
			c := w.Drawn(i)
			r, err := arrest.Run(ctx, c, arrest.Options{Tolerance: 1e-9})
			if err != nil {
				return SceneBands{}, err
			}
			person = append(person, r.PeakChain.SI())
			anchor = append(anchor, r.PeakChain.SI()*c.ShareOf(0))
			passes := false
			for k := range c.Chain {
				if c.Chain[k].Edge != nil {
					connector = append(connector, r.Elements[k].Peak.SI())
				}
				s := c.StrengthOf(k).SI()
				passes = passes || s > 0 && r.PeakChain.SI()*c.ShareOf(k) >= s
			}
			if passes {
				parts++
			}
		}
	}
	out := SceneBands{ID: id, Person: bandOf(person), Anchor: bandOf(anchor), Parts: float64(parts) / float64(n), Draws: n}
	if connector != nil {
		b := bandOf(connector)
		out.Connector = &b
	}
	return out, nil
}

// bandOf is the middle nine tenths, to ten newtons.
func bandOf(v []float64) Band {
	slices.Sort(v)
	at := func(p float64) quantity.Force {
		return quantity.Force(10 * math.Round(v[int(p*float64(len(v)-1)+0.5)]/10))
	}
	return Band{at(0.05), at(0.5), at(0.95)}
}
