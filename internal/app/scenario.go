package app

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math/rand/v2"
	"strconv"
	"strings"

	"github.com/hardcatch/hardcatch/internal/acquire/simdev"
	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// The demonstration's scenario is invented: no such depot, lanyards or results exist.
const (
	scenarioName     = "Four winters in the shaft house (invented)"
	scenarioQuestion = "May lanyards that hung four winters in the shaft house stay in service, and can ends tied with a figure-eight stand in for sewn eyes?"
	scenarioNotes    = "Invented scenario: a mine-rescue depot that does not exist asks about lanyards that do not exist. Every record was made by the simulated rig. No number here describes a real product."
	scenarioMark     = "invented"
	scenarioSeed     = 20260302
)

// scenarioAsked are the questions of the scenario with what counts as yes, asked before the first drop.
const scenarioAsked = `# Invented scenario, no real product. Entered before the first drop with: hardcatch ask FILE --from questions.yaml
questions:
  - name: four winters
    question: May lanyards with sewn eyes that hung four winters stay in service?
    of: strength
    quantile: 5 %
    where: {conditioning: four winters, knot: sewn eyes}
    at_least: 15 kN
  - name: figure-eight
    question: Can an end tied with a figure-eight stand in for a sewn eye, with four fifths of its strength?
    of: strength ratio
    quantile: median
    where: {knot: figure-eight, conditioning: four winters}
    against: {knot: sewn eyes}
    at_least: 0.8
  - name: connector
    question: Does a drop by half its length on new sewn eyes stay below what a connector of 25 kN is rated for?
    of: peak force
    quantile: 95 %
    where: {knot: sewn eyes, conditioning: new, fall: 450 mm}
    at_most: 25 kN
`

// simulated is one drop of the scenario: what is written in the list, and what the simulated rig does.
type simulated struct {
	listed  drop.Drop
	shot    simdev.Drop
	cell    simdev.Cell
	dialect simdev.Dialect
	void    string // reason for which the demonstration voids it afterwards
}

// scenarioCell is the load cell of the invented rig: 50 kN, 2 mV/V, slightly curved.
var scenarioCell = simdev.Cell{Capacity: 50000, Sensitivity: 0.002, Curve: 0.0006, Bits: 24, Noise: 6, Hum: 4, Offset: 35, Drift: 1.5}

type scenarioTextile struct {
	material, construction, set string
	stiffness                   float64 // over the starting set's
	aged                        float64 // strength left after four winters
	knot                        float64 // efficiency of a figure-eight
}

var (
	polyester = scenarioTextile{"polyester", "webbing 25 mm", "polyester-webbing", 0.62, 0.76, 0.60}
	aramid    = scenarioTextile{"aramid", "cord 6 mm", "aramid-cord", 0.45, 0.80, 0.55}
)

// scenario lays out 64 drops in 16 cells, three that go wrong, and check drops, shuffled over two days.
func scenario() ([]simulated, error) {
	rng := rand.New(rand.NewPCG(scenarioSeed, 1))
	var all []simulated
	n := 0
	specimen := func(x scenarioTextile, condition, knot string, fall quantity.Length) (simulated, error) {
		n++
		s, err := trialDrop(rng, n, x, condition, knot, fall)
		return s, err
	}
	for _, x := range []scenarioTextile{polyester, aramid} {
		for _, condition := range []string{"new", "four winters"} {
			for _, knot := range []string{"sewn eyes", "figure-eight"} {
				for _, fall := range []quantity.Length{0.45, 0.9, 1.35} {
					if !chosen(x, knot, fall) {
						continue
					}
					for range 4 {
						s, err := specimen(x, condition, knot, fall)
						if err != nil {
							return nil, err
						}
						all = append(all, s)
					}
				}
			}
		}
	}
	mishaps := []struct {
		fall  quantity.Length
		alter func(*simulated)
	}{
		{0.9, func(s *simulated) {
			// The release sticks: the mass hangs on for a moment and falls from lower down.
			s.shot.Case.Fall, s.shot.Pluck = 0.55, 180
			s.void = "the release stuck: by the audit the mass arrived more slowly than a free fall from the stated height"
		}},
		{0.9, func(s *simulated) {
			s.cell.Range = 9000
			s.void = "the amplifier's range was set too low and the record is cut off at the top"
		}},
		{0.45, func(s *simulated) {
			s.shot.Case.Mass = 80
			s.void = "the 80 kg mass hung on the hook, 100 kg was entered: the tail at rest does not fit"
		}},
	}
	for _, m := range mishaps {
		s, err := specimen(polyester, "new", "sewn eyes", m.fall)
		if err != nil {
			return nil, err
		}
		// A sound specimen, so that nothing but the mishap shows.
		s.shot.Case.Chain[1].Textile.Strength = 30000
		m.alter(&s)
		all = append(all, s)
	}
	rng.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
	return withChecks(rng, all)
}

