package ode

// Dopri is the explicit embedded pair 5(4) of Dormand and Prince with seven stages, the last of which
// is the first of the next step, and dense output of order 4.
//
// Source: Hairer, Norsett and Wanner, Solving Ordinary Differential Equations I, 2nd ed. (1993),
// table II.5.2 and section II.6.
type Dopri struct {
	f     Func
	n     int
	k     [7][]float64
	y0, y []float64
	y1    []float64
	h     float64
}

// NewDopri makes a stepper for n variables.
func NewDopri(f Func, n int) *Dopri {
	s := &Dopri{f: f, n: n, y0: make([]float64, n), y: make([]float64, n), y1: make([]float64, n)}
	for i := range s.k {
		s.k[i] = make([]float64, n)
	}
	return s
}

// EstimateOrder is 5: the estimate of order 4 shrinks with the fifth power of the step.
func (s *Dopri) EstimateOrder() int { return 5 }

var (
	dopriC = [6]float64{0, 1.0 / 5, 3.0 / 10, 4.0 / 5, 8.0 / 9, 1}
	dopriA = [6][5]float64{
		{},
		{1.0 / 5},
		{3.0 / 40, 9.0 / 40},
		{44.0 / 45, -56.0 / 15, 32.0 / 9},
		{19372.0 / 6561, -25360.0 / 2187, 64448.0 / 6561, -212.0 / 729},
		{9017.0 / 3168, -355.0 / 33, 46732.0 / 5247, 49.0 / 176, -5103.0 / 18656},
	}
	dopriB = [6]float64{35.0 / 384, 0, 500.0 / 1113, 125.0 / 192, -2187.0 / 6784, 11.0 / 84}
	dopriE = [7]float64{71.0 / 57600, 0, -71.0 / 16695, 71.0 / 1920, -17253.0 / 339200, 22.0 / 525, -1.0 / 40}
	dopriD = [7]float64{-12715105075.0 / 11282082432, 0, 87487479700.0 / 32700410799, -10690763975.0 / 1880347072,
		701980252875.0 / 199316789632, -1453857185.0 / 822651844, 69997945.0 / 29380423}
)

// Step implements Stepper.
func (s *Dopri) Step(t float64, y []float64, h float64, y1, estimate []float64) bool {
	n := s.n
	copy(s.y0, y)
	s.f(t, y, s.k[0])
	for a := 1; a < 6; a++ {
		for i := range n {
			d := 0.0
			for b := range a {
				d += dopriA[a][b] * s.k[b][i]
			}
			s.y[i] = y[i] + h*d
		}
		s.f(t+dopriC[a]*h, s.y, s.k[a])
	}
	for i := range n {
		d := 0.0
		for b := range 6 {
			d += dopriB[b] * s.k[b][i]
		}
		y1[i] = s.y0[i] + h*d
	}
	s.f(t+h, y1, s.k[6])
	for i := range n {
		d := 0.0
		for b := range 7 {
			d += dopriE[b] * s.k[b][i]
		}
		estimate[i] = h * d
	}
	copy(s.y1, y1)
	s.h = h
	return true
}

// Dense implements Stepper.
func (s *Dopri) Dense(theta float64, y []float64) {
	for i := range s.n {
		dy := s.y1[i] - s.y0[i]
		b := s.h*s.k[0][i] - dy
		c := dy - s.h*s.k[6][i] - b
		d := 0.0
		for j := range 7 {
			d += dopriD[j] * s.k[j][i]
		}
		r := 1 - theta
		y[i] = s.y0[i] + theta*(dy+r*(b+theta*(c+r*s.h*d)))
	}
}
