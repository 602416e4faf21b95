package truth

import (
	"math"
	"slices"
)

// fault is something that went wrong, laid on a record at one or several places of its way.
type fault struct {
	before   func(*drawing)            // on what is true or stated, before the fall is computed
	cell     func(*drawing)            // on the force at the load cell
	analogue func(*drawing)            // on the amplifier's output
	samples  func(*drawing, []float64) // on the samples before their noise
	ownNoise bool                      // samples has added the noise
	noisy    func(*drawing, []float64) // on the samples with their noise
	table    func(*drawing)            // on the rows of the file
}

var faults = map[string]fault{
	"":                   {},
	"clip":               {noisy: clip},
	"clip-noise":         {samples: clipThenNoise, ownNoise: true},
	"knee":               {samples: knee},
	"slew":               {analogue: slewLimited},
	"over":               {table: overload},
	"gap-peak":           {table: func(d *drawing) { d.lose(d.rec.Truth.PeakTime, true) }},
	"gap-off":            {table: lostBeside},
	"lost-sample":        {table: func(d *drawing) { d.loseOne() }},
	"lost-sample-closed": {table: func(d *drawing) { d.closeUp(d.loseOne()) }},
	"pull":               {before: func(d *drawing) { d.lead = between(d.extra, 1.6, 3) }, cell: pull},
	"bump":               {before: func(d *drawing) { d.lead = between(d.extra, 0.3, 1) }, cell: bump},
	"two-drops":          {cell: again},
	"gain":               {before: func(d *drawing) { d.shot.chain.gain *= 1 + 0.02*d.sign() }},
	"mass":               {before: func(d *drawing) { d.shot.fall.Mass *= 1 + 0.02*d.sign() }},
	"height":             {before: func(d *drawing) { d.shot.fall.Height *= 0.95 }},
}

func (d *drawing) sign() float64 { return float64(2*d.extra.IntN(2) - 1) }

// level draws a level between 40 and 95 % of the largest value of the first arrest.
func (d *drawing) level(x []float64, lo, hi float64) float64 {
	share := between(d.extra, lo, hi)
	top := math.Inf(-1)
	for i, v := range x {
		if t := float64(i) / d.rec.Rate; t > d.rec.Truth.Taut-0.01 && t < d.rec.Truth.End+0.01 {
			top = math.Max(top, v)
		}
	}
	level := d.rec.Drawn.Offset + share*(top-d.rec.Drawn.Offset)
	d.rec.Drawn.Share, d.rec.Drawn.Level = share, level
	return level
}

// clip: the converter's range ends below the peak.
func clip(d *drawing, x []float64) {
	level := d.level(x, 0.4, 0.95)
	for i, v := range x {
		x[i] = math.Min(v, level)
	}
}

// clipThenNoise: the amplifier is at the end of its range, and noise of 1 to 5 N comes after it.
func clipThenNoise(d *drawing, x []float64) {
	clip(d, x)
	d.rec.Drawn.Noise = between(d.extra, 1, 5)
	addNoise(x, d.rec.Drawn.Noise, d.extra)
}

// overload: the logger writes a word, a blank or a huge number in place of what is above its range.
func overload(d *drawing) {
	words := []string{"OVER", "NaN", "", "9.9E+37", "OL", "overload"}
	word := words[d.extra.IntN(len(words))]
	level := d.level(d.rec.Force, 0.4, 0.95)
	for i, v := range d.rec.Force {
		if v > level {
			d.rec.Force[i], d.rec.Cells[i] = math.NaN(), word
		}
	}
}

// lose takes 5 to 30 ms out of the table, and at least one row, about a moment or beginning at it.
func (d *drawing) lose(at float64, about bool) {
	long := between(d.extra, 5e-3, 30e-3)
	if about {
		at -= long * d.extra.Float64()
	}
	from := max(1, int(math.Ceil(at*d.rec.Rate)))
	to := min(len(d.rec.Time)-1, max(from+1, int(at*d.rec.Rate+long*d.rec.Rate)))
	d.rec.Drawn.From, d.rec.Drawn.To = d.rec.Time[from], d.rec.Time[to]
	d.rec.Time, d.rec.Force = slices.Delete(d.rec.Time, from, to), slices.Delete(d.rec.Force, from, to)
}

