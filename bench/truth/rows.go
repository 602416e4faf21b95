package truth

import (
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"sort"
	"strings"
)

const gravity = 9.80665 // m/s^2, standard; the true one of the invented tower is the same

// row draws a fall with its rig. What it leaves zero is drawn for every row alike.
type row struct {
	name string
	rate float64 // Hz, when the options give none; 0 = 10 kHz
	draw func(r *rand.Rand, s *shot)
}

// shot is a drop before it is computed.
type shot struct {
	fall  Fall
	chain chain
	// breakAt is the strength as a share of the largest force that the specimen would have seen, 0 = it holds.
	breakAt float64
	after   float64 // s that the record goes on after taut
	known   bool    // the rig file states the node
}

func between(r *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }

// spread is between, even in the logarithm.
func spread(r *rand.Rand, lo, hi float64) float64 { return lo * math.Pow(hi/lo, r.Float64()) }

var rows = []row{
	{name: "zener", draw: zener},
	{name: "soft", draw: soft},
	{name: "viscous", draw: viscous},
	{name: "friction", draw: friction},
	{name: "webbing", draw: webbing},
	{name: "break", draw: func(r *rand.Rand, s *shot) { either(r, s); breaking(r, s) }},
	{name: "break-other", draw: func(r *rand.Rand, s *shot) { another(r, s); breaking(r, s) }},
	{name: "break-318Hz", draw: func(r *rand.Rand, s *shot) { either(r, s); breaking(r, s); anchored(r, s, 318) }},
	{name: "node-318Hz", draw: func(r *rand.Rand, s *shot) { either(r, s); anchored(r, s, 318) }},
	{name: "node-150Hz", draw: func(r *rand.Rand, s *shot) { either(r, s); anchored(r, s, 150) }},
	{name: "hum", draw: hum},
	{name: "ringing", draw: ringing},
	{name: "short-100kg", rate: 200, draw: func(r *rand.Rand, s *shot) { short(r, s, 100, 0.022) }},
	{name: "short-10kg", rate: 600, draw: func(r *rand.Rand, s *shot) { short(r, s, 10, 0.007) }},
}

// Rows names the rows in order.
func Rows() []string {
	var names []string
	for _, r := range rows {
		names = append(names, r.name)
	}
	return names
}

// zener is a standard linear solid: an arrest of 30 to 90 ms.
func zener(r *rand.Rand, s *shot) {
	p := &s.fall.Specimen
	p.Length = between(r, 0.6, 1.5)
	p.E1 = spread(r, 40e3, 150e3)
	p.EM, p.Tau = p.E1*between(r, 0.2, 0.6), spread(r, 0.01, 0.06)
	s.fall.Mass = between(r, 60, 120)
	s.fall.Height = p.Length * between(r, 0.4, 1.5)
}

// soft has 8 kN per unit strain, as a dynamic rope: an arrest of some tenths of a second.
func soft(r *rand.Rand, s *shot) {
	p := &s.fall.Specimen
	p.Length = between(r, 1, 3)
	p.E1 = 8e3
	p.EM, p.Tau = p.E1*between(r, 0.2, 0.5), spread(r, 0.05, 0.15)
	s.fall.Mass = between(r, 60, 100)
	s.fall.Height = p.Length * between(r, 0.3, 1)
	s.after = 6
}

// viscous is a spring with a dashpot beside it, so that the force steps up when the specimen comes taut.
func viscous(r *rand.Rand, s *shot) {
	p := &s.fall.Specimen
	p.Length = between(r, 0.6, 1.5)
	p.E1 = spread(r, 40e3, 150e3)
	s.fall.Mass = between(r, 60, 120)
	p.Dashpot = 2 * between(r, 0.05, 0.2) * math.Sqrt(p.E1/p.Length*s.fall.Mass)
	s.fall.Height = p.Length * between(r, 0.4, 1.5)
}

// friction loads on a steeper line than it unloads.
func friction(r *rand.Rand, s *shot) {
	p := &s.fall.Specimen
	p.Length = between(r, 0.6, 1.5)
	p.E1 = spread(r, 60e3, 150e3)
	p.Friction, p.EF = between(r, 0.05, 0.2), spread(r, 400e3, 1000e3)
	s.fall.Mass = between(r, 60, 120)
	s.fall.Height = p.Length * between(r, 0.4, 1.2)
}

