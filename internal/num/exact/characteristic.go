package exact

import (
	"fmt"
	"math"
)

// Family is the distribution that values are taken to have.
type Family int

// The families.
const (
	Normal Family = iota
	LogNormal
)

func (f Family) String() string {
	if f == LogNormal {
		return "lognormal"
	}
	return "normal"
}

// Characteristic is a low value that a stated share of the population passes, with a stated confidence.
type Characteristic struct {
	Family              Family
	N                   int
	Mean, SD            float64 // of the values, or of their natural logarithms
	K                   float64 // Value = Mean - K SD, or its exponential
	Value               float64 // in the unit of the values
	Content, Confidence float64
	Warnings            []string
}

// CharacteristicValue is the 5 % quantile at 75 % confidence of values that were all seen: LowerLimit at
// a content of 0.95. Source: EN 14358 and the guidance on assessment of construction products (recalled).
func CharacteristicValue(x []float64, f Family) (Characteristic, error) {
	return LowerLimit(x, f, 0.95, 0.75)
}

// LowerLimit is the one-sided tolerance limit mean - k sd by OneSidedFactor, of the values or of their
// logarithms. The input must hold no bounds: a specimen that held has no strength to enter here. At least
// two finite values that are not all equal, above 0 for LogNormal; otherwise an error says which is wrong.
// A limit at or below 0, and fewer than five values, are warned of.
func LowerLimit(x []float64, f Family, content, confidence float64) (Characteristic, error) {
	y := x
	switch f {
	case Normal:
	case LogNormal:
		y = make([]float64, len(x))
		for i, v := range x {
			if v <= 0 {
				return Characteristic{}, fmt.Errorf("value %d is %g: a lognormal value lies above 0", i+1, v)
			}
			y[i] = math.Log(v)
		}
	default:
		return Characteristic{}, fmt.Errorf("distribution %d is not known; normal or lognormal", f)
	}
	mean, sd, err := moments(y, 2)
	if err != nil {
		return Characteristic{}, err
	}
	k, err := OneSidedFactor(len(x), content, confidence)
	if err != nil {
		return Characteristic{}, err
	}
	c := Characteristic{Family: f, N: len(x), Mean: mean, SD: sd, K: k, Value: mean - k*sd, Content: content, Confidence: confidence}
	if f == LogNormal {
		c.Value = math.Exp(c.Value)
	}
	if c.Value <= 0 {
		c.Warnings = append(c.Warnings, fmt.Sprintf("the limit %.4g is not above 0: with %d values so far apart nothing is shown; more specimens, or lognormal", c.Value, c.N))
	}
	if c.N < 5 {
		c.Warnings = append(c.Warnings, fmt.Sprintf("only %d values: the limit leans wholly on the %s distribution, which so few cannot show", c.N, f))
	}
	return c, nil
}

// MeanLessThreeSD is the number that makers print, the mean less three standard deviations (common practice, no source). It is no
// quantile of the population; Content is the share above it that normal values show at 75 % confidence. Errors as LowerLimit; a
// warning always says what the number is not.
func MeanLessThreeSD(x []float64) (Characteristic, error) {
	mean, sd, err := moments(x, 2)
	if err != nil {
		return Characteristic{}, err
	}
	t := Characteristic{Family: Normal, N: len(x), Mean: mean, SD: sd, K: 3, Value: mean - 3*sd, Confidence: 0.75}
	if t.Content, err = ContentShown(len(x), 3, t.Confidence); err != nil {
		return Characteristic{}, err
	}
	t.Warnings = append(t.Warnings, fmt.Sprintf("mean less three standard deviations is common practice without a source: %d normal values show only that %.3g %% of the population lie above it (75 %% confidence)", t.N, 100*t.Content))
	return t, nil
}

// moments are mean and standard deviation of at least the number of values given.
func moments(x []float64, least int) (mean, sd float64, err error) {
	if len(x) < least {
		return 0, 0, fmt.Errorf("%d values: at least %d are needed", len(x), least)
	}
	equal := true
	for i, v := range x {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return 0, 0, fmt.Errorf("value %d is %g; leave out what was not measured", i+1, v)
		}
		equal = equal && v == x[0]
		mean += (v - mean) / float64(i+1)
	}
	if equal {
		return 0, 0, fmt.Errorf("all %d values are equal (%g): they show no spread; read them to more digits", len(x), x[0])
	}
	ss := 0.0
	for _, v := range x {
		ss += (v - mean) * (v - mean)
	}
	return mean, math.Sqrt(ss / float64(len(x)-1)), nil
}
