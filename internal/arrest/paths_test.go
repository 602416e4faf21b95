package arrest

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// path is one of the ways to what comes of a drop. Every one is held to the plainest, Run with Taylor series at its own
// tolerance, and where it follows another closely, to that as well.
type path struct {
	name  string
	takes func(c *Case) bool // false = it leaves such chains to others
	run   func(c *Case) (Summary, []Event, error)
	like  string  // name of the path that it follows up to rounding, or ""
	bits  bool    // it gives the same bits as that
	every int     // only every so manyth case, where it is slow
	rel   float64 // relative tolerance against Run
}

// few says how many of a path's drops may differ more from the one that it follows: where a rate grazes zero, rounding
// decides whether it is seen to turn. They then differ by what the path promises.
const few = 0.01

// paths lists the ways with what they promise: 1e-6 of the peak, 1e-7 by the other methods of integration.
func paths() []path {
	var alone, portable, short, shortLanes Engine
	lane := func(wide bool) func(c *Case) (Summary, []Event, error) {
		e := new(Engine)
		return func(c *Case) (s Summary, events []Event, err error) {
			withVectors(true, wide, func() { err = e.inLanes(octetRun{e: e, single: c, to: &s, indices: e.first[:]}) })
			return s, e.octet.drops[0].m.track.events, err
		}
	}
	one := func(e *Engine) func(c *Case) (Summary, []Event, error) {
		return func(c *Case) (s Summary, _ []Event, err error) {
			if err = e.general(c, &s); c.edgeAt() >= 0 {
				return s, nil, err // Run's own
			}
			return s, e.m.track.events, err
		}
	}
	by := func(m Method) func(c *Case) (Summary, []Event, error) {
		return func(c *Case) (Summary, []Event, error) { return plainly(c, Options{Method: m}) }
	}
	whole := func(e *Engine, c *Case) bool { // the short way gets to the end
		var s Summary
		if !e.fast.fits(c) {
			return false
		}
		e.fast.eps = e.fastTolerance()
		e.fast.drop(c, &s)
		return !s.unfinished(c)
	}
	var lanes solver
	carried := func(c *Case) bool {
		(&Engine{}).setUpForSummary(&lanes, c)
		_, _, ok := lanes.couple()
		return ok
	}
	always := func(*Case) bool { return true }
	list := []path{
		{name: "alone", takes: always, run: one(&alone), every: 1, rel: 1e-6},
		{name: "alone, portable", takes: always, like: "alone", every: 1, rel: 1e-6, run: func(c *Case) (s Summary, events []Event, err error) {
			withVectors(false, false, func() { s, events, err = one(&portable)(c) })
			return s, events, err
		}},
		{name: "short", takes: func(c *Case) bool { return whole(&short, c) }, every: 1, rel: 1e-6, run: func(c *Case) (s Summary, _ []Event, err error) {
			return s, nil, short.short(c, &s)
		}},
		{name: "dopri", takes: nonStiff, run: by(Dopri), every: 10, rel: 1e-6},
		{name: "radau", takes: nonStiff, run: by(Radau), every: 20, rel: 1e-6},
	}
	if !lockstepWorks {
		return list
	}
	list = append(list,
		path{name: "short lanes", takes: func(c *Case) bool { return whole(&shortLanes, c) }, like: "short", every: 1, rel: 1e-6, run: func(c *Case) (Summary, []Event, error) {
			out := make([]Summary, 1)
			err := shortLanes.Batch([]Case{*c}, out)
			return out[0], nil, err
		}},
		path{name: "lanes, AVX2", takes: carried, run: lane(false), like: "alone", every: 1, rel: 1e-6})
	if wideWorks {
		list = append(list, path{name: "lanes, AVX-512", takes: carried, run: lane(true), like: "lanes, AVX2", bits: true, every: 1, rel: 1e-6})
	}
	return list
}

// nonStiff leaves out what the stepwise methods run past or take minutes for.
func nonStiff(c *Case) bool {
	for i := range c.Chain {
		if a := c.Chain[i].Absorber; a != nil && a.Ripple > 0 {
			return false // they run past its jumps, and their balance of energy says so
		}
		if x := c.Chain[i].Textile; x != nil && x.E1 == 0 {
			return false
		}
	}
	return c.Until <= 1.5
}