// lostBeside: a stretch away from the peak, before taut, on the rise or the fall, or afterwards.
func lostBeside(d *drawing) {
	t := d.rec.Truth
	switch d.extra.IntN(4) {
	case 0:
		d.lose(t.Taut-0.1-0.1*d.extra.Float64(), false)
	case 1:
		d.lose(t.Taut-0.015, false) // over the moment of taut
	case 2:
		d.lose(t.End-0.005, false)
	case 3:
		d.lose(t.End+0.1, false)
	}
}

// loseOne takes one row of the arrest out of the table and returns its place.
func (d *drawing) loseOne() int {
	t := d.rec.Truth
	i := int(math.Ceil(between(d.extra, t.Taut, t.End) * d.rec.Rate))
	d.rec.Drawn.From, d.rec.Drawn.To = d.rec.Time[i], d.rec.Time[i+1]
	d.rec.Time, d.rec.Force = slices.Delete(d.rec.Time, i, i+1), slices.Delete(d.rec.Force, i, i+1)
	return i
}

// closeUp: the logger counts samples and does not know that one was lost, so that its times go on as if nothing were.
func (d *drawing) closeUp(from int) {
	for i := from; i < len(d.rec.Time); i++ {
		d.rec.Time[i] = float64(i) / d.rec.Rate
	}
}

// knee: the amplifier bends from a share of 80 to 95 % of its range on, towards the end of it.
func knee(d *drawing, x []float64) {
	end := d.level(x, 0.45, 0.95)
	bend := between(d.extra, 0.8, 0.95) * end
	for i, v := range x {
		if v > bend {
			x[i] = bend + (end-bend)*math.Tanh((v-bend)/(end-bend))
		}
	}
}

// slewLimited: the amplifier follows at most 30 to 80 % of the fastest rise.
func slewLimited(d *drawing) {
	most := 0.0
	for i := int(d.rec.Truth.Taut/d.step) + 1; float64(i)*d.step < d.rec.Truth.PeakTime; i++ {
		most = math.Max(most, d.signal[i]-d.signal[i-1])
	}
	most *= between(d.extra, 0.3, 0.8)
	d.rec.Drawn.Limit = most / d.step
	slew(d.signal, most)
}

// hill adds half a sine squared to the force at the load cell.
func (d *drawing) hill(from, long, high float64) {
	d.rec.Drawn.From, d.rec.Drawn.To, d.rec.Drawn.Level = from, from+long, high
	for i := int(math.Ceil(from / d.step)); float64(i)*d.step < from+long; i++ {
		s := math.Sin(math.Pi * (float64(i)*d.step - from) / long)
		d.path.Cell[i] += high * s * s
	}
}

// pull: somebody pulled the specimen tight, with 2 to 8 kN, while the logger was running already.
func pull(d *drawing) {
	d.hill(between(d.extra, 0.2, 0.4), between(d.extra, 0.4, 1), between(d.extra, 2e3, 8e3))
}

// bump: the mass touched the specimen while it was hoisted.
func bump(d *drawing) {
	d.hill(between(d.extra, 0.15, 0.3), between(d.extra, 0.05, 0.2), spread(d.extra, 100, 1500))
}

// again: the logger ran through a second drop, from 0.6 to 1.6 of the height, after the mass had been taken off. The first is the one of the list.
func again(d *drawing) {
	cell := d.path.Cell
	away := int(0.4 / d.step)
	last := cell[len(cell)-1]
	for i := range away {
		cell = append(cell, last*(1+math.Cos(math.Pi*float64(i)/float64(away)))/2)
	}
	second := d.shot.fall
	second.Height *= between(d.extra, 0.6, 1.6)
	taut := between(d.extra, 1, 2.5) + math.Sqrt(2*second.Height/gravity)
	d.rec.Drawn.From = float64(len(cell))*d.step + taut
	d.path.Cell = append(cell, second.Run(taut, d.step, int((taut+d.shot.after)/d.step)).Cell...)
}