// webbing is stiff and stiffens further.
func webbing(r *rand.Rand, s *shot) {
	p := &s.fall.Specimen
	p.Length = between(r, 0.5, 1.2)
	p.E1, p.E3 = spread(r, 60e3, 200e3), spread(r, 300e3, 8000e3)
	p.EM, p.Tau = between(r, 10e3, 40e3), spread(r, 0.02, 0.08)
	s.fall.Mass = between(r, 60, 120)
	s.fall.Height = p.Length * between(r, 0.3, 1)
}

// either is a standard linear solid or stiff webbing.
func either(r *rand.Rand, s *shot) {
	if r.IntN(2) == 0 {
		zener(r, s)
	} else {
		webbing(r, s)
	}
}

// another is soft, viscous or rubs.
func another(r *rand.Rand, s *shot) {
	after := s.after
	switch r.IntN(3) {
	case 0:
		soft(r, s)
	case 1:
		viscous(r, s)
	default:
		friction(r, s)
	}
	s.after = after
}

// breaking lets the force drop within 0.5 to 3 ms at half to nine tenths of what the specimen would have borne.
func breaking(r *rand.Rand, s *shot) {
	s.breakAt = between(r, 0.5, 0.95)
	s.fall.Specimen.Collapse = spread(r, 0.5e-3, 3e-3)
}

// anchored puts a node of a frequency on an anchor of 2 MN/m under the load cell; the rig file states it.
func anchored(r *rand.Rand, s *shot, frequency float64) {
	const stiffness = 2e6
	w := 2 * math.Pi * frequency
	s.fall.Rig = Rig{Stiffness: stiffness, NodeMass: stiffness / (w * w), Damping: between(r, 0.02, 0.05)}
	s.known = true
}

func hum(r *rand.Rand, s *shot) {
	zener(r, s)
	s.chain.hum, s.chain.humPhase = between(r, 20, 60), between(r, 0, 2*math.Pi)
}

// ringing strikes a node of low damping with a step of force at taut.
func ringing(r *rand.Rand, s *shot) {
	zener(r, s)
	s.fall.Specimen.Dashpot = 2 * between(r, 0.02, 0.06) * math.Sqrt(s.fall.Specimen.E1/s.fall.Specimen.Length*s.fall.Mass)
	anchored(r, s, spread(r, 100, 300))
	s.fall.Rig.Damping = between(r, 0.005, 0.02)
}

// short is an arrest of a given length, half a period of a stiff spring; gravity and a little damping change that by a few per cent.
func short(r *rand.Rand, s *shot, mass, duration float64) {
	p := &s.fall.Specimen
	w := math.Pi / duration
	p.Length = between(r, 0.4, 0.8)
	p.E1 = mass * w * w * p.Length
	p.EM, p.Tau = 0.1*p.E1, duration
	s.fall.Mass = mass
	s.fall.Height = between(r, 0.3, 0.8)
}

// finest is the longest step of the computation, s: 1/20 of a radian of a node of 400 Hz.
const finest = 2e-5

// seeded is a source of its own for each row, seed and purpose.
func seeded(seed uint64, parts ...string) *rand.Rand {
	h := fnv.New64a()
	h.Write([]byte(strings.Join(parts, "\x00")))
	return rand.New(rand.NewPCG(seed, h.Sum64()))
}

func rowNamed(name string) (row, error) {
	for _, r := range rows {
		if r.name == name {
			return r, nil
		}
	}
	return row{}, fmt.Errorf("there is no row %q; there are %s", name, strings.Join(Rows(), ", "))
}

// Draw makes the record of a row, a seed and options; equal ones give equal records.
func Draw(name string, seed uint64, o Options) (Record, error) {
	ro, err := rowNamed(name)
	if err != nil {
		return Record{}, err
	}
	fault, ok := faults[o.Fault]
	if !ok {
		return Record{}, fmt.Errorf("there is no fault %q; there are %s", o.Fault, strings.Join(Faults(), ", "))
	}
	rec := Record{Row: name, Fault: o.Fault, Seed: seed, Rate: o.Rate, Cells: map[int]string{}}
	if rec.Rate == 0 {
		rec.Rate = ro.rate
	}
	if rec.Rate == 0 {
		rec.Rate = 10e3
	}
	if !(rec.Rate >= 50 && rec.Rate <= 200e3) {
		return Record{}, fmt.Errorf("a rate of %g Hz is outside 50 Hz to 200 kHz", rec.Rate)
	}
	r := seeded(seed, name)
	s := &shot{after: 3.5}
	ro.draw(r, s)
	s.fall.Gravity = gravity
	d := &drawing{rec: &rec, shot: s, rand: r, extra: seeded(seed, name, "fault", o.Fault)}
	d.rig(o.GainU)
	if fault.before != nil {
		fault.before(d)
	}
	d.compute()
	if fault.cell != nil {
		fault.cell(d)
	}
	d.signal = s.chain.analogue(d.path.Cell, d.step)
	if fault.analogue != nil {
		fault.analogue(d)
	}
	x := s.chain.sample(d.signal)
	if fault.samples != nil {
		fault.samples(d, x)
	}
	if !fault.ownNoise {
		addNoise(x, s.chain.noise, r)
	}
	if fault.noisy != nil {
		fault.noisy(d, x)
	}
	s.chain.quantize(x)
	rec.Force, rec.Time = x, make([]float64, len(x))
	for i := range x {
		rec.Time[i] = float64(i) / rec.Rate
	}
	if fault.table != nil {
		fault.table(d)
	}
	return rec, nil
}