// chosen tells the 16 cells that the campaign tests of the 24 there could be: every fall with polyester
// in sewn eyes; 0.45 m and 0.9 m with tied polyester; aramid sewn from 0.45 m and 0.9 m, tied from 0.45 m.
func chosen(x scenarioTextile, knot string, fall quantity.Length) bool {
	switch {
	case x.material == polyester.material && knot == "sewn eyes":
		return true
	case x.material == polyester.material || knot == "sewn eyes":
		return fall < 1
	}
	return fall < 0.5
}

func trialDrop(rng *rand.Rand, n int, x scenarioTextile, condition, knot string, fall quantity.Length) (simulated, error) {
	t, ok := arrest.StartingSet(x.set)
	if !ok {
		return simulated{}, fmt.Errorf("demonstration: there is no starting set %q", x.set)
	}
	t.Length = 0.9
	stiff := quantity.Force(x.stiffness * (1 + 0.04*rng.NormFloat64()))
	t.E1, t.E2, t.E3 = t.E1*stiff, t.E2*stiff, t.E3*stiff
	t.Strength *= quantity.Force(1 + 0.05*rng.NormFloat64())
	if condition != "new" {
		t.Degradation = quantity.Ratio(x.aged * (1 + 0.08*rng.NormFloat64()))
	}
	t.BreakRamp, t.Friction = 0.0006, 0.25
	chain := []arrest.Element{{Kind: arrest.KindRig, Rig: scenarioRig()}, {Kind: arrest.KindTextile, Name: "lanyard", Textile: &t}}
	if knot != "sewn eyes" {
		chain = append(chain, arrest.Element{Kind: arrest.KindKnot, Name: knot, Knot: &arrest.Knot{F0: 500, FL: 8500, Slip: quantity.Length(0.045 * (1 + 0.1*rng.NormFloat64())), Power: 2, Lock: 3e6, Efficiency: quantity.Ratio(x.knot * (1 + 0.06*rng.NormFloat64()))}})
	}
	batch := "P-new"
	if condition != "new" {
		batch = "shaft house"
	}
	return simulated{
		listed: drop.Drop{
			Specimen: drop.Specimen{ID: fmt.Sprintf("s%02d", n), Material: x.material, Construction: x.construction, Length: 0.9, Knot: knot, Batch: batch, Conditioning: condition, Rating: 22000},
			Fall:     fall, Role: drop.Trial, Scenario: scenarioMark,
		},
		shot: simdev.Drop{Case: arrest.Case{Mass: 100, Fall: fall, Until: 4, Chain: chain}, Before: 0.4, Seed: scenarioSeed + uint64(n)},
		cell: scenarioCell,
	}, nil
}

func scenarioRig() *arrest.Rig {
	return &arrest.Rig{Stiffness: 2e6, NodeMass: 0.5, DampingRatio: 0.03}
}

// withChecks puts a check drop on a steel link at the start and end of each day, and gives names,
// dates and loggers.
func withChecks(rng *rand.Rand, trials []simulated) ([]simulated, error) {
	half := (len(trials) + 1) / 2
	var all []simulated
	for today := range 2 {
		part := trials[today*half : min(len(trials), (today+1)*half)]
		for _, at := range []string{"morning", "evening"} {
			if at == "evening" {
				all = append(all, part...)
			}
			c, err := checkDrop(rng, today, at)
			if err != nil {
				return nil, err
			}
			all = append(all, c)
		}
		for i := range all {
			if all[i].listed.Taken == "" {
				all[i].listed.Taken = []string{"2026-03-02", "2026-03-03"}[today]
			}
		}
	}
	for i := range all {
		s := &all[i]
		s.listed.Order = i + 1
		s.listed.ID = fmt.Sprintf("d%02d", i+1)
		s.dialect = simdev.Dialect(i % simdev.Dialects)
		s.shot.Rate = []quantity.Frequency{5000, 10000, 5000}[s.dialect]
		s.listed.Record = fmt.Sprintf("%s-%s.csv", s.listed.ID, []string{"a", "b", "c"}[s.dialect])
	}
	return all, nil
}

