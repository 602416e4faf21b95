package reduce

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/num/dsp"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// findZero corrects the polarity and takes the zero from the quiet stretch before the force rises.
func (w *work) findZero() {
	x := w.forceN
	// A first idea of the base line: the median of block means over the first tenth.
	base := startLevel(x)
	hi, lo, at, low := w.extreme.Hi, w.extreme.Lo, w.extreme.HiAt, w.extreme.LoAt
	// A break also swings below zero, but after the peak: only what dips first, or by far the most, is turned.
	if down, up := base-lo, hi-base; down > 2*up || down > 1.2*up && low < at {
		for i, v := range x {
			x[i] = -v
		}
		base, hi, at = -base, -lo, low
		w.out.warn("the force is negative throughout: the polarity was turned; check the wiring of the load cell")
		w.out.step("polarity", map[string]any{"turned": true})
	}
	end := quietEnd(x[:at+1], base, hi, max(1, int(1e-3/w.dt)))
	// Keep clear of the rise itself.
	end -= max(2, end/50)
	w.quietN = max(end, 0)
	w.stepN = w.set.Resolution.SI()
	if w.stepN == 0 {
		w.stepN = dsp.SmallestStep(x)
	}
	if w.quietN < 16 {
		w.hasQuiet = false
		first := x[0]
		zero := 0.0
		if math.Abs(first) < 0.05*hi {
			zero = first
		}
		w.zeroU, w.zeroDoF = math.Max(math.Abs(first), 0.01*hi)/math.Sqrt(3), math.Inf(1)
		w.noiseN = roughNoise(x)
		subtract(x, zero)
		w.out.Zero, w.out.NoiseSD = quantity.Force(zero), quantity.Force(w.noiseN)
		w.out.warn("the record has no quiet stretch before the force rises (%d samples): the zero %s is a guess and its uncertainty a bound; record at least 0.1 s before the release", w.quietN, quantity.Force(zero))
		w.out.step("zero", map[string]any{"samples": w.quietN, "zero_N": zero, "u_N": w.zeroU, "guessed": true})
		return
	}
	w.hasQuiet = true
	w.quiet = dsp.MeasureLevel(x[:w.quietN])
	w.noiseN, w.zeroU, w.zeroDoF = w.quiet.SD, w.quiet.MeanU, w.quiet.DoF
	w.whiteN = roughNoise(x[:w.quietN])
	w.slowN = math.Sqrt(math.Max(w.noiseN*w.noiseN-w.whiteN*w.whiteN, 0))
	subtract(x, w.quiet.Mean)
	w.out.Zero, w.out.NoiseSD = quantity.Force(w.quiet.Mean), quantity.Force(w.noiseN)
	w.out.step("zero", map[string]any{"samples": w.quietN, "zero_N": w.quiet.Mean, "u_N": w.zeroU, "slope_N_per_s": w.quiet.Slope / w.dt, "noise_N": w.noiseN})
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