// drawing is a record under way.
type drawing struct {
	rec    *Record
	shot   *shot
	rand   *rand.Rand // what every fault of a row and seed has in common
	extra  *rand.Rand // the fault's own
	path   *Path
	step   float64   // s, of the grid
	signal []float64 // out of the amplifier, on the grid
	lead   float64   // s between start and taut, more than usual
}

// rig draws what the rig file states and what is true.
func (d *drawing) rig(gainU float64) {
	r, s, c := d.rand, d.shot, &d.rec.Case
	if gainU == 0 {
		gainU = 0.005
	}
	rate := d.rec.Rate
	*c = Case{MassU: s.fall.Mass * spread(r, 2e-4, 2e-3), FallU: between(r, 0.002, 0.008), GainU: gainU, Gravity: gravity}
	// Stated values are round; the true ones lie about them as the rig file says.
	c.Mass, c.Fall = math.Round(s.fall.Mass*10)/10, math.Round(s.fall.Height*1000)/1000
	s.fall.Mass = c.Mass + c.MassU*r.NormFloat64()
	s.fall.Height = math.Max(0.05, c.Fall+c.FallU*r.NormFloat64())
	s.chain.gain = 1 + c.GainU*r.NormFloat64()
	s.chain.offset = between(r, -60, 60)
	s.chain.noise = spread(r, 1, 20)
	s.chain.resolution = 0.5
	// The amplifier's filter: none that is known of, or one at 0.2 to 0.45 of the rate, one or two poles.
	share, order := between(r, 0.2, 0.45), 1+r.IntN(2)
	if r.IntN(4) > 0 {
		s.chain.cut, s.chain.order = math.Min(share*rate, 5e3), order
		c.AntiAlias = s.chain.cut
	}
	if off := 1 + 0.02*r.NormFloat64(); s.known {
		c.RigFrequency, c.RigDamping = s.fall.Rig.Frequency()*off, s.fall.Rig.Damping
	}
}

// compute runs the fall and the amplifier.
func (d *drawing) compute() {
	s, rate := d.shot, d.rec.Rate
	most := finest
	if s.chain.cut > 0 {
		most = math.Min(most, 1/(16*s.chain.cut))
	}
	s.chain.over = int(math.Ceil(1 / (rate * most)))
	d.step = 1 / (rate * float64(s.chain.over))
	quiet := between(d.rand, 0.4, 0.9) + d.lead
	taut := quiet + math.Sqrt(2*s.fall.Height/gravity)
	if s.breakAt > 0 {
		whole := s.fall
		n := int((taut + 0.5) / d.step)
		s.fall.Specimen.Strength = s.breakAt * whole.Run(taut, d.step, n).PeakSpecimen
	}
	d.path = s.fall.Run(taut, d.step, int((taut+s.after)/d.step))
	p := d.path
	d.rec.Truth = Truth{Peak: p.Peak, PeakTime: p.PeakTime, PeakSpecimen: p.PeakSpecimen, Impulse: p.Impulse, Energy: p.Energy, Elongation: p.Elongation,
		Duration: p.End - p.Taut, Taut: p.Taut, End: p.End, Broke: p.Broke}
	d.rec.Drawn = Drawn{Mass: s.fall.Mass, Height: s.fall.Height, Gain: s.chain.gain, Offset: s.chain.offset, Noise: s.chain.noise, FilterOrder: s.chain.order,
		Strength: s.fall.Specimen.Strength}
}

// Faults names what can be laid on top of a row, in order.
func Faults() []string {
	var names []string
	for name := range faults {
		if name != "" {
			names = append(names, name)
		}
	}
	sort.Strings(names)
	return names
}