// plainly is Run, as a Summary.
func plainly(c *Case, o Options) (Summary, []Event, error) {
	one := *c
	one.Drops = 1
	var m solver
	if err := one.Validate(); err != nil {
		return Summary{}, nil, err
	}
	m.compile(&one, o)
	m.limit = balanceLimit
	m.reset()
	m.probe.begin(&m, nil)
	m.felt.begin()
	if err := m.run(context.Background()); err != nil {
		return Summary{}, nil, err
	}
	var s Summary
	m.summary(&s)
	return s, m.track.sorted(), nil
}

// pathCases is the table that goes through every path: chosen cases first, then drawn ones.
func pathCases(t *testing.T, drawn int) (names []string, cases []Case) {
	add := func(name string, c Case) {
		names, cases = append(names, name), append(cases, c)
	}
	for name, c := range readCases(t) {
		add(name, *c)
	}
	slices.Sort(names)
	for i, name := range names {
		cases[i] = *readCases(t)[name]
	}
	files, err := filepath.Glob("testdata/graveyard/*.json")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range files {
		add(filepath.Base(name), readCase(t, name))
	}
	for i, d := range raceDrops() {
		add(fmt.Sprintf("race %d", i+1), d.c)
	}
	for _, set := range StartingSetNames() {
		add(set, *tradeCase(t, set, 1, 2e6))
	}
	add("every element", *full())
	around := func(more ...Element) Case { // over a connector, between two textiles
		e := Element{Kind: KindEdge, Edge: &Edge{Friction: 0.2, Angle: 2.5}}
		return Case{Mass: 80, Fall: 0.6, Until: 0.8, Chain: append(more, textile(0.5, 1e5, 2e5, 0, Branch{E: 15e3, Tau: 0.05}), e, textile(0.8, 8e4, 0, 3e5))}
	}
	add("edge", around())
	add("edge and node", around(Element{Kind: KindRig, Rig: &Rig{Stiffness: 2e6, NodeMass: 0.5, DampingRatio: 0.03}}))
	r := rand.New(rand.NewPCG(11, 12))
	for i := range drawn {
		add(fmt.Sprintf("short way %d", i), randomRace(r))
		add(fmt.Sprintf("full set %d", i), randomFull(r))
		add(fmt.Sprintf("lanes %d", i), rapid.Custom(drawFull).Example(i))
		add(fmt.Sprintf("lanes again %d", i), rapid.Custom(drawFull).Example(drawn+i))
	}
	return names, cases
}

// Every path gives what the plainest gives, on all cases that it takes; what it leaves to others is counted.
func TestEveryPathAgrees(t *testing.T) {
	drawn := 40
	if testing.Short() {
		drawn = 8
	}
	names, cases := pathCases(t, drawn)
	type kept struct {
		s      Summary
		events []Event
		ok     bool
	}
	found := map[string][]kept{}
	plain := make([]kept, len(cases))
	for i := range cases {
		s, events, err := plainly(&cases[i], Options{})
		if err != nil {
			t.Fatalf("%s: %v", names[i], err)
		}
		plain[i] = kept{s, events, true}
	}
	for _, p := range paths() {
		own := make([]kept, len(cases))
		taken, worst, grazes := 0, 0.0, 0
		for i := range cases {
			c := &cases[i]
			if i%p.every != 0 && c.edgeAt() < 0 || !p.takes(c) {
				continue
			}
			taken++
			s, events, err := p.run(c)
			if err != nil {
				t.Errorf("%s by %s: %v", names[i], p.name, err)
				continue
			}
			own[i] = kept{s, slices.Clone(events), true}
			if unlike := asPromised(&s, &plain[i].s, p.rel, flat(c)); unlike != "" {
				t.Errorf("%s by %s: %s", names[i], p.name, unlike)
			}
			worst = max(worst, math.Abs(s.PeakForce.SI()/plain[i].s.PeakForce.SI()-1))
			if p.like == "" || !found[p.like][i].ok {
				continue
			}
			want := &found[p.like][i]
			if p.bits {
				if s != want.s {
					t.Errorf("%s by %s: %+v\nby %s %+v", names[i], p.name, s, p.like, want.s)
				}
				continue
			}
			if flat(c) {
				s.PeakTime, s.Second.T = want.s.PeakTime, want.s.Second.T // anywhere on the plateau
			}
			unlike := summaryUnlike(&s, &want.s, 1)
			if unlike == "" && events != nil {
				unlike = eventsUnlike(flat(c), events, want.events)
			}
			if unlike != "" {
				grazes++
				t.Logf("%s by %s: %s", names[i], p.name, unlike)
			}
		}
		found[p.name] = own
		t.Logf("%-16s %4d of %d cases, %4d left to others; largest error of a peak %.1e; %d differ more from %q", p.name, taken, len(cases), len(cases)-taken, worst, grazes, p.like)
		if taken*p.every < len(cases)/8 {
			t.Errorf("%s took only %d of %d cases", p.name, taken, len(cases))
		}
		if float64(grazes) > 1+few*float64(taken) {
			t.Errorf("%s: %d of %d cases differ from %s by more than rounding", p.name, grazes, taken, p.like)
		}
	}
}

