package censor

import "math"

// narrow is the width of an interval, in units over which the density changes, under which its probability is taken
// from the density f at its middle, w f (1 + w^2/24 f”/f); what is left out is about narrow^4/1920. A difference of
// probabilities would lose its digits there.
const narrow = 1e-3

// likelihood is the log-likelihood of y = x'b + sigma e in the parameters
//
//	phi = (gamma, theta), gamma = b/sigma, theta = 1/sigma, z = theta y - x'gamma,
//
// in which it is concave for both shapes of e and every kind of censoring, so that there is at most
// one highest point. Source: Olsen, Econometrica 46 (1978) 1211-1215; Pratt, J. Am. Stat. Assoc. 76
// (1981) 103-106 (both recalled). The columns of x are orthogonal and y is in units of its scatter, which prepare sees to.
type likelihood struct {
	extreme   bool
	fixed     bool // theta is given, not sought
	p         int  // columns of x
	x         []float64
	lo, hi    []float64
	width     []float64 // hi - lo, kept apart because lo and hi are rounded
	kind      []Kind
	weight    []float64
	wholeN    float64
	blankTerm int // values that say nothing
}

// dim is how many parameters phi has.
func (q *likelihood) dim() int { return q.p + 1 }

// free is how many of them are sought.
func (q *likelihood) free() int {
	if q.fixed {
		return q.p
	}
	return q.p + 1
}

// value is the log-likelihood at phi; with g and h it also gives the gradient and the negative
// Hessian (row by row, dim x dim). It returns -Inf outside the range of numbers.
func (q *likelihood) value(phi, g, h []float64) float64 {
	m, p := q.dim(), q.p
	theta := phi[p]
	if !(theta > 0) {
		return math.Inf(-1)
	}
	logTheta := math.Log(theta)
	slopes := g != nil
	if slopes {
		clear(g)
		clear(h)
	}
	ll, sumSeen := 0.0, 0.0
	for i, kind := range q.kind {
		row := q.x[i*p : i*p+p]
		eta := 0.0
		for j, v := range row {
			eta += v * phi[j]
		}
		w := q.weight[i]
		var t slopes1
		y := q.lo[i]
		switch kind {
		case Observed:
			t = densityTerm(q.extreme, theta*y-eta)
			sumSeen += w
		case RightCensored:
			t = aboveTerm(q.extreme, theta*y-eta)
		case LeftCensored:
			y = q.hi[i]
			t = belowTerm(q.extreme, theta*y-eta)
		default:
			y = q.lo[i] + q.width[i]/2
			wide := theta * q.width[i]
			t = densityTerm(q.extreme, theta*y-eta)
			if !(wide*(1+math.Abs(t.d1)) < narrow) {
				s := betweenTerm(q.extreme, theta*q.lo[i]-eta, wide)
				ll += w * s.l
				if slopes {
					q.addBetween(row, q.lo[i], q.hi[i], w, s, g, h)
				}
				continue
			}
			t.l += math.Log(q.width[i])
			sumSeen += w
			c := wide * wide / 24
			k := bendTerm(q.extreme, theta*y-eta)
			t.l += c * k.l
			t.d1 += c * k.d1
			t.d2 += c * k.d2
			if slopes {
				// c = theta^2 width^2/24 changes with theta too.
				ct := 2 * c / theta
				g[p] += w * ct * k.l
				h[p*m+p] -= w * (2*ct*k.d1*y + ct/theta*k.l)
				for j, v := range row {
					h[p*m+j] += w * ct * k.d1 * v
				}
			}
		}
		ll += w * t.l
		if !slopes {
			continue
		}
		w1, w2 := w*t.d1, w*t.d2
		for j, v := range row {
			g[j] -= w1 * v
			hj := h[j*m:]
			for k := 0; k <= j; k++ {
				hj[k] -= w2 * v * row[k]
			}
			h[p*m+j] += w2 * v * y
		}
		g[p] += w1 * y
		h[p*m+p] -= w2 * y * y
	}
	ll += sumSeen * logTheta
	if slopes {
		g[p] += sumSeen / theta
		h[p*m+p] += sumSeen / (theta * theta)
		for j := range m {
			for k := range j {
				h[k*m+j] = h[j*m+k]
			}
		}
	}
	if math.IsNaN(ll) {
		return math.Inf(-1)
	}
	return ll
}

func (q *likelihood) addBetween(row []float64, lo, hi, w float64, s slopes2, g, h []float64) {
	m, p := q.dim(), q.p
	both := w * (s.daa + 2*s.dab + s.dbb)
	cross := w * ((s.daa+s.dab)*lo + (s.dbb+s.dab)*hi)
	d1 := w * (s.da + s.db)
	for j, v := range row {
		g[j] -= d1 * v
		hj := h[j*m:]
		for k := 0; k <= j; k++ {
			hj[k] -= both * v * row[k]
		}
		h[p*m+j] += cross * v
	}
	g[p] += w * (s.da*lo + s.db*hi)
	h[p*m+p] -= w * (s.daa*lo*lo + 2*s.dab*lo*hi + s.dbb*hi*hi)
}
