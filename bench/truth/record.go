package truth

import (
	"bytes"
	"math"
	"math/rand/v2"
	"strconv"
)

// Record is what a logger wrote, with what the person at the tower knows, and what is true.
type Record struct {
	Row   string  `json:"row"`
	Fault string  `json:"fault,omitempty"`
	Seed  uint64  `json:"seed"`
	Rate  float64 `json:"rate_Hz"`

	Time  []float64      `json:"-"` // s on the record's clock; lost rows are missing
	Force []float64      `json:"-"` // N; NaN where the cell of the table is no number or means overload
	Cells map[int]string `json:"-"` // what stands in the table instead of a number, by place

	Case  Case  `json:"case"`
	Truth Truth `json:"truth"`
	Drawn Drawn `json:"drawn"`
}

// Case is what is known to whoever reduces the record: the rig file and the drop list. Uncertainties are standard ones.
type Case struct {
	Mass         float64 `json:"mass_kg"`
	MassU        float64 `json:"mass_u_kg"`
	Fall         float64 `json:"fall_m"`
	FallU        float64 `json:"fall_u_m"`
	GainU        float64 `json:"gain_u"`
	Gravity      float64 `json:"gravity_mps2"`
	RigFrequency float64 `json:"rig_frequency_Hz"` // 0 = not known
	RigDamping   float64 `json:"rig_damping"`
	AntiAlias    float64 `json:"antialias_Hz"` // 3 dB, 0 = not known
}

// Truth are the true values of the first arrest, as the package says; moments are on the record's clock.
type Truth struct {
	Peak         float64 `json:"peak_N"`
	PeakTime     float64 `json:"peak_time_s"`
	PeakSpecimen float64 `json:"peak_specimen_N"` // the specimen's own, without the rig's ringing
	Impulse      float64 `json:"impulse_Ns"`
	Energy       float64 `json:"energy_J"`
	Elongation   float64 `json:"elongation_m"`
	Duration     float64 `json:"duration_s"`
	Taut         float64 `json:"taut_s"`
	End          float64 `json:"end_s"`
	Broke        bool    `json:"broke"`
}

// Drawn is what nobody at the tower knows, and what the fault did.
type Drawn struct {
	Mass        float64 `json:"mass_kg"`
	Height      float64 `json:"height_m"`
	Gain        float64 `json:"gain"` // shown over true
	Offset      float64 `json:"offset_N"`
	Noise       float64 `json:"noise_N"` // standard deviation
	FilterOrder int     `json:"filter_order"`
	Strength    float64 `json:"strength_N,omitempty"`
	Level       float64 `json:"level_N,omitempty"`       // of a clip, knee or overload, as shown
	Share       float64 `json:"share,omitempty"`         // of the largest force shown
	From        float64 `json:"fault_from_s,omitempty"`  // where it began
	To          float64 `json:"fault_to_s,omitempty"`    // and ended
	Limit       float64 `json:"slew_limit_Nps,omitzero"` // fastest rise that the amplifier follows
}

// Options change what a row draws by itself; what is zero stays as the row has it.
type Options struct {
	Rate  float64 // Hz
	GainU float64 // relative standard uncertainty of the force scale
	Fault string  // of Faults, laid on top
}

// chain is the measuring chain between load cell and file.
type chain struct {
	gain, offset float64
	cut          float64 // Hz, 0 = no filter
	order        int
	noise        float64 // N, on each sample
	resolution   float64 // N
	hum          float64 // N
	humPhase     float64
	over         int // grid steps a sample
}

// lowPass is the amplifier's filter on an even grid: one or two poles, Butterworth, by the bilinear rule with its 3 dB kept in place.
func lowPass(x []float64, step, cut float64, order int) {
	if cut == 0 || len(x) == 0 {
		return
	}
	w := math.Tan(math.Pi * cut * step)
	switch order {
	case 1:
		a, b := w/(1+w), (w-1)/(1+w)
		in, out := x[0], x[0]
		for i, v := range x {
			out = a*(v+in) - b*out
			in, x[i] = v, out
		}
	case 2:
		d := 1 + math.Sqrt2*w + w*w
		a, b1, b2 := w*w/d, 2*(w*w-1)/d, (1-math.Sqrt2*w+w*w)/d
		i1, i2, o1, o2 := x[0], x[0], x[0], x[0]
		for i, v := range x {
			out := a*(v+2*i1+i2) - b1*o1 - b2*o2
			i2, i1, o2, o1 = i1, v, o1, out
			x[i] = out
		}
	}
}

// slew lets x change by no more than most from one value to the next.
func slew(x []float64, most float64) {
	for i := 1; i < len(x); i++ {
		x[i] = x[i-1] + math.Max(-most, math.Min(most, x[i]-x[i-1]))
	}
}

// analogue is what comes out of the amplifier on the grid of the computation.
func (c *chain) analogue(cell []float64, step float64) []float64 {
	x := make([]float64, len(cell))
	for i, v := range cell {
		x[i] = c.gain*v + c.offset
		if c.hum > 0 {
			x[i] += c.hum * math.Sin(2*math.Pi*50*float64(i)*step+c.humPhase)
		}
	}
	lowPass(x, step, c.cut, c.order)
	return x
}

// sample takes every over-th value.
func (c *chain) sample(x []float64) []float64 {
	out := make([]float64, 0, len(x)/c.over+1)
	for i := 0; i < len(x); i += c.over {
		out = append(out, x[i])
	}
	return out
}

func addNoise(x []float64, sd float64, r *rand.Rand) {
	for i := range x {
		x[i] += sd * r.NormFloat64()
	}
}

func (c *chain) quantize(x []float64) {
	for i := range x {
		x[i] = math.Round(x[i]/c.resolution) * c.resolution
	}
}

// CSV is the record as a logger writes it: time in seconds, force in newtons.
func (r *Record) CSV() []byte {
	var b bytes.Buffer
	b.Grow(24 * len(r.Time))
	b.WriteString("time [s],force [N]\n")
	line := make([]byte, 0, 64)
	for i, t := range r.Time {
		line = strconv.AppendFloat(line[:0], t, 'f', 8, 64)
		line = append(line, ',')
		if word, ok := r.Cells[i]; ok {
			line = append(line, word...)
		} else {
			line = strconv.AppendFloat(line, r.Force[i], 'f', 2, 64)
		}
		line = append(line, '\n')
		b.Write(line)
	}
	return b.Bytes()
}