// asPromised tells what a summary has otherwise than the plainest path: peaks and places to rel, what comes after many
// bounces to what they leave of it.
func asPromised(got, want *Summary, rel float64, plateau bool) string {
	if got.Outcome != want.Outcome || got.Broke != want.Broke || got.Certainty != want.Certainty {
		return fmt.Sprintf("%s of %d, %s; plainly %s of %d, %s", got.Outcome, got.Broke, got.Certainty, want.Outcome, want.Broke, want.Certainty)
	}
	bounces := math.Pow(2, float64(min(want.Arrests, 20)))
	type value struct {
		name           string
		got, want      float64
		loose, nothing float64 // times rel; absolute
	}
	list := []value{
		{"peak", got.PeakForce.SI(), want.PeakForce.SI(), 1, 1e-5}, {"chain", got.PeakChain.SI(), want.PeakChain.SI(), 1, 1e-5},
		{"lowest", got.Lowest.SI(), want.Lowest.SI(), 1, 1e-9}, {"break", got.BrokeTime.SI(), want.BrokeTime.SI(), 1, 1e-8},
		{"end", got.End.Position.SI(), want.End.Position.SI(), 100, 5e-6 * bounces}, {"its time", got.End.T.SI(), want.End.T.SI(), 1, 1e-9},
	}
	if !plateau && math.Abs(got.PeakTime.SI()-want.PeakTime.SI()) < want.Second.T.SI()/2 || want.Arrests < 2 && !plateau {
		list = append(list, value{"time", got.PeakTime.SI(), want.PeakTime.SI(), 100, 1e-6})
	}
	if got.Arrests == want.Arrests {
		list = append(list, value{"second", got.Second.Force.SI(), want.Second.Force.SI(), 10, 0.01})
	}
	var unlike []string
	for _, v := range list {
		if !near(v.got, v.want, rel*v.loose, v.nothing) {
			unlike = append(unlike, fmt.Sprintf("%s %.10g, plainly %.10g", v.name, v.got, v.want))
		}
	}
	return strings.Join(unlike, "; ")
}

// wayOf names the way that a batch takes for a case.
func wayOf(c *Case) string {
	var e Engine
	var m solver
	e.setUpForSummary(&m, c)
	_, _, carried := m.couple()
	switch {
	case e.fast.fits(c):
		return "short way"
	case carried:
		return "lanes"
	case m.pointwise:
		return string(m.method)
	}
	return "one by one"
}

// Every starting set takes the way that docs/model.md says, by the rig and what else is in the chain. The race and a
// textile without friction and set take the short way; a rig that is too stiff for series goes by Radau.
func TestWaysOfTheStartingSets(t *testing.T) {
	doc, err := os.ReadFile("../../docs/model.md")
	if err != nil {
		t.Fatal(err)
	}
	knot, rippled, body := StartingKnot(), StartingAbsorber(), startingBody()
	smooth := rippled
	smooth.Ripple = 0
	for _, set := range StartingSetNames() {
		var row []string
		for _, node := range []quantity.Mass{0.5, 0} {
			for _, more := range []*Element{nil, {Kind: KindKnot, Knot: &knot}, {Kind: KindAbsorber, Absorber: &smooth}, {Kind: KindAbsorber, Absorber: &rippled}, {Kind: KindBody, Body: &body}} {
				c := tradeCase(t, set, 1, 2e6)
				if c.Chain[0].Rig.NodeMass = node; node == 0 {
					c.Chain[0].Rig.DampingRatio = 0
				}
				if more != nil {
					c.Chain = append(c.Chain, *more)
				}
				row = append(row, wayOf(c))
			}
		}
		if want := "| " + set + " | " + strings.Join(row, " | ") + " |"; !strings.Contains(string(doc), want) {
			t.Errorf("docs/model.md lacks %s", want)
		}
	}
	if got := wayOf(&raceDrops()[0].c); got != "short way" {
		t.Errorf("race: %s", got)
	}
	stiff := sling()
	stiff.Chain[0].Rig.NodeMass, stiff.Chain[0].Rig.Stiffness = 1e-5, 1e9
	if got := wayOf(&stiff); got != string(Radau) {
		t.Errorf("stiff rig: %s", got)
	}
}
