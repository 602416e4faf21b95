package identify

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/num/dsp"
)

// Record is a drop's first arrest with what is known of the fall. SI throughout.
type Record struct {
	Drop, Cell, Specimen string
	Textile              string // which specimens are of one textile
	Set                  string // starting set of the textile, "" = none is known
	Knot                 string // "" = nothing is tied
	Steel                bool   // a steel link, whose stiffness is known: it tells of the rig alone
	Mass, Fall, Length   float64
	FallU                float64 // standard uncertainty
	Gravity              float64

	Rate  float64
	Force []float64 // N at the load cell, calibrated and zeroed, unfiltered; from before taut to after the first arrest
	Taut  float64   // s from Force[0]
	End   float64   // s from Force[0]: of the first arrest, or where the force begins to collapse
	Broke bool
	Lost  []bool  // samples that were not measured; nil = all were
	Peak  float64 // N, filtered; of a broken drop the largest before it broke
	PeakU float64 // N, standard
}

const (
	filterClass = 60   // through which records and model are compared alike
	modelRate   = 4000 // Hz, of the model's reading
	lead        = 0.03 // s of nothing before taut
	blocks      = 14   // parts of an arrest, whose means are compared
	reach       = 0.004
)

// design is a fall that several records share: their model is computed once.
type design struct {
	mass, fall, length, gravity float64
	textile, set, knot          string
	steel                       bool
	records                     []int
	span                        float64 // s, from taut to the end of the last block
	peak                        float64 // N, that errors are in shares of
	raw, low                    []float64
	speedU                      float64 // relative standard uncertainty of the speed at taut
}

type designKey struct {
	mass, fall, length, gravity float64
	textile, knot               string
}

func (r *Record) key() designKey {
	round := func(x float64) float64 { return math.Round(x*2000) / 2000 }
	return designKey{round(r.Mass), round(r.Fall), round(r.Length), round(r.Gravity), r.Textile, r.Knot}
}

// designsOf groups records by their fall, in the order of their first records.
func designsOf(records []Record) []*design {
	byKey := map[designKey]*design{}
	var out []*design
	for i := range records {
		r := &records[i]
		d := byKey[r.key()]
		if d == nil {
			d = &design{mass: r.Mass, fall: r.Fall, length: r.Length, gravity: r.Gravity, textile: r.Textile, set: r.Set, knot: r.Knot, steel: r.Steel}
			byKey[r.key()] = d
			out = append(out, d)
		}
		d.records = append(d.records, i)
		d.span = max(d.span, r.End-r.Taut)
		d.peak = max(d.peak, r.Peak)
		if r.Fall > 0 {
			d.speedU = max(d.speedU, r.FallU/(2*r.Fall))
		}
	}
	for _, d := range out {
		d.span *= 1.05
	}
	return out
}

// observed is a record as it is compared: means of the force through the filter over the blocks of its design.
type observed struct {
	design *design
	record *Record
	shift  float64 // s by which taut is later than the record's
	values []float64
	use    []int // blocks that count
}

// lowPass filters a stretch of force in place, as records and model are alike.
func lowPass(x []float64, rate float64) {
	q, err := dsp.ChannelClass(filterClass, rate, dsp.SAE)
	if err != nil {
		return // a rate too low for the filter holds nothing that it would take away
	}
	q.FiltFilt(x, x, q.Settle())
}

// blockMeans writes the mean of a force, straight between its samples, over each of the blocks from taut to span; first is where taut lies, in
// samples. It tells how many blocks lie within the samples.
func blockMeans(x []float64, rate, first, span float64, out []float64) int {
	integral := func(a, b float64) float64 { // over samples
		sum := 0.0
		for i := int(math.Floor(a)); float64(i) < b && i+1 < len(x); i++ {
			lo, hi := max(a, float64(i)), min(b, float64(i+1))
			if hi <= lo || i < 0 {
				continue
			}
			mid := (lo+hi)/2 - float64(i)
			sum += (hi - lo) * (x[i]*(1-mid) + x[i+1]*mid)
		}
		return sum
	}
	n := 0
	width := span / blocks * rate
	for k := range out {
		a := first + float64(k)*width
		if a+width > float64(len(x)-1)+1e-9 {
			break
		}
		out[k] = integral(a, a+width) / width
		n++
	}
	return n
}

// observe reads the record's blocks.
func observe(d *design, r *Record, shift float64) observed {
	o := observed{design: d, record: r, shift: shift, values: make([]float64, blocks)}
	taut := r.Taut + shift
	from := max(int((taut-lead)*r.Rate), 0)
	to := len(r.Force)
	if r.Broke {
		to = min(to, int(math.Floor(r.End*r.Rate))+1)
	}
	if to-from < 8 {
		return o
	}
	x := append([]float64(nil), r.Force[from:to]...)
	lowPass(x, r.Rate)
	n := blockMeans(x, r.Rate, taut*r.Rate-float64(from), d.span, o.values)
	for k := range n {
		a, b := taut+float64(k)*d.span/blocks-reach, taut+float64(k+1)*d.span/blocks+reach
		if !r.lostWithin(a, b) {
			o.use = append(o.use, k)
		}
	}
	return o
}

// lostWithin tells whether a sample between two times was not measured.
func (r *Record) lostWithin(a, b float64) bool {
	if r.Lost == nil {
		return false
	}
	for i := max(int(math.Ceil(a*r.Rate)), 0); i < len(r.Lost) && float64(i) <= b*r.Rate; i++ {
		if r.Lost[i] {
			return true
		}
	}
	return false
}

// samples is how long the model's reading of a design is.
func (d *design) samples() int { return int((d.span+2*lead)*modelRate) + 2 }

// look writes the blocks of the model's reading x, which begins lead before taut, as the record would show them.
func (o *observed) look(x, scratch, out []float64) {
	n := len(x)
	if o.record.Broke {
		n = min(n, int(math.Round((o.record.End-o.record.Taut-o.shift+lead)*modelRate))+1)
	}
	scratch = append(scratch[:0], x[:n]...)
	lowPass(scratch, modelRate)
	blockMeans(scratch, modelRate, lead*modelRate, o.design.span, out)
}
