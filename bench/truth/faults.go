package truth

import (
	"math"
	"slices"
)

// fault is something that went wrong, laid on a record at one or several places of its way.
type fault struct {
	before   func(*drawing)            // on what is true or stated
	analogue func(*drawing)            // on the amplifier's output
	samples  func(*drawing, []float64) // on the samples before their noise
	ownNoise bool                      // samples has added the noise
	noisy    func(*drawing, []float64) // on the samples with their noise
	table    func(*drawing)            // on the rows of the file
}

var faults = map[string]fault{
	"":           {},
	"clip":       {noisy: clip},
	"clip-noise": {samples: clipThenNoise, ownNoise: true},
	"over":       {table: overload},
	"gap-peak":   {table: func(d *drawing) { d.lose(d.rec.Truth.PeakTime, true) }},
	"gap-off":    {table: lostBeside},
}

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