func checkDrop(rng *rand.Rand, today int, at string) (simulated, error) {
	t, ok := arrest.StartingSet("steel-wire")
	if !ok {
		return simulated{}, fmt.Errorf("demonstration: there is no starting set for the steel link")
	}
	t.Length, t.Strength = 0.9, 0
	seed := uint64(today)*2 + uint64(len(at)) + rng.Uint64()%1000
	return simulated{
		listed: drop.Drop{Specimen: drop.Specimen{ID: "steel link", Material: "steel", Construction: "link", Length: 0.9, Conditioning: "reference"}, Fall: 0.1, Role: drop.Check, Scenario: scenarioMark, Prior: 2*today + map[string]int{"morning": 0, "evening": 1}[at]},
		shot:   simdev.Drop{Case: arrest.Case{Mass: 100, Fall: 0.1, Until: 4, Chain: []arrest.Element{{Kind: arrest.KindRig, Rig: scenarioRig()}, {Kind: arrest.KindTextile, Name: "steel link", Textile: &t}}}, Before: 0.4, Seed: scenarioSeed + seed},
		cell:   scenarioCell,
	}, nil
}

// scenarioList writes the drop list as a person would keep it.
func scenarioList(all []simulated) ([]byte, error) {
	var b bytes.Buffer
	b.WriteString("# Invented scenario: simulated records, no real product.\n")
	w := csv.NewWriter(&b)
	rows := [][]string{{"order", "drop", "specimen", "role", "material", "construction", "length [mm]", "knot", "conditioning", "batch", "rating", "fall", "taken", "operator", "record", "prior", "scenario"}}
	for _, s := range all {
		d := s.listed
		rating := ""
		if d.Specimen.Rating > 0 {
			rating = d.Specimen.Rating.Text(3)
		}
		rows = append(rows, []string{strconv.Itoa(d.Order), d.ID, d.Specimen.ID, string(d.Role), d.Specimen.Material, d.Specimen.Construction, strconv.FormatFloat(d.Specimen.Length.SI()*1000, 'f', 0, 64),
			d.Specimen.Knot, d.Specimen.Conditioning, d.Specimen.Batch, rating, strconv.FormatFloat(d.Fall.SI(), 'f', -1, 64) + " m", d.Taken, "bench", d.Record, strconv.Itoa(d.Prior), d.Scenario})
	}
	if err := w.WriteAll(rows); err != nil {
		return nil, fmt.Errorf("demonstration: %w", err)
	}
	return b.Bytes(), nil
}

// scenarioRigFile writes the rig with the calibration that the simulated cell would get.
func scenarioRigFile() []byte {
	var b strings.Builder
	b.WriteString(`# Invented scenario: no such rig exists.
name: shaft tower (invented)
mass: 100 kg
mass_u: 50 g
fall_u: 4 mm
latitude: 50.9 deg
stiffness: 2 MN/m
node_mass: 0.5 kg
damping: 0.03
antialias: 2 kHz
speed: from the free-fall height, measured to the slack specimen's lower end
invented: true
load_cell:
  serial: INV-50-7
  capacity: 50 kN
  calibration:
    certificate: INV-2026-014
    date: 2026-01-19
    expires: 2027-01-18
    degree: 2
    input: mV/V
    reference_u: 0.05 %
    readings:
`)
	applied, shown := scenarioCell.Readings(10)
	for run := range 2 {
		for i := range applied {
			// Two runs that differ by what a good cell repeats to.
			scatter := 2e-5 * float64((i*7+run*5)%5-2) / 2
			fmt.Fprintf(&b, "      - {applied: %s kN, shown: %.6f}\n", strconv.FormatFloat(applied[i].SI()/1000, 'f', -1, 64), shown[i]+scatter)
		}
	}
	return []byte(b.String())
}
