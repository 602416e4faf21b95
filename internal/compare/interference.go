package compare

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sort"
)

// Interference is the probability that an arrest force passes a strength, both spread.
type Interference struct {
	Probability float64 `json:"probability"` // by integration
	Drawn       float64 `json:"monte_carlo"` // the same by draws
	DrawnSE     float64 `json:"monte_carlo_se"`
	// Lo and Hi are the 2.5 % and 97.5 % points over the uncertainty of both fits, at 95 % confidence.
	Lo         float64   `json:"lo"`
	Hi         float64   `json:"hi"`
	Confidence float64   `json:"confidence"`
	draws      []float64 // over the uncertainty of both fits
}

// spreadForce is a force whose logarithm is normal with mean mu and standard deviation sigma.
type spreadForce struct{ mu, sigma float64 }

// passes is P(A > S) = integral of phi(z) F_S(exp(mu + sigma z)) dz by the trapezoidal rule over |z| <= 9 (beyond lies
// less than 3e-19), which converges faster than any power for integrands that are smooth and vanish at both ends.
// Load-strength interference; the closed form for two lognormal distributions is Phi((mu_A - mu_S)/hypot(sigma_A, sigma_S)).
func passes(a spreadForce, strengthCDF func(forceN float64) float64) float64 {
	return fine.passes(a, func(log float64) float64 { return strengthCDF(math.Exp(log)) })
}

// rule is a trapezoidal rule against the normal density.
type rule struct{ z, weight []float64 }

// coarse serves where a probability is only one of many draws: steps of 0.05 over |z| <= 7 (beyond lies less than 3e-12). For an integrand
// whose exponent has slope k in z the error is about exp(-pi^2/(0.05 k)), below 1e-8 for k up to 10.
var fine, coarse = newRule(9, 720), newRule(7, 280)

func newRule(half float64, steps int) rule {
	r := rule{make([]float64, steps+1), make([]float64, steps+1)}
	h := 2 * half / float64(steps)
	for i := range r.z {
		r.z[i] = -half + float64(i)*h
		r.weight[i] = h / math.Sqrt(2*math.Pi) * math.Exp(-r.z[i]*r.z[i]/2)
	}
	return r
}

func (r rule) passes(a spreadForce, ofLog func(logForceN float64) float64) float64 {
	sum := 0.0
	for i, z := range r.z {
		sum += r.weight[i] * ofLog(a.mu+a.sigma*z)
	}
	return math.Min(1, sum)
}

// interference integrates, draws, and spreads the answer over the uncertainty of the fits: again gives the
// arrest force and the strength, as a function of the logarithm of the force, of one draw of the fitted parameters.
func interference(a spreadForce, cdf func(float64) float64, quantile func(float64) float64, again func(*rand.Rand) (spreadForce, func(float64) float64), confidence float64, seed uint64) (Interference, error) {
	const draws, refits = 20000, 1000
	rng := rand.New(rand.NewPCG(seed, 0x5eed))
	out := Interference{Probability: passes(a, cdf), Confidence: confidence}
	hits := 0
	for range draws {
		if math.Exp(a.mu+a.sigma*rng.NormFloat64()) > quantile(1-rng.Float64()) {
			hits++
		}
	}
	out.Drawn = float64(hits) / draws
	// The standard error of the true share, so that no hit at all is no certainty.
	out.DrawnSE = math.Sqrt(math.Max(out.Probability*(1-out.Probability), 0.25/draws) / draws)
	if math.Abs(out.Drawn-out.Probability) > 6*out.DrawnSE {
		return out, fmt.Errorf("integration gives a probability of %.4g and draws give %.4g: the program is wrong here, please report it with the data", out.Probability, out.Drawn)
	}
	p := make([]float64, refits)
	for i := range p {
		b, s := again(rng)
		p[i] = coarse.passes(b, s)
	}
	sort.Float64s(p)
	out.draws = p
	tail := (1 - confidence) / 2
	out.Lo, out.Hi = p[int(tail*refits)], p[min(refits-1, int(math.Ceil((1-tail)*refits)))]
	return out, nil
}
