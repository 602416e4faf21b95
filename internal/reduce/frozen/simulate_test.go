package frozen

import (
	"hash/fnv"
	"math"
	"math/rand/v2"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

// made is a simulated record before it is written.
type made struct {
	name, about string
	rate, start float64
	step        float64
	whole       []int64 // samples in steps
	gaps        []int
	channel     drop.Channel
	findings    []drop.Finding
	resampled   bool
	set         reduce.Settings
}

// fall is a rigid mass on a specimen under a load cell, invented:
//
//	specimen  F = (k x + k3 x^3)(1 - loss while it shortens), at most plateau until it has slid travel
//	          parts at parts newtons, or slideOff seconds after the plateau began to slide, within ramp
//	cell      the specimen's force through a node of frequency node (0 = none) and damping zeta
//	logger    zero + drift t + noise, polarity, range, a step
type fall struct {
	mass, height float64
	k, k3, loss  float64
	plateau      float64
	travel       float64
	parts        float64
	partsIn      int // the arrest, from 1, in which it parts
	ramp         float64
	slideOff     float64
	node, zeta   float64

	taut, end    float64 // s on the record
	rate         float64
	zero, drift  float64
	noise        float64
	negative     bool
	top          float64 // of the range, 0 = none
	seed         uint64
	disturb      func(t float64) float64
	shown        func(force float64) float64 // what the logger shows; nil = the force
	stepOfRecord float64
}

func (f fall) record() []int64 {
	rng := rand.New(rand.NewPCG(f.seed, 17))
	sub := int(math.Ceil(200e3 / f.rate))
	h := 1 / (f.rate * float64(sub))
	const g = 9.80665
	var x, v, slid, cell, cellV, top float64
	v = math.Sqrt(2 * g * f.height)
	arrests, taut := 0, false
	partedAt, atPart, slideAt := math.Inf(1), 0.0, math.Inf(1)
	force := func(t float64) float64 {
		if t >= partedAt {
			return math.Max(0, atPart*(1-(t-partedAt)/math.Max(f.ramp, 1e-9)))
		}
		d := x - slid
		if d <= 0 {
			taut = false
			return 0
		}
		if !taut {
			taut = true
			arrests++
		}
		y := f.k*d + f.k3*d*d*d
		if v < 0 {
			y *= 1 - f.loss
		}
		if f.plateau > 0 && y > f.plateau && slid < f.travel {
			slid += math.Max(0, d-f.plateau/f.k)
			slideAt = math.Min(slideAt, t)
			y = f.plateau
		}
		// Swings die away by friction against the air and the guide.
		y += 0.02 * math.Sqrt(f.k*f.mass) * v
		y = math.Max(y, 0)
		top = math.Max(top, y)
		if f.parts > 0 && y >= f.parts && arrests >= f.partsIn || f.slideOff > 0 && t > slideAt+f.slideOff {
			partedAt, atPart = t, y
		}
		return y
	}
	n := int(f.end * f.rate)
	out := make([]int64, n)
	for i := range out {
		t := float64(i)/f.rate - f.taut
		if t >= 0 {
			for s := range sub {
				a := force(t + float64(s)*h)
				v += (g - a/f.mass) * h
				x += v * h
				if f.node == 0 {
					cell = a
					continue
				}
				w := 2 * math.Pi * f.node
				cellV += (w*w*(a-cell) - 2*f.zeta*w*cellV) * h
				cell += cellV * h
			}
		}
		y := cell + f.zero + f.drift*(t+f.taut) + f.noise*rng.NormFloat64()
		if f.disturb != nil {
			y += f.disturb(t)
		}
		if f.negative {
			y = -y
		}
		if f.shown != nil {
			y = f.shown(y)
		}
		if f.top > 0 {
			y = math.Min(y, f.top)
		}
		out[i] = int64(math.Round(y / f.stepOfRecord))
	}
	return out
}

// pulse is a half-sine from a time on.
func pulse(from, long, high float64) func(float64) float64 {
	return func(t float64) float64 {
		if at := (t - from) / long; at > 0 && at < 1 {
			return high * math.Sin(math.Pi*at)
		}
		return 0
	}
}

func seconds(t float64) *quantity.Duration {
	d := quantity.Duration(t)
	return &d
}

// sling is the fall that most records vary.
func sling() fall {
	return fall{mass: 80, height: 0.6, k: 9e4, k3: 4e6, loss: 0.35, node: 400, zeta: 0.05, taut: 0.25, end: 1.6, rate: 5000, zero: 14, noise: 6, stepOfRecord: 2, partsIn: 1}
}

func settings(f fall) reduce.Settings {
	return reduce.Settings{
		Mass: quantity.Mass(f.mass), MassU: 0.05, Fall: quantity.Length(f.height), FallU: 0.004, Filter: reduce.DefaultFilter, GainU: 0.005,
		RigFrequency: quantity.Frequency(f.node), RigDamping: quantity.Ratio(f.zeta), Gravity: 9.81,
	}
}

var newtons = drop.Channel{Name: "force", Unit: "N", Dim: quantity.DimForce, Factor: 1}

// one puts fall, settings and what else there is to alter together.
func one(name, about string, f fall, alter func(*made)) made {
	m := made{name: name, about: about, rate: f.rate, step: f.stepOfRecord, whole: f.record(), channel: newtons, set: settings(f)}
	if alter != nil {
		alter(&m)
	}
	return m
}

// cubic is a load cell whose counts bend: 0.02 kN short of straight at 20 kN.
func cubic(force float64) float64 { return 1200 + 80*force - 2e-7*force*force*force/1000 }

func certificate(input string, degree int, expires string, shown func(float64) float64) drop.CalibrationData {
	c := drop.CalibrationData{Certificate: "K-17", Date: "2025-04-02", Expires: expires, Degree: degree, Input: input, ReferenceU: 0.0008}
	for i := range 22 {
		force := float64(i%11) * 2000
		c.Readings = append(c.Readings, drop.Reading{Applied: quantity.Force(force), Shown: shown(force) * (1 + 1e-5*float64(i%5-2))})
	}
	return c
}

// seed makes the noise of a record its own, whatever others there are.
func seed(name string) uint64 {
	h := fnv.New64a()
	h.Write([]byte(name))
	return h.Sum64()
}

// makers are the frozen records of the latest generation.
func makers() []made {
	var out []made
	add := func(name, about string, alter func(*fall), more func(*made)) {
		f := sling()
		alter(&f)
		f.seed = seed(name)
		out = append(out, one(name, about, f, more))
	}
	add("held", "a sling holds, the mass bounces and comes to rest", func(f *fall) { f.end = 3.2 }, nil)
	add("held-noisy-1kHz", "1 kHz, noise of 60 N, neither rig frequency nor force scale known", func(f *fall) { f.rate, f.noise = 1000, 60 }, func(m *made) {
		m.set.RigFrequency, m.set.GainU, m.set.Gravity = 0, 0, 0
	})
	add("held-100kHz", "a short hard arrest at 100 kHz through class 180, the record starts at -0.1 s", func(f *fall) {
		f.rate, f.height, f.k, f.k3, f.node, f.taut, f.end = 1e5, 0.4, 4e5, 0, 1500, 0.1, 0.3
	}, func(m *made) {
		m.start = -0.1
		m.set.Filter = reduce.Filter{Class: 180, Factor: "sae"}
	})
	add("held-unfiltered", "no filter, coverage 0.99", func(f *fall) { f.node = 300 }, func(m *made) { m.set.Filter, m.set.Coverage = reduce.Filter{}, 0.99 })
	add("held-250Hz", "a 3 dB frequency of 250 Hz, the load cell wired the other way round, a preload, a zero that drifts", func(f *fall) {
		f.negative, f.zero, f.drift = true, 900, 260
	}, func(m *made) { m.set.Filter = reduce.Filter{Cutoff: 250} })
	add("held-soft-rig", "a rig that rings too slowly for the peak, and one above the capacity", func(f *fall) { f.node, f.k, f.zeta = 18, 5e5, 0.4 }, func(m *made) {
		m.set.Capacity = 7000
	})
	add("held-iso-class", "class 100 with the factor of ISO 6487, uneven sample times, a spike within the arrest and a fault of the reader", func(f *fall) { f.rate = 4000 }, func(m *made) {
		m.set.Filter = reduce.Filter{Class: 100, Factor: "iso"}
		m.resampled = true
		m.whole[1090] += 4000
		m.findings = []drop.Finding{{Kind: "gap", Grade: drop.Fault, Place: "held-iso-class.csv:3121", Fact: "a line is cut short", Count: 3}, {Kind: "clipped", Grade: drop.Fault, Fact: "not said twice"}}
	})
	add("held-fast-filter", "2 kHz and class 1000, which that rate cannot carry; short pulse, known resolution", func(f *fall) { f.rate, f.k = 2000, 3e5 }, func(m *made) {
		m.set.Filter, m.set.Resolution = reduce.Filter{Class: 1000, Factor: "sae"}, 25
	})
	add("held-no-quiet", "the record begins with the rise", func(f *fall) { f.taut, f.end = 0.001, 2.4 }, nil)
	add("held-short-lead", "a short record that begins with the rise, so that the zero is taken within the arrest", func(f *fall) { f.taut, f.end = 0.001, 1.2 }, nil)
	add("held-wrong-height", "a height of 0.9 m entered for a fall of 0.6 m", func(*fall) {}, func(m *made) { m.set.Fall = 0.9 })
	add("held-low-height", "a height of 0.4 m entered for a fall of 0.6 m", func(*fall) {}, func(m *made) { m.set.Fall = 0.4 })
	add("held-light-mass", "a mass of 62 kg entered for one of 80 kg, and a specimen that loses little", func(f *fall) { f.loss = 0.05 }, func(m *made) { m.set.Mass = 62 })
	add("held-heavy-mass", "a mass of 90 kg entered for one of 80 kg that comes to rest", func(f *fall) { f.end = 3.2 }, func(m *made) { m.set.Mass = 90 })
	add("held-plucked", "the specimen is plucked before the drop, and the zero drifts until the end", func(f *fall) {
		f.end, f.drift, f.disturb = 3.2, 25, pulse(-0.1, 0.03, 2500)
	}, nil)
	add("held-no-fall", "the mass let go at taut: no fall, a soft specimen", func(f *fall) { f.height, f.k, f.k3, f.noise, f.stepOfRecord = 0, 2e4, 0, 2, 1 }, nil)
	add("held-cut-short", "the record ends before the force is back at zero", func(f *fall) { f.end = 0.25 + 0.075 }, nil)
	add("broke-early", "parts at 5 kN on the way up, the rig's frequency not stated", func(f *fall) { f.parts, f.ramp = 5000, 3e-4 }, func(m *made) { m.set.RigFrequency = 0 })
	add("broke-late", "parts at 99 % of what it would have reached", func(f *fall) { f.parts, f.ramp = 12700, 5e-4 }, nil)
	add("broke-1kHz", "parts early at 1 kHz: too few samples for a fit", func(f *fall) { f.rate, f.parts, f.ramp = 1000, 7000, 2e-4 }, func(m *made) { m.set.GainU = 0 })
	add("broke-slowly", "strand by strand in 40 ms, and nothing catches the mass", func(f *fall) { f.parts, f.ramp = 6000, 0.04 }, nil)
	add("broke-later", "holds the first arrest, parts in the second", func(f *fall) { f.parts, f.partsIn, f.ramp, f.loss, f.end = 4500, 2, 3e-4, 0.25, 2.4 }, func(m *made) { m.set.FallU = 0.05 })
	add("slipped", "slides on at 4 kN and lets go within 30 ms", func(f *fall) {
		f.plateau, f.travel, f.slideOff, f.ramp = 4000, 9, 0.145, 0.05
	}, nil)
	add("absorber", "an absorber slides at 4.5 kN and holds", func(f *fall) { f.plateau, f.travel, f.end = 4500, 1, 2.2 }, nil)
	add("clipped", "cut off at 9 kN", func(f *fall) { f.top = 9000 }, func(m *made) {
		m.findings = []drop.Finding{{Kind: "clipped", Grade: drop.Fault, Place: "clipped.csv:1301", Fact: "the force stays at its largest value"}}
	})
	add("dropouts-and-spikes", "samples that are no numbers, single-sample spikes in the quiet stretch and after", func(*fall) {}, func(m *made) {
		m.gaps = []int{1300, 1301, 1302, 1330, 4000}
		m.whole[300] += 1500
		m.whole[5200] -= 2000
		m.whole[5201] -= 2000
	})
	add("counts-polynomial", "counts through a certificate of degree 3, the drop on its last day", func(f *fall) {
		f.stepOfRecord, f.shown = 100, cubic
	}, func(m *made) {
		m.channel = drop.Channel{Name: "cell", Unit: "counts", Kind: "counts", Factor: 1}
		m.set.GainU, m.set.Calibration, m.set.Taken = 0, certificate("counts", 3, "2026-04-02", cubic), "2026-04-02"
	})
	add("counts-straight", "the same cell by a straight line, which does not fit; no uncertainty of the reference; a peak above the calibrated range", func(f *fall) {
		f.stepOfRecord, f.shown = 100, cubic
	}, func(m *made) {
		m.channel = drop.Channel{Name: "cell", Unit: "counts", Kind: "counts", Factor: 1}
		c := certificate("counts", 1, "", cubic)
		c.Readings, c.ReferenceU, c.Date = c.Readings[:6], 0, ""
		m.set.GainU, m.set.Calibration = 0, c
	})
	add("force-with-certificate", "force from the logger, with a certificate in mV/V that had expired", func(f *fall) { f.stepOfRecord = 5 }, func(m *made) {
		m.channel.Unit = "kN"
		m.set.Calibration, m.set.Taken = certificate("mV/V", 2, "2026-03-31", func(force float64) float64 { return 0.01 + 4e-5*force }), "2026-04-02"
	})
	add("hand-peak", "a burst of noise passes the peak; the peak is set by hand", func(f *fall) { f.disturb = pulse(0.061, 4e-3, 16000) }, func(m *made) {
		m.set.Hand = &reduce.EventsByHand{Peak: seconds(0.2903)}
	})
	add("hand-taut-and-slack", "taut and the end of the arrest set by hand", func(*fall) {}, func(m *made) {
		m.set.Hand = &reduce.EventsByHand{Taut: seconds(0.2496), Slack: seconds(0.3341)}
	})
	add("hand-peak-before-break", "the peak set by hand 2 ms before a break", func(f *fall) { f.parts, f.ramp, f.noise = 9000, 3e-4, 20 }, func(m *made) {
		m.set.Hand = &reduce.EventsByHand{Peak: seconds(0.273)}
	})
	return out
}
