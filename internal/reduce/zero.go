package reduce

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/num/dsp"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// zero is what the quiet stretch before the force rises says.
type zero struct {
	quiet         dsp.Level
	hasQuiet      bool
	quietN        int     // samples of the quiet stretch
	noiseN        float64 // sd of single samples
	whiteN, slowN float64 // its parts: from sample to sample, and slower, as hum
	zeroN         float64
	zeroU         float64
	zeroDoF       float64
	stepN         float64 // smallest step of the force
}

// findZero corrects the polarity of x and takes its zero off, from the quiet stretch before the force rises.
func (w *given) findZero(x []float64, e dsp.Extremes) zero {
	// A first idea of the base line: the median of block means over the first tenth.
	base := startLevel(x)
	hi, lo, at, low := e.Hi, e.Lo, e.HiAt, e.LoAt
	// A break also swings below zero, but after the peak: only what dips first, or by far the most, is turned.
	if down, up := base-lo, hi-base; down > 2*up || down > 1.2*up && low < at {
		for i, v := range x {
			x[i] = -v
		}
		base, hi, at = -base, -lo, low
		w.warn("the force is negative throughout: the polarity was turned; check the wiring of the load cell")
		w.step("polarity", map[string]any{"turned": true})
	}
	end := quietEnd(x[:at+1], base, hi, max(1, int(1e-3/w.dt)))
	// Keep clear of the rise itself.
	end -= max(2, end/50)
	z := zero{quietN: max(end, 0), stepN: w.set.Resolution.SI()}
	if z.stepN == 0 {
		z.stepN = dsp.SmallestStep(x)
	}
	if z.quietN < 16 {
		first := x[0]
		if math.Abs(first) < 0.05*hi {
			z.zeroN = first
		}
		z.zeroU, z.zeroDoF = math.Max(math.Abs(first), 0.01*hi)/math.Sqrt(3), math.Inf(1)
		z.noiseN = roughNoise(x)
		subtract(x, z.zeroN)
		w.warn("the record has no quiet stretch before the force rises (%d samples): the zero %s is a guess and its uncertainty a bound; record at least 0.1 s before the release", z.quietN, quantity.Force(z.zeroN))
		w.step("zero", map[string]any{"samples": z.quietN, "zero_N": z.zeroN, "u_N": z.zeroU, "guessed": true})
		return z
	}
	z.hasQuiet = true
	z.quiet = dsp.MeasureLevel(x[:z.quietN])
	z.noiseN, z.zeroN, z.zeroU, z.zeroDoF = z.quiet.SD, z.quiet.Mean, z.quiet.MeanU, z.quiet.DoF
	z.whiteN = roughNoise(x[:z.quietN])
	z.slowN = math.Sqrt(math.Max(z.noiseN*z.noiseN-z.whiteN*z.whiteN, 0))
	subtract(x, z.zeroN)
	w.step("zero", map[string]any{"samples": z.quietN, "zero_N": z.zeroN, "u_N": z.zeroU, "slope_N_per_s": z.quiet.Slope / w.dt, "noise_N": z.noiseN})
	return z
}

func subtract(x []float64, zero float64) {
	for i := range x {
		x[i] -= zero
	}
}

// startLevel is the median of up to 9 block means over the first tenth of x (at least 9 samples if there
// are as many).
func startLevel(x []float64) float64 {
	n := min(max(len(x)/10, 9), len(x))
	blocks := min(9, n)
	size := n / blocks
	m := make([]float64, blocks)
	for b := range m {
		for _, v := range x[b*size : (b+1)*size] {
			m[b] += v / float64(size)
		}
	}
	return median(m)
}

// quietEnd is the index from which x leaves the band about base for good on its way to the peak at its
// end: the first sample of a rise through 5 % of the peak that lasts for hold samples, walked back to where the
// rise began.
func quietEnd(x []float64, base, peak float64, hold int) int {
	level := base + 0.05*(peak-base)
	i := 0
	for i < len(x) && (x[i] < level || x[min(i+hold, len(x)-1)] < level) {
		i++
	}
	if i == len(x) {
		return len(x) - 1
	}
	noise := math.Max(roughNoise(x[:i]), 1e-6*(peak-base))
	for i > 0 && x[i-1]-base > 4*noise {
		i--
	}
	return i
}

// roughNoise is the standard deviation of single samples from differences of neighbours, which leaves
// out slow changes: median |difference| / (0.6745 sqrt2), over up to 4001 differences.
func roughNoise(x []float64) float64 {
	n := min(len(x)-1, 4001)
	if n < 3 {
		return 0
	}
	d := make([]float64, n)
	for i := range d {
		d[i] = math.Abs(x[i+1] - x[i])
	}
	return median(d) / (0.67448975 * math.Sqrt2)
}

// median sorts x in part and returns its middle element.
func median(x []float64) float64 {
	lo, hi, k := 0, len(x)-1, len(x)/2
	for lo < hi {
		p := x[(lo+hi)/2]
		i, j := lo, hi
		for i <= j {
			for x[i] < p {
				i++
			}
			for x[j] > p {
				j--
			}
			if i <= j {
				x[i], x[j] = x[j], x[i]
				i++
				j--
			}
		}
		if k <= j {
			hi = j
		} else if k >= i {
			lo = i
		} else {
			break
		}
	}
	return x[k]
}
