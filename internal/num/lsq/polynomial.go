// Package lsq fits models to data by least squares.
package lsq

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Polynomial is y = C[0] + C[1] x + ... fitted by least squares.
type Polynomial struct {
	C          []float64 // coefficients, lowest power first
	Cov        []float64 // covariance of C, row by row
	SD         []float64 // standard deviations of C
	ResidualSD float64   // sqrt(RSS / DoF)
	RSS        float64
	DoF        int
	N          int
	XMin, XMax float64 // range of the data
	YMin, YMax float64
	scale      float64 // x is divided by this inside
}

// FitPolynomial fits a polynomial of the degree given (0 or more) to (x, y) by a QR factorisation of
// the scaled design matrix. The covariance is ResidualSD^2 (X'X)^-1. An error says when there are
// fewer than degree+2 points, fewer than degree+1 distinct x, or a value that is not a number.
func FitPolynomial(x, y []float64, degree int) (*Polynomial, error) {
	if len(x) != len(y) {
		panic("lsq: x and y differ in length")
	}
	n, p := len(x), degree+1
	if degree < 0 || n < p+1 {
		return nil, fmt.Errorf("a polynomial of degree %d needs at least %d points, there are %d; add readings or lower the degree", degree, p+1, n)
	}
	fit := &Polynomial{N: n, DoF: n - p, XMin: math.Inf(1), XMax: math.Inf(-1), YMin: math.Inf(1), YMax: math.Inf(-1)}
	distinct := map[float64]bool{}
	for i := range x {
		if math.IsNaN(x[i]+y[i]) || math.IsInf(x[i]+y[i], 0) {
			return nil, fmt.Errorf("point %d (%g, %g) is not a pair of numbers; correct or remove it", i+1, x[i], y[i])
		}
		distinct[x[i]] = true
		fit.XMin, fit.XMax = min(fit.XMin, x[i]), max(fit.XMax, x[i])
		fit.YMin, fit.YMax = min(fit.YMin, y[i]), max(fit.YMax, y[i])
	}
	if len(distinct) < p {
		return nil, fmt.Errorf("a polynomial of degree %d needs %d different x, there are %d; add readings at other loads", degree, p, len(distinct))
	}
	fit.scale = max(math.Abs(fit.XMin), math.Abs(fit.XMax))
	if fit.scale == 0 {
		fit.scale = 1
	}
	a := mat.NewDense(n, p, nil)
	for i := range n {
		v, u := 1.0, x[i]/fit.scale
		for j := range p {
			a.Set(i, j, v)
			v *= u
		}
	}
	var qr mat.QR
	qr.Factorize(a)
	var c mat.VecDense
	if err := qr.SolveVecTo(&c, false, mat.NewVecDense(n, append([]float64(nil), y...))); err != nil {
		return nil, fmt.Errorf("a polynomial of degree %d cannot be told from these points: %w", degree, err)
	}
	for i := range n {
		r := y[i] - horner(c.RawVector().Data, x[i]/fit.scale)
		fit.RSS += r * r
	}
	fit.ResidualSD = math.Sqrt(fit.RSS / float64(fit.DoF))
	fit.C = make([]float64, p)
	for i := range p {
		fit.C[i] = c.AtVec(i) / math.Pow(fit.scale, float64(i))
	}
	if err := fit.spread(&qr, degree); err != nil {
		return nil, err
	}
	return fit, nil
}

// spread fills the covariance ResidualSD^2 (R'R)^-1 from the triangle of the factorisation.
func (fit *Polynomial) spread(qr *mat.QR, degree int) error {
	p := degree + 1
	var full mat.Dense
	qr.RTo(&full)
	r := mat.NewTriDense(p, mat.Upper, nil)
	for i := range p {
		for j := i; j < p; j++ {
			r.SetTri(i, j, full.At(i, j))
		}
	}
	var inv mat.TriDense
	if err := inv.InverseTri(r); err != nil {
		return fmt.Errorf("a polynomial of degree %d cannot be told from these points: %w", degree, err)
	}
	fit.SD, fit.Cov = make([]float64, p), make([]float64, p*p)
	for i := range p {
		for j := range p {
			sum := 0.0
			for k := max(i, j); k < p; k++ {
				sum += inv.At(i, k) * inv.At(j, k)
			}
			fit.Cov[i*p+j] = fit.RSS / float64(fit.DoF) * sum / math.Pow(fit.scale, float64(i+j))
		}
		fit.SD[i] = math.Sqrt(fit.Cov[i*p+i])
	}
	return nil
}

func horner(c []float64, x float64) float64 {
	y := 0.0
	for i := len(c) - 1; i >= 0; i-- {
		y = y*x + c[i]
	}
	return y
}

// At is the fitted value at x.
func (p *Polynomial) At(x float64) float64 { return horner(p.C, x) }

// Slope is the derivative of the fit at x.
func (p *Polynomial) Slope(x float64) float64 {
	y := 0.0
	for i := len(p.C) - 1; i >= 1; i-- {
		y = y*x + float64(i)*p.C[i]
	}
	return y
}

// U is the standard uncertainty of the fitted value at x: sqrt(v' Cov v), v = (1, x, x^2, ...).
func (p *Polynomial) U(x float64) float64 {
	n := len(p.C)
	sum := 0.0
	for i := range n {
		for j := range n {
			sum += p.Cov[i*n+j] * math.Pow(x, float64(i+j))
		}
	}
	return math.Sqrt(max(sum, 0))
}
