package dsp

import "math"

// Level describes a stretch that should be constant.
type Level struct {
	N       int
	Mean    float64
	SD      float64 // of single samples about the fitted line
	Slope   float64 // per sample
	MeanU   float64 // standard error of the mean from block means
	SlopeU  float64 // standard error of the slope from block means
	DoF     float64 // of MeanU
	Blocks  int
	Min     float64
	Max     float64
	Largest float64 // largest deviation from the mean
}

// MeasureLevel fits a line to x and takes the standard errors from the scatter of block means, so that
// hum and other correlation between neighbours does not make them too small. Up to 16 blocks of at
// least 4 samples are used; with fewer than 3 blocks the standard error is that of single samples. It
// panics on an empty slice.
func MeasureLevel(x []float64) Level {
	n := len(x)
	if n == 0 {
		panic("dsp: MeasureLevel of nothing")
	}
	l := Level{N: n, Min: x[0], Max: x[0]}
	sum, moment := 0.0, 0.0
	mid := float64(n-1) / 2
	for i, v := range x {
		sum += v
		moment += (float64(i) - mid) * v
		l.Min = min(l.Min, v)
		l.Max = max(l.Max, v)
	}
	l.Mean = sum / float64(n)
	l.Largest = max(l.Max-l.Mean, l.Mean-l.Min)
	if n < 3 {
		return l
	}
	nn := float64(n)
	spread := nn * (nn*nn - 1) / 12
	l.Slope = moment / spread
	ss := 0.0
	for i, v := range x {
		r := v - l.Mean - l.Slope*(float64(i)-mid)
		ss += r * r
	}
	l.SD = math.Sqrt(ss / (nn - 2))
	l.MeanU, l.SlopeU, l.DoF = l.SD/math.Sqrt(nn), l.SD/math.Sqrt(spread), nn-2
	blocks := min(16, n/4)
	if blocks < 3 {
		return l
	}
	l.Blocks = blocks
	size := n / blocks
	bb := 0.0
	for b := range blocks {
		m := 0.0
		for _, v := range x[b*size : (b+1)*size] {
			m += v
		}
		centre := float64(b*size) + float64(size-1)/2 - mid
		r := m/float64(size) - l.Mean - l.Slope*centre
		bb += r * r
	}
	sd := math.Sqrt(bb / float64(blocks-2))
	l.MeanU = max(sd/math.Sqrt(float64(blocks)), l.SD/math.Sqrt(nn)/2)
	l.SlopeU = max(l.SlopeU, sd/math.Sqrt(float64(blocks))*math.Sqrt(12)/nn)
	l.DoF = float64(blocks - 2)
	return l
}
